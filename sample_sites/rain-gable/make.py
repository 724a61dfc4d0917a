"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, FlatWall, Scene, Spot, Stain, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.logger_files import ISO, Dialect, logger_bytes, read_by
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.series import (
    Rain,
    cooled_by_water_degc,
    room_humidity,
    surface_degc,
    weather,
    wetness_after_rain,
)
from thermalkit.scenes.surveyor import HEAT_PRICE, SURVEYOR, carried
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

DAYS = 16
BRICK = (layer("plaster", 0.015, 0.57, 1.1), layer("brick", 0.330, 0.77, 1.4))
FILM_M2K_W = 0.13
RAINS = (
    Rain(first_h=45.0, hours=11.0, total_mm=14.0, wind_m_s=9.0),
    Rain(first_h=150.0, hours=6.0, total_mm=6.0, wind_m_s=2.0),
    Rain(first_h=235.0, hours=9.0, total_mm=12.0, wind_m_s=8.0),
    Rain(first_h=345.0, hours=10.0, total_mm=16.0, wind_m_s=10.0),
)
CLIMATE = Climate(
    indoor_degc=19.6,
    stratification_k_m=0.4,
    indoor_humidity=0.45,
    outdoor_mean_degc=5.6,
    outdoor_swing_k=1.1,
    warmest_hour=14.5,
    hour=9.0,
)
SCENE = Scene(
    wall=FlatWall(
        layers=BRICK,
        film=Film(open_m2k_w=FILM_M2K_W, sheltered_m2k_w=FILM_M2K_W),
        sheltered_at_m=0.0,
    ),
    climate=CLIMATE,
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=1.1,
        vignetting_k=-0.2,
        drift_k=0.04,
        dead_pixels=1,
    ),
    errors=Errors(air_k=0.2, humidity=0.01, outdoor_k=-0.1, contact_k=0.1),
    distance_m=2.8,
    emissivity=0.93,
    reflected_degc=19.4,
    things=(Thing(name="furniture", box=(182, 240, 210, 320), share=0.8),),
    stains=(
        Stain(
            name="rain patch",
            shape=Spot(
                centre_m=(0.72, 1.18), radius_m=0.24, stretch=0.8, raggedness=0.35, softness_m=0.03, seed=9
            ),
        ),
    ),
)
WEATHER_STATION = Dialect(
    headings={
        "moment": "date time",
        "temperature": "air temperature degC",
        "humidity": "relative humidity %",
        "rain": "rain mm",
        "wind": "wind speed m/s",
    },
    moment="%d/%m/%Y %H:%M",
    delimiter="\t",
    preamble=("invented weather station", "height 10 m, 800 m from the house"),
)
ABOUT = {
    "site": {
        "name": "Attic flat, 21 Instance Hill",
        "reference": "INV-2026-013",
        "surveyed_at": datetime(2026, 3, 4, 8, 30, tzinfo=UTC),
        "country": "GB",
        "question": "What wets the gable wall high up beside the window? Asked by the owner.",
        "climate_mode": "heating",
    },
    "surveyor": SURVEYOR,
    "report": {"language": "en", "private": False},
    "limits": {"set": "GB-dwelling"},
    "climate": {
        "design_winter_temperature_degc": -2.0,
        "monthly_air_temperature_degc": [5.1, 5.0, 6.5, 8.5, 11.3, 13.9, 15.7, 15.6, 13.6, 10.8, 7.7, 5.7],
        "monthly_relative_humidity_percent": [87, 85, 82, 79, 78, 79, 81, 82, 83, 86, 87, 88],
        "source": "invented, of the order of a western coast of Britain",
    },
    "weather": {
        "relative_humidity_percent": 82.0,
        "wind_speed_m_s": 2.4,
        "hours_since_sun": 80.0,
        "hours_since_rain": 29.0,
        "hours_steady": 36.0,
    },
    "instruments": carried("meter", "log-room", "log-wall")
    | {
        "station": {
            "kind": "logger",
            "serial": "INV-MET-1",
            "calibrated_on": date(2025, 9, 15),
            "accuracy_k": 0.3,
            "accuracy_percent_rh": 3.0,
        },
    },
    "rooms": [
        {
            "id": "attic",
            "name": "Attic room",
            "use": "study",
            "climate_mode": "heating",
            "floor_area_m2": 15.0,
            "volume_m3": 33.0,
        }
    ],
    "frames": [
        {"room": "attic", "orientation": "W", "uncovered_at": datetime(2026, 3, 1, 12, 0, tzinfo=UTC)}
    ],
    "references": [{"taken_at": datetime(2026, 3, 4, 9, 2, tzinfo=UTC)}],
    "loggers": [
        {
            "id": "attic-air",
            "file": "loggers/attic.csv",
            "place": "room",
            "room": "attic",
            "instrument": "log-room",
            "position": "1.5 m, middle of the room",
            "clock": "UTC",
        },
        {
            "id": "patch",
            "file": "loggers/patch.csv",
            "place": "surface",
            "room": "attic",
            "instrument": "log-wall",
            "position": "taped on in the middle of the patch",
            "clock": "UTC",
        },
        {
            "id": "station",
            "file": "loggers/weather.csv",
            "place": "outdoor",
            "instrument": "station",
            "position": "open ground, 800 m away",
            "clock": "UTC",
        },
    ],
    "looked_at": [
        {"room": "attic", "element": "gable wall inside", "looked": "yes"},
        {
            "room": "attic",
            "element": "gable outside, from the ground with field glasses: cracked pointing "
            "beside the window",
            "looked": "yes",
        },
        {"element": "verge and chimney flashing", "looked": "not possible", "why": "no safe access"},
    ],
    "elements": [
        {
            "id": "gable",
            "room": "attic",
            "kind": "wall",
            "construction": "solid brick, one and a half bricks, bare outside, plastered inside",
            "built_in": 1910,
            "layers": [
                {"material": "plaster", "thickness_mm": 15.0},
                {"material": "brick", "thickness_mm": 330.0},
            ],
            "orientation": "W",
            "base_above_ground_mm": 6200.0,
            "has_damp_proof_course": "yes",
            "ground_level_above_barrier": "no",
            "near_plumbing": "no",
            "exposed_face": "yes",
            "remarks": "open joints beside the window, weather side",
        }
    ],
    "samples": [
        {
            "id": f"S{number}",
            "room": "attic",
            "element": "gable",
            "place": "middle of the patch" if in_patch else "1.2 m beside it",
            "material": "brick",
            "height_mm": float(up),
            "depth_mm": float(deep),
            "method": "carbide",
            "moisture_percent": water,
            "hygroscopic_moisture_percent": hygroscopic,
            "nitrate": "low",
            "chloride": "low",
            "taken_at": datetime(2026, 3, 4, 9, 40, tzinfo=UTC),
        }
        for number, (in_patch, up, deep, water, hygroscopic) in enumerate(
            ((True, 2000, 40, 5.2, 0.6), (True, 2000, 150, 9.6, 0.7), (False, 1400, 150, 0.9, 0.6)), 1
        )
    ],
    "moisture": {
        "occupants": 1,
        "hours_occupied_per_day": 9.0,
        "showers_per_day": 1.0,
        "laundry_dried_indoors": "never",
        "cooking_fuel": "none",
        "extract_fans": "working",
    },
    "costs": HEAT_PRICE,
}
README = """\
# Rain on a gable

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frame was
calculated from a model of conduction and evaporation and a model of a camera; the photo is a drawing.

## What it is

An attic room behind a bare brick gable that faces the weather. High beside the window is a wet patch. A
weather station logged rain and wind for sixteen days, a logger lay on the patch, a moisture meter was read
on five days.

## What it teaches

- A patch by itself, high up, on the weather side: where it is says more than how cold it is.
- Rain is told by time: patch and meter follow the rain that comes with wind within hours and dry over
  days. The rain without wind in between does nothing.
- The picture cannot tell it from any other water; the same patch is seen with a leaking pipe.

## True answer

| place | surface temperature | humidity of the air at the surface |
|---|---|---|
| patch, coldest spot | {spot.surface_degc:.1f} °C | {spot_percent:.0f} % |
| dry wall | {sound.surface_degc:.1f} °C | {sound_percent:.0f} % |

The water is rain through open joints; at the visit the patch is {wetness:.0%} as wet as it can be. All of it
stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260304)
    outside = weather(CLIMATE, rng, days=DAYS, humidity=0.80, drift_k=2.5, rains=RAINS)
    by_day = (outside.hours + CLIMATE.hour) % 24.0
    indoor = CLIMATE.indoor_degc + 0.5 * np.sin(2.0 * np.pi * (by_day - CLIMATE.hour) / 24.0)
    release = np.where((by_day > 9.0) & (by_day < 18.0), 0.055, 0.01)
    humidity = room_humidity(outside, indoor, release, volume_m3=33.0, air_change_per_h=0.8)
    wetness = wetness_after_rain(outside, full_mm=9.0, drying_h=75.0, lag_h=4.0)
    dry = surface_degc(BRICK, outside, indoor, film_m2k_w=FILM_M2K_W)
    behind_w_m2k = 1.0 / (sum(item.resistance_m2k_w for item in BRICK) + 0.04)
    wall = cooled_by_water_degc(
        dry, wetness, indoor, humidity, film_m2k_w=FILM_M2K_W, conductance_behind_w_m2k=behind_w_m2k
    )
    stain = replace(SCENE.stains[0], wetness=float(wetness[-1]))
    climate = replace(CLIMATE, indoor_humidity=float(humidity[-1]))
    picture = seen(replace(SCENE, climate=climate, stains=(stain,)), rng, frame="gable")
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    start = datetime(2026, 3, 4, 9, 0, tzinfo=UTC) - timedelta(days=DAYS)
    logged = {
        "temperature": read_by(outside.temperature_degc, rng, noise=0.05),
        "humidity": np.minimum(read_by(100.0 * outside.humidity, rng, noise=0.4), 100.0),
        "rain": outside.rain_mm,
        "wind": outside.wind_m_s,
    }
    attic = {
        "temperature": read_by(indoor, rng, noise=0.05),
        "humidity": read_by(100.0 * humidity, rng, noise=0.3),
    }
    files = {
        "loggers/weather.csv": logger_bytes(start, 1.0, logged, WEATHER_STATION),
        "loggers/attic.csv": logger_bytes(start, 1.0, attic, ISO),
        "loggers/patch.csv": logger_bytes(start, 1.0, {"temperature": read_by(wall, rng, noise=0.05)}, ISO),
    }
    readings = [
        {
            "place": "gable, in the patch",
            "taken_at": (start + timedelta(hours=hour)).isoformat(),
            "quantity": "relative meter reading",
            "value": round(40.0 + 110.0 * float(wetness[hour]) + float(rng.normal(0.0, 2.0))),
            "unit": "digits",
            "instrument": "meter",
            "height_mm": 2000,
        }
        for hour in (24, 72, 168, 216, 264, 24 * DAYS)
    ]
    readme = README.format(
        spot=spot,
        sound=sound,
        spot_percent=100.0 * spot.humidity,
        sound_percent=100.0 * sound.humidity,
        wetness=float(wetness[-1]),
    )
    truth = {"source_of_water": "penetrating rain", "source_id": "rain"}
    write_site(
        folder,
        [picture],
        about=ABOUT,
        marks=(),
        readings=readings,
        files=files,
        truth=truth,
        readme=readme,
        midnight=datetime(2026, 3, 4, tzinfo=UTC),
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
