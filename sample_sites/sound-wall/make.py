"""Makes this invented site anew: `python make.py`."""

from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, FlatWall, Scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

WINTER_TIME = timezone(timedelta(hours=1))
INSULATED = (
    layer("plaster", 0.015, 0.57, 1.1),
    layer("masonry", 0.175, 0.99, 1.7),
    layer("insulation", 0.140, 0.035, 0.03),
    layer("render", 0.010, 0.87, 1.6),
)
SCENE = Scene(
    wall=FlatWall(
        layers=INSULATED,
        film=Film(open_m2k_w=0.15, sheltered_m2k_w=0.20, reach_m=0.3),
        sheltered_at_m=-0.4,
    ),
    climate=Climate(
        indoor_degc=20.4,
        stratification_k_m=0.3,
        indoor_humidity=0.46,
        outdoor_mean_degc=-1.2,
        outdoor_swing_k=3.6,
        warmest_hour=14.5,
        hour=7.6,
        sky="clear",
    ),
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(35.0, 26.6),
        noise_k=0.06,
        offset_k=0.9,
        vignetting_k=-0.2,
        drift_k=-0.1,
        dead_pixels=1,
    ),
    errors=Errors(air_k=-0.2, humidity=0.01, outdoor_k=0.3, contact_k=0.2),
    distance_m=2.4,
    emissivity=0.93,
    reflected_degc=20.6,
    things=(
        Thing(name="skirting", box=(226, 240, 0, 320), share=0.3),
        Thing(name="furniture", box=(130, 240, 258, 320), share=0.85),
        Thing(name="metal plate", box=(190, 201, 120, 131), emissivity=0.25),
    ),
)
ABOUT = {
    "site": {
        "name": "Wohnung Musterweg 5, dritter Stock",
        "reference": "ERF-2026-002",
        "surveyed_at": datetime(2026, 1, 28, 7, 15, tzinfo=WINTER_TIME),
        "country": "DE",
        "question": "Ist die Außenwand hinter dem Bett feucht? Gefragt von der Mieterin.",
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
        "relative_humidity_percent": 84.0,
        "wind_speed_m_s": 0.9,
        "hours_since_sun": 40.0,
        "hours_since_rain": 60.0,
        "hours_steady": 48.0,
    },
    "instruments": {
        "cam": {"serial": "ERF-KAM-2", "calibrated_on": date(2025, 3, 4), "uniformity_k": 0.2},
        "hygro": {"serial": "ERF-HYG-1", "calibrated_on": date(2025, 10, 1)},
        "outdoor": {"serial": "ERF-HYG-2", "calibrated_on": date(2025, 10, 1), "accuracy_percent_rh": 3.0},
        "probe": {"serial": "ERF-FUE-4", "calibrated_on": date(2025, 10, 1)},
    },
    "rooms": [
        {
            "id": "schlafzimmer",
            "name": "Schlafzimmer",
            "use": "Schlafzimmer",
            "climate_mode": "heating",
            "floor_area_m2": 14.0,
            "volume_m3": 35.0,
        }
    ],
    "frames": [
        {
            "room": "schlafzimmer",
            "orientation": "N",
            "uncovered_at": datetime(2026, 1, 27, 17, 30, tzinfo=WINTER_TIME),
        }
    ],
    "references": [{"taken_at": datetime(2026, 1, 28, 7, 38, tzinfo=WINTER_TIME)}],
    "looked_at": [
        {"room": "schlafzimmer", "element": "Außenwand hinter dem Bett", "looked": "yes"},
        {
            "room": "schlafzimmer",
            "element": "Fassade",
            "looked": "not possible",
            "why": "kein Gerüst, dritter Stock",
        },
    ],
    "moisture": {
        "occupants": 1,
        "laundry_dried_indoors": "never",
        "extract_fans": "working",
        "remarks": "Bett am Vorabend abgerückt",
    },
    "costs": {"heat_price_per_kwh": 0.12, "currency": "EUR", "source": "erfunden"},
}
README = """\
# Sound wall

An **invented** case: flat, people, readings, serial numbers and frames do not exist. The frame was calculated
from a conduction model of the wall and a model of a camera; the photo is a drawing.

## What it is

A bedroom on the third floor of an insulated house in Germany. The tenant fears damp behind the bed, as the
wall there looks grey. The report is asked for in German.

## What it teaches

- "Looked, nothing found" is a finding: the suspected wall is sound and dry, and the numbers say so.
- Every picture has a coldest place. Here it is a fraction of a kelvin colder than the rest, where the air
  moves less; a picture stretched to its own range makes it look dramatic.
- The metal plate mirrors the room and the cupboard on the right has the room's temperature: neither is wall.

## True answer

| place | surface temperature | humidity of the air at the surface | temperature factor at 0.25 m²K/W |
|---|---|---|---|
| coldest spot | {spot.surface_degc:.1f} °C | {spot_percent:.0f} % | {spot.factor:.2f} |
| sound wall | {sound.surface_degc:.1f} °C | {sound_percent:.0f} % | {sound.factor:.2f} |

There is no water. The grey is dust. All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    picture = seen(SCENE, np.random.default_rng(20260128), frame="aussenwand")
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    percents = {"spot_percent": 100.0 * spot.humidity, "sound_percent": 100.0 * sound.humidity}
    readme = README.format(spot=spot, sound=sound, **percents)
    midnight = datetime(2026, 1, 28, tzinfo=WINTER_TIME)
    write_site(folder, [picture], about=ABOUT, marks=(), readme=readme, midnight=midnight)


if __name__ == "__main__":
    make(Path(__file__).parent)
