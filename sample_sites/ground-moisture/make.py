"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.physics.conduction import Material
from thermalkit.scenes import Climate, FlatWall, Foot, Scene, Stain, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.logger_files import GERMAN, logger_bytes, read_by
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.series import Rain, room_humidity, weather
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Band, Film

WINTER_TIME = timezone(timedelta(hours=1))
MIDNIGHT = datetime(2026, 2, 11, tzinfo=WINTER_TIME)
DAYS = 15
BRICK = (layer("plaster", 0.020, 0.70, 1.1), layer("brick", 0.380, 0.75, 1.4))
WET_BRICK = Material(name="wet brick", conductivity_w_mk=1.25, heat_capacity_j_m3k=2.0e6)
WET_UP_TO_M = 0.62
CLIMATE = Climate(
    indoor_degc=18.4,
    stratification_k_m=0.4,
    indoor_humidity=0.5,
    outdoor_mean_degc=2.6,
    outdoor_swing_k=1.2,
    warmest_hour=14.6,
    hour=9.5,
)
SCENE = Scene(
    wall=FlatWall(
        layers=BRICK,
        film=Film(open_m2k_w=0.14, sheltered_m2k_w=0.14),
        sheltered_at_m=0.0,
        band=Band(name="wet brick", material=WET_BRICK, width_m=2.0 * WET_UP_TO_M, first=1, last=1),
        is_level=True,
    ),
    climate=CLIMATE,
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=0.8,
        vignetting_k=-0.15,
        drift_k=0.05,
        dead_pixels=1,
    ),
    errors=Errors(air_k=-0.2, humidity=0.01, outdoor_k=0.1, contact_k=0.2),
    distance_m=2.6,
    origin=1.0,
    emissivity=0.93,
    reflected_degc=18.0,
    things=(Thing(name="metal plate", box=(150, 161, 40, 51), emissivity=0.2),),
    stains=(
        Stain(
            name="rising band",
            shape=Foot(height_m=WET_UP_TO_M, raggedness_m=0.05, softness_m=0.04, seed=11),
            wetness=0.8,
        ),
    ),
)
SAMPLES = (
    # mm up, mm deep, water, hygroscopic, nitrate, chloride, sulfate
    (100, 100, 15.4, 1.6, 0.05, 0.10, 0.2),
    (400, 100, 12.1, 2.4, 0.18, 0.24, 0.3),
    (700, 100, 4.6, 4.1, 0.42, 0.61, 0.4),
    (1100, 100, 1.5, 1.0, 0.03, 0.06, 0.2),
    (100, 20, 11.2, None, None, None, None),
    (400, 20, 8.9, None, None, None, None),
)
ABOUT = {
    "site": {
        "name": "Wohnküche Beispielgasse 3, Erdgeschoss",
        "reference": "ERF-2026-011",
        "surveyed_at": datetime(2026, 2, 11, 9, 0, tzinfo=WINTER_TIME),
        "country": "DE",
        "question": "Woher kommt die Feuchte am Fuß der Küchenwände? Gefragt von der Eigentümerin.",
        "climate_mode": "heating",
    },
    "surveyor": {
        "name": "Erika Erfunden",
        "qualification": "Sachverständige für Schäden an Gebäuden (erfunden)",
        "certificate": "ERF-0815",
        "certificate_expires_on": date(2027, 12, 31),
    },
    "report": {"language": "de", "private": False},
    "limits": {"set": "DE-dwelling"},
    "climate": {
        "design_winter_temperature_degc": -12.0,
        "monthly_air_temperature_degc": [0.9, 1.8, 5.4, 9.8, 14.2, 17.5, 19.3, 18.8, 14.7, 9.9, 5.2, 2.0],
        "monthly_relative_humidity_percent": [85, 81, 75, 69, 70, 70, 71, 74, 79, 83, 87, 87],
        "source": "erfunden, in der Größenordnung Mitteldeutschlands",
    },
    "weather": {
        "relative_humidity_percent": 83.0,
        "wind_speed_m_s": 1.1,
        "hours_since_sun": 60.0,
        "hours_since_rain": 90.0,
        "hours_steady": 72.0,
    },
    "instruments": {
        "cam": {"serial": "ERF-KAM-2", "calibrated_on": date(2025, 3, 4), "uniformity_k": 0.2},
        "hygro": {"serial": "ERF-HYG-1", "calibrated_on": date(2025, 10, 1)},
        "outdoor": {"serial": "ERF-HYG-2", "calibrated_on": date(2025, 10, 1), "accuracy_percent_rh": 3.0},
        "probe": {"serial": "ERF-FUE-4", "calibrated_on": date(2025, 10, 1)},
        "meter": {
            "kind": "moisture_meter",
            "serial": "ERF-FEU-5",
            "calibrated_on": date(2025, 10, 1),
            "accuracy_percent": 10.0,
        },
        "log-room": {
            "kind": "logger",
            "serial": "ERF-LOG-1",
            "calibrated_on": date(2025, 10, 1),
            "accuracy_k": 0.3,
            "accuracy_percent_rh": 3.0,
        },
        "log-outdoor": {
            "kind": "logger",
            "serial": "ERF-LOG-2",
            "calibrated_on": date(2025, 10, 1),
            "accuracy_k": 0.3,
            "accuracy_percent_rh": 3.0,
        },
    },
    "rooms": [
        {
            "id": "wohnkueche",
            "name": "Wohnküche",
            "use": "Küche",
            "climate_mode": "heating",
            "floor_area_m2": 18.0,
            "volume_m3": 46.8,
        }
    ],
    "frames": [
        {
            "room": "wohnkueche",
            "orientation": "N",
            "uncovered_at": datetime(2026, 2, 10, 16, 0, tzinfo=WINTER_TIME),
        }
    ],
    "references": [{"taken_at": datetime(2026, 2, 11, 9, 32, tzinfo=WINTER_TIME)}],
    "loggers": [
        {
            "id": "innen",
            "file": "loggers/wohnkueche.csv",
            "place": "room",
            "room": "wohnkueche",
            "instrument": "log-room",
            "position": "1,4 m hoch, 5 cm vor der Innenwand",
            "clock": "+01:00",
        },
        {
            "id": "aussen",
            "file": "loggers/aussen.csv",
            "place": "outdoor",
            "instrument": "log-outdoor",
            "position": "Nordseite, unter dem Vordach",
            "clock": "+01:00",
        },
    ],
    "looked_at": [
        {"room": "wohnkueche", "element": "Nordwand und anschließende Innenwände, Fuß", "looked": "yes"},
        {"room": "wohnkueche", "element": "Sockel außen, Gelände 15 cm unter dem Boden", "looked": "yes"},
        {"element": "Fundament", "looked": "not possible", "why": "nicht aufgegraben"},
    ],
    "elements": [
        {
            "id": "nordwand",
            "room": "wohnkueche",
            "kind": "wall",
            "construction": "Vollziegel, beidseitig verputzt, ohne erkennbare Sperrschicht",
            "built_in": 1895,
            "layers": [
                {"material": "Kalkputz", "thickness_mm": 20.0},
                {"material": "Vollziegel", "thickness_mm": 380.0},
            ],
            "orientation": "N",
            "base_above_ground_mm": 150.0,
            "has_damp_proof_course": "no",
            "ground_level_above_barrier": "no",
            "near_plumbing": "no",
            "exposed_face": "no",
        }
    ],
    "samples": [
        {
            "id": f"P{number}",
            "room": "wohnkueche",
            "element": "nordwand",
            "place": "Nordwand, 1,2 m rechts der Ecke",
            "material": "Ziegel" if deep > 20 else "Putz und Ziegel",
            "height_mm": float(up),
            "depth_mm": float(deep),
            "method": "drilled",
            "moisture_percent": water,
            "hygroscopic_moisture_percent": hygroscopic,
            "nitrate": nitrate,
            "chloride": chloride,
            "sulfate": sulfate,
            "taken_at": datetime(2026, 2, 11, 10, 10, tzinfo=WINTER_TIME),
            "remarks": "Labor erfunden; Aufnahme bei 75 % rel. Feuchte" if hygroscopic else None,
        }
        for number, (up, deep, water, hygroscopic, nitrate, chloride, sulfate) in enumerate(SAMPLES, 1)
    ],
    "moisture": {
        "occupants": 2,
        "hours_occupied_per_day": 16.0,
        "showers_per_day": 2.0,
        "laundry_dried_indoors": "never",
        "cooking_fuel": "electric",
        "extract_fans": "working",
        "plants": 3,
        "remarks": "immer gleich, im Sommer wie im Winter, sagt die Eigentümerin",
    },
    "costs": {"heat_price_per_kwh": 0.12, "currency": "EUR", "source": "erfunden"},
}
README = """\
# Ground moisture

An **invented** case: house, people, readings, laboratory, serial numbers and frames do not exist. The frame
was calculated from a model of conduction and evaporation and a model of a camera; the photo is a drawing.

## What it is

A kitchen on the ground floor of a brick house of 1895 without a barrier against rising water. The foot of
the outer wall and of the inner walls beside it is wet up to a level edge. Four drillings upward, two more
close to the surface, fifteen days of loggers. The report is asked for in German.

## What it teaches

- The picture alone shows a cold band, as it would at a cold floor. That the wall is colder than a dry one
  could be fits evaporating water from any source.
- Drillings decide: free water falls with height to nothing, and nitrate and chloride peak at the edge.
- Loggers acquit the room's air: at the place the humidity that the air alone would make stays low.

## True answer

| place | surface temperature | humidity of the air at the surface |
|---|---|---|
| wet band, coldest spot | {spot.surface_degc:.1f} °C | {spot_percent:.0f} % |
| dry wall above it | {sound.surface_degc:.1f} °C | {sound_percent:.0f} % |

The water is ground moisture; without evaporation the band would be {dry_k:.1f} K warmer. All of it stands in
`truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260211)
    rains = [Rain(first_h=70.0, hours=9.0, total_mm=7.0), Rain(first_h=230.0, hours=14.0, total_mm=11.0)]
    outside = weather(CLIMATE, rng, days=DAYS, humidity=0.84, drift_k=3.5, rains=rains)
    by_day = (outside.hours + CLIMATE.hour) % 24.0
    indoor = CLIMATE.indoor_degc + 0.6 * np.sin(2.0 * np.pi * (by_day - CLIMATE.hour) / 24.0)
    release = np.where((by_day > 7.0) & (by_day < 21.0), 0.11, 0.03)  # with what the band gives off
    humidity = room_humidity(outside, indoor, release, volume_m3=46.8, air_change_per_h=0.9)
    scene = replace(SCENE, climate=replace(CLIMATE, indoor_humidity=float(humidity[-1])))
    picture = seen(scene, rng, frame="sockel")
    dry = seen(replace(scene, stains=()), np.random.default_rng(0), frame="sockel")
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    start = datetime(2026, 2, 11, 9, 30) - timedelta(days=DAYS)
    files = {
        "loggers/wohnkueche.csv": _file(start, indoor, humidity, rng),
        "loggers/aussen.csv": _file(start, outside.temperature_degc, outside.humidity, rng),
    }
    readme = README.format(
        spot=spot,
        sound=sound,
        spot_percent=100.0 * spot.humidity,
        sound_percent=100.0 * sound.humidity,
        dry_k=truth_at(dry, picture.suspect).surface_degc - spot.surface_degc,
    )
    readings = [
        {
            "place": "sockel",
            "taken_at": "2026-02-11T09:50:00+01:00",
            "quantity": "relative meter reading",
            "value": value,
            "unit": "digits",
            "instrument": "meter",
            "height_mm": height,
        }
        for height, value in ((100, 142), (400, 131), (700, 96), (1100, 41))
    ]
    truth = {"source_of_water": "ground moisture", "source_id": "ground"}
    write_site(
        folder,
        [picture],
        about=ABOUT,
        marks=(),
        readings=readings,
        files=files,
        truth=truth,
        readme=readme,
        midnight=MIDNIGHT,
    )


def _file(start, temperature_degc, humidity, rng):
    columns = {
        "temperature": read_by(temperature_degc, rng, noise=0.05, error=0.1),
        "humidity": np.minimum(read_by(100.0 * humidity, rng, noise=0.3, error=-0.8), 100.0),
    }
    return logger_bytes(start, 1.0, columns, GERMAN)


if __name__ == "__main__":
    make(Path(__file__).parent)
