"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, Heat, InnerWall, Run, Scene, Spot, Stain, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.logger_files import ISO, logger_bytes, read_by
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.series import Rain, room_humidity, weather
from thermalkit.scenes.surveyor import HEAT_PRICE, LOWLAND_ENGLAND, SURVEYOR, carried
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

DAYS = 14.5
LEAK_M = (0.83, 0.62)
CLIMATE = Climate(
    indoor_degc=21.2,
    stratification_k_m=0.2,
    indoor_humidity=0.45,
    outdoor_mean_degc=5.1,
    outdoor_swing_k=1.4,
    warmest_hour=14.5,
    hour=10.0,
)
SCENE = Scene(
    wall=InnerWall(
        layers=(layer("plaster", 0.013, 0.57, 1.1), layer("brick", 0.052, 0.70, 1.4)),
        film=Film(open_m2k_w=0.13, sheltered_m2k_w=0.13),
    ),
    climate=CLIMATE,
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=-0.7,
        vignetting_k=-0.1,
        drift_k=0.06,
        dead_pixels=2,
    ),
    errors=Errors(air_k=0.1, humidity=-0.01, outdoor_k=0.2, contact_k=-0.1),
    distance_m=2.3,
    emissivity=0.94,
    reflected_degc=21.0,
    things=(Thing(name="skirting", box=(228, 240, 0, 320), share=0.2),),
    stains=(
        Stain(
            name="wet blob",
            shape=Spot(
                centre_m=(LEAK_M[0], LEAK_M[1] - 0.08),
                radius_m=0.27,
                stretch=1.15,
                raggedness=0.25,
                softness_m=0.03,
                seed=4,
            ),
            wetness=0.9,
        ),
    ),
    heats=(
        Heat(
            name="hot water pipe",
            shape=Run(points_m=((0.25, 1.40), (0.25, 0.62), (1.02, 0.62)), width_m=0.022),
            power_w_m2=620.0,
            depth_m=0.030,
        ),
        Heat(
            name="warm water from the leak",
            shape=Spot(centre_m=LEAK_M, radius_m=0.085, stretch=1.3, softness_m=0.03),
            power_w_m2=330.0,
            depth_m=0.025,
        ),
    ),
)
ABOUT = {
    "site": {
        "name": "Flat 2, 8 Sample Court",
        "reference": "INV-2026-012",
        "surveyed_at": datetime(2026, 2, 18, 9, 30, tzinfo=UTC),
        "country": "GB",
        "question": "Why is the wall between bathroom and hall wet? Asked by the managing agent.",
        "climate_mode": "heating",
    },
    "surveyor": SURVEYOR,
    "report": {"language": "en", "private": False},
    "limits": {"set": "GB-dwelling"},
    "climate": LOWLAND_ENGLAND,
    "weather": {
        "relative_humidity_percent": 84.0,
        "wind_speed_m_s": 1.9,
        "hours_since_sun": 40.0,
        "hours_since_rain": 70.0,
        "hours_steady": 48.0,
    },
    "instruments": carried("meter", "log-room", "log-wall")
    | {
        "log-outdoor": {
            "kind": "logger",
            "serial": "INV-LOG-3",
            "calibrated_on": date(2025, 9, 15),
            "accuracy_k": 0.3,
            "accuracy_percent_rh": 3.0,
        },
    },
    "rooms": [
        {
            "id": "hall",
            "name": "Hall, at the bathroom wall",
            "use": "hall",
            "climate_mode": "heating",
            "floor_area_m2": 6.2,
            "volume_m3": 15.0,
        }
    ],
    "frames": [{"room": "hall", "far_side": "heated"}],
    "references": [{"taken_at": datetime(2026, 2, 18, 10, 2, tzinfo=UTC)}],
    "loggers": [
        {
            "id": "hall-air",
            "file": "loggers/hall.csv",
            "place": "room",
            "room": "hall",
            "instrument": "log-room",
            "position": "1.5 m, middle of the hall",
            "clock": "UTC",
        },
        {
            "id": "wall",
            "file": "loggers/wall.csv",
            "place": "surface",
            "room": "hall",
            "instrument": "log-wall",
            "position": "taped on at the lower rim of the wet patch",
            "clock": "UTC",
        },
        {
            "id": "outdoor",
            "file": "loggers/outdoor.csv",
            "place": "outdoor",
            "instrument": "log-outdoor",
            "position": "north side, under the eaves",
            "clock": "UTC",
        },
    ],
    "looked_at": [
        {"room": "hall", "element": "wall to the bathroom, from the hall", "looked": "yes"},
        {"room": "hall", "element": "bathroom fittings, seals and waste", "looked": "yes"},
        {
            "room": "hall",
            "element": "pipes in the wall",
            "looked": "not possible",
            "why": "not opened up; left to a plumber",
        },
    ],
    "elements": [
        {
            "id": "partition",
            "room": "hall",
            "kind": "wall",
            "construction": "half-brick partition, plastered, pipes chased in",
            "built_in": 1968,
            "layers": [
                {"material": "plaster", "thickness_mm": 13.0},
                {"material": "brick", "thickness_mm": 104.0},
                {"material": "plaster", "thickness_mm": 13.0},
            ],
            "near_plumbing": "yes",
            "exposed_face": "no",
            "remarks": "hot water runs in the wall from the riser on the left to the mixer tap",
        }
    ],
    "moisture": {
        "occupants": 3,
        "hours_occupied_per_day": 14.0,
        "showers_per_day": 3.0,
        "laundry_dried_indoors": "sometimes",
        "laundry_loads_per_week": 2.0,
        "cooking_fuel": "electric",
        "extract_fans": "working",
    },
    "costs": HEAT_PRICE,
}
README = """\
# Pipe leak

An **invented** case: flat, people, readings, serial numbers and frames do not exist. The frame was calculated
from a model of conduction and evaporation and a model of a camera; the photo is a drawing.

## What it is

A half-brick wall between bathroom and hall. Hot water runs in it; one joint weeps. The tap was run for ten
minutes, then the frame was taken. A logger is taped to the rim of the wet patch.

## What it teaches

- A warm trace alone is a warm pipe. The same with a bulge that is wet, too, is warm water beside its pipe.
- Round the bulge the wall is {cooler_k:.1f} K colder than the room although nothing cold lies behind it:
  evaporation. The coldest place is where the water dries, not where it leaks.
- The logger on the wall rises with every use of hot water; the loggers of the air do not explain it.
- Opening the wall and the pressure test are for a licensed plumber.

## True answer

| place | surface temperature |
|---|---|
| wet rim, coldest spot | {spot.surface_degc:.1f} °C |
| bulge, warmest pixel | {bulge:.1f} °C |
| dry wall | {sound.surface_degc:.1f} °C |

The water is plumbing: a supply pipe. All of it stands in `truth.toml`. `python make.py` makes the folder
anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260218)
    outside = weather(
        CLIMATE, rng, days=DAYS, humidity=0.84, rains=[Rain(first_h=190.0, hours=8.0, total_mm=5.0)]
    )
    by_day = (outside.hours + CLIMATE.hour - 24.0 * DAYS) % 24.0
    indoor = CLIMATE.indoor_degc + 0.5 * np.sin(2.0 * np.pi * (by_day - CLIMATE.hour) / 24.0)
    release = np.where((by_day > 6.0) & (by_day < 22.0), 0.045, 0.02)
    humidity = room_humidity(outside, indoor, release, volume_m3=15.0, air_change_per_h=0.9)
    scene = replace(SCENE, climate=replace(CLIMATE, indoor_humidity=float(humidity[-1])))
    picture = seen(scene, rng, frame="partition")
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    use = np.isin(np.floor(by_day), (7.0, 19.0, 21.0)) * rng.uniform(0.6, 1.4, by_day.size)
    warmed = np.convolve(use, np.exp(-np.arange(12) / 2.5))[: use.size]
    wall = indoor - (CLIMATE.indoor_degc - spot.surface_degc) + 1.6 * warmed
    start = datetime(2026, 2, 18, 10, 0, tzinfo=UTC) - timedelta(days=DAYS)
    rows = {
        "hall": {"temperature": indoor, "humidity": humidity},
        "wall": {"temperature": wall},
        "outdoor": {"temperature": outside.temperature_degc, "humidity": outside.humidity},
    }
    files = {f"loggers/{name}.csv": _file(start, columns, rng) for name, columns in rows.items()}
    readme = README.format(
        spot=spot,
        sound=sound,
        bulge=picture.true_surface_degc.max(),
        cooler_k=sound.surface_degc - spot.surface_degc,
    )
    readings = [
        {
            "place": place,
            "taken_at": "2026-02-18T10:15:00+00:00",
            "quantity": "masonry moisture",
            "value": value,
            "unit": "% by mass",
            "instrument": "meter",
            "depth_mm": depth,
            "height_mm": height,
        }
        for place, value, depth, height in (
            ("partition", 8.4, 20, 620),
            ("partition", 11.9, 60, 620),
            ("partition", 5.1, 20, 350),
            ("hall, end of the wall", 1.1, 20, 620),
        )
    ]
    truth = {"source_of_water": "plumbing, supply or waste", "source_id": "plumbing"}
    write_site(
        folder,
        [picture],
        about=ABOUT,
        marks=(),
        readings=readings,
        files=files,
        truth=truth,
        readme=readme,
        midnight=datetime(2026, 2, 18, tzinfo=UTC),
    )


def _file(start, columns, rng):
    read = {"temperature": read_by(columns["temperature"], rng, noise=0.05, error=-0.1)}
    if "humidity" in columns:
        read["humidity"] = np.minimum(read_by(100.0 * columns["humidity"], rng, noise=0.3, error=0.7), 100.0)
    return logger_bytes(start, 1.0, read, ISO)


if __name__ == "__main__":
    make(Path(__file__).parent)
