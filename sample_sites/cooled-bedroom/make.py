"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.physics.moist_air import dew_point_degc
from thermalkit.scenes import Climate, FlatWall, Heat, Scene, Spot, Stain, seen, truth_at, write_site
from thermalkit.scenes.buildups import air_layer, layer
from thermalkit.scenes.logger_files import TWELVE_HOURS, Dialect, logger_bytes, read_by
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.series import Rain, room_humidity, weather
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

SUMMER_TIME = timezone(-timedelta(hours=5))
DAYS = 15
OUTLET_M = (0.62, 0.98)
CLIMATE = Climate(
    indoor_degc=22.4,
    stratification_k_m=0.3,
    indoor_humidity=0.55,
    outdoor_mean_degc=29.4,
    outdoor_swing_k=2.6,
    warmest_hour=15.5,
    hour=10.5,
    sky="overcast",
)
SCENE = Scene(
    wall=FlatWall(
        layers=(
            layer("plasterboard", 0.0125, 0.25, 0.9),
            air_layer(0.020),
            layer("concrete block", 0.190, 0.60, 1.3),
            layer("render", 0.015, 0.87, 1.6),
        ),
        film=Film(open_m2k_w=0.13, sheltered_m2k_w=0.13),
        sheltered_at_m=0.0,
    ),
    climate=CLIMATE,
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=0.6,
        vignetting_k=-0.1,
        drift_k=0.05,
        dead_pixels=1,
    ),
    errors=Errors(air_k=0.1, humidity=0.01, outdoor_k=-0.1, contact_k=0.1),
    distance_m=2.2,
    emissivity=0.93,
    reflected_degc=22.6,
    things=(Thing(name="furniture", box=(170, 240, 220, 320), share=0.9),),
    stains=(
        Stain(
            name="mould below the outlet",
            shape=Spot(
                centre_m=(OUTLET_M[0], OUTLET_M[1] - 0.10),
                radius_m=0.17,
                raggedness=0.3,
                softness_m=0.04,
                seed=6,
            ),
            wetness=0.3,
        ),
    ),
    heats=(
        Heat(
            name="cold air along the wall",
            shape=Spot(centre_m=OUTLET_M, radius_m=0.26, stretch=0.7, softness_m=0.08),
            power_w_m2=-42.0,
        ),
    ),
)
OUTDOOR_LOGGER = Dialect(
    headings={"moment": "Timestamp", "temperature": "T (degC)", "humidity": "RH (%)"},
    moment="%Y-%m-%dT%H:%M:%S",
    delimiter=";",
    preamble=("# invented series", "# clock: local summer time"),
)
ABOUT = {
    "site": {
        "name": "Garden flat, 5 Placeholder Bayou",
        "reference": "INV-2026-014",
        "surveyed_at": datetime(2026, 7, 15, 10, 0, tzinfo=SUMMER_TIME),
        "country": "US",
        "question": "Why does mould come back below the cold-air outlet of the bedroom? Asked by the tenant.",
        "climate_mode": "cooling",
    },
    "surveyor": {
        "name": "Pat Placeholder",
        "qualification": "Building inspector, thermography level 2 (invented)",
        "certificate": "INV-TH2-0077",
        "certificate_expires_on": date(2027, 8, 31),
    },
    "report": {"language": "en", "private": False},
    "limits": {"set": "general"},
    "climate": {
        "monthly_air_temperature_degc": [
            12.0,
            13.9,
            17.3,
            20.6,
            24.6,
            27.5,
            28.4,
            28.4,
            26.6,
            21.9,
            16.6,
            13.2,
        ],
        "monthly_relative_humidity_percent": [76, 75, 74, 74, 76, 78, 80, 80, 78, 75, 76, 77],
        "source": "invented, of the order of a humid subtropical coast",
    },
    "weather": {
        "wind_speed_m_s": 1.6,
        "hours_since_sun": 40.0,
        "hours_since_rain": 20.0,
        "hours_steady": 240.0,
    },
    "instruments": {
        "cam": {"serial": "INV-CAM-5", "calibrated_on": date(2026, 2, 2), "uniformity_k": 0.2},
        "hygro": {"serial": "INV-HYG-21", "calibrated_on": date(2026, 1, 15)},
        "outdoor": {"serial": "INV-HYG-22", "calibrated_on": date(2026, 1, 15), "accuracy_percent_rh": 3.0},
        "probe": {"serial": "INV-TMP-9", "calibrated_on": date(2026, 1, 15)},
        "log-room": {
            "kind": "logger",
            "serial": "INV-LOG-8",
            "calibrated_on": date(2026, 1, 15),
            "accuracy_k": 0.3,
            "accuracy_percent_rh": 3.0,
        },
        "log-outdoor": {
            "kind": "logger",
            "serial": "INV-LOG-9",
            "calibrated_on": date(2026, 1, 15),
            "accuracy_k": 0.3,
            "accuracy_percent_rh": 3.0,
        },
    },
    "rooms": [
        {
            "id": "bedroom",
            "name": "Bedroom",
            "use": "bedroom",
            "climate_mode": "cooling",
            "floor_area_m2": 13.0,
            "volume_m3": 32.5,
        }
    ],
    "frames": [
        {
            "room": "bedroom",
            "orientation": "N",
            "uncovered_at": datetime(2026, 7, 14, 18, 0, tzinfo=SUMMER_TIME),
        }
    ],
    "references": [{"taken_at": datetime(2026, 7, 15, 10, 32, tzinfo=SUMMER_TIME)}],
    "loggers": [
        {
            "id": "bedroom-air",
            "file": "loggers/bedroom.csv",
            "place": "room",
            "room": "bedroom",
            "instrument": "log-room",
            "position": "1.2 m, away from the outlet",
            "clock": "America/Chicago",
            "date_order": "month-first",
        },
        {
            "id": "outdoor",
            "file": "loggers/outdoor.csv",
            "place": "outdoor",
            "instrument": "log-outdoor",
            "position": "shaded side, 1.8 m",
            "clock": "-05:00",
        },
    ],
    "looked_at": [
        {"room": "bedroom", "element": "outer wall round the outlet, also with the fan off", "looked": "yes"},
        {"room": "bedroom", "element": "hole of the cable and duct behind the outlet: open", "looked": "yes"},
        {"element": "inside of the duct", "looked": "no", "why": "needs a cooling technician"},
    ],
    "elements": [
        {
            "id": "north",
            "room": "bedroom",
            "kind": "wall",
            "construction": "rendered concrete block, board on battens inside, vinyl paper",
            "built_in": 1987,
            "layers": [
                {"material": "plasterboard", "thickness_mm": 12.5},
                {"material": "air layer", "thickness_mm": 20.0},
                {"material": "concrete block", "thickness_mm": 190.0},
                {"material": "render", "thickness_mm": 15.0},
            ],
            "orientation": "N",
            "near_plumbing": "no",
            "exposed_face": "no",
        }
    ],
    "moisture": {
        "occupants": 2,
        "hours_occupied_per_day": 9.0,
        "showers_per_day": 2.0,
        "laundry_dried_indoors": "never",
        "extract_fans": "working",
        "remarks": "cooling set to 72 °F day and night from May to October",
    },
    "costs": {"heat_price_per_kwh": 0.11, "currency": "USD", "source": "invented"},
}
README = """\
# Cooled bedroom

An **invented** case: flat, people, readings, serial numbers and frames do not exist. The frame was calculated
from a model of conduction and evaporation and a model of a camera; the photo is a drawing.

## What it is

A bedroom in a hot, humid climate, cooled day and night. Cold air runs along the outer wall below the outlet,
and behind the outlet the hole of duct and cable is open to the outside. Mould comes back there every summer.
The room's logger writes a 12-hour clock, month first, in °F.

## What it teaches

- In a cooled room two questions are asked, and their answers differ: the room's air does not condense on
  the wall, outdoor air that leaks in does.
- The outdoor dew point is {dew:.1f} °C, above every surface of the room; airing brings water in.
- The difference between indoors and outdoors is small, so factors are wide; the dew points are not.

## True answer

| place | surface temperature | humidity of the room's air at the surface |
|---|---|---|
| below the outlet, coldest spot | {spot.surface_degc:.1f} °C | {spot_percent:.0f} % |
| plain wall | {sound.surface_degc:.1f} °C | {sound_percent:.0f} % |

The water is outdoor air leaking into the cooled wall. All of it stands in `truth.toml`. `python make.py`
makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260715)
    rains = [Rain(first_h=h, hours=2.0, total_mm=15.0) for h in (78.0, 126.0, 222.0, 340.0)]
    outside = weather(CLIMATE, rng, days=DAYS, humidity=0.79, drift_k=1.2, rains=rains)
    by_day = (outside.hours + CLIMATE.hour) % 24.0
    indoor = CLIMATE.indoor_degc + 0.3 * np.sin(2.0 * np.pi * (by_day - CLIMATE.hour) / 24.0)
    removed = np.where((by_day > 22.0) | (by_day < 7.0), -0.16, -0.24)  # people add, the cooler takes away
    humidity = room_humidity(outside, indoor, removed, volume_m3=32.5, air_change_per_h=0.6)
    scene = replace(SCENE, climate=replace(CLIMATE, indoor_humidity=float(humidity[-1])))
    picture = seen(scene, rng, frame="outlet-wall")
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    start = datetime(2026, 7, 15, 10, 30) - timedelta(days=DAYS)
    files = {
        "loggers/bedroom.csv": _file(start, indoor, humidity, TWELVE_HOURS, rng),
        "loggers/outdoor.csv": _file(start, outside.temperature_degc, outside.humidity, OUTDOOR_LOGGER, rng),
    }
    outdoor_percent = round(100.0 * float(outside.humidity[-1]) + 0.9, 1)
    readme = README.format(
        dew=float(dew_point_degc(outside.temperature_degc[-1], outside.humidity[-1])),
        spot=spot,
        sound=sound,
        spot_percent=100.0 * spot.humidity,
        sound_percent=100.0 * sound.humidity,
    )
    readings = [
        {
            "place": "outlet-wall",
            "taken_at": "2026-07-15T10:45:00-05:00",
            "quantity": "surface temperature",
            "value": round(spot.surface_degc + 0.1, 1),
            "unit": "degC",
            "instrument": "probe",
        }
    ]
    truth = {"source_of_water": "outdoor air leaking into a cooled wall", "source_id": "air-leak"}
    write_site(
        folder,
        [picture],
        about={**ABOUT, "weather": {**ABOUT["weather"], "relative_humidity_percent": outdoor_percent}},
        marks=(),
        readings=readings,
        files=files,
        truth=truth,
        readme=readme,
        midnight=datetime(2026, 7, 15, tzinfo=SUMMER_TIME),
    )


def _file(start, temperature_degc, humidity, dialect, rng):
    columns = {
        "temperature": read_by(temperature_degc, rng, noise=0.05, error=0.05),
        "humidity": np.minimum(read_by(100.0 * humidity, rng, noise=0.3, error=-0.5), 100.0),
    }
    return logger_bytes(start, 1.0, columns, dialect)


if __name__ == "__main__":
    make(Path(__file__).parent)
