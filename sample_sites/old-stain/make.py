"""Makes this invented site anew: `python make.py`."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, FlatWall, Scene, Spot, Stain, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.surveyor import HEAT_PRICE, LOWLAND_ENGLAND, SURVEYOR, carried
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

SCENE = Scene(
    wall=FlatWall(
        layers=(
            layer("plaster", 0.013, 0.50, 1.1),
            layer("block", 0.100, 0.30, 1.0),
            layer("insulation", 0.075, 0.036, 0.03),
            layer("brick", 0.1025, 0.80, 1.4),
        ),
        film=Film(open_m2k_w=0.13, sheltered_m2k_w=0.16, reach_m=0.25),
        sheltered_at_m=0.95,
    ),
    climate=Climate(
        indoor_degc=20.3,
        stratification_k_m=0.3,
        indoor_humidity=0.44,
        outdoor_mean_degc=3.4,
        outdoor_swing_k=1.5,
        warmest_hour=14.4,
        hour=9.2,
    ),
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=-0.5,
        vignetting_k=-0.15,
        drift_k=0.05,
        dead_pixels=1,
    ),
    errors=Errors(air_k=0.1, humidity=0.005, outdoor_k=0.1, contact_k=-0.1),
    distance_m=2.4,
    emissivity=0.93,
    reflected_degc=20.1,
    things=(Thing(name="skirting", box=(228, 240, 0, 320), share=0.2),),
    stains=(
        Stain(
            name="old water stain",
            shape=Spot(
                centre_m=(0.85, 0.95), radius_m=0.30, stretch=1.2, raggedness=0.3, softness_m=0.02, seed=8
            ),
            wetness=0.0,
        ),
    ),
)
ABOUT = {
    "site": {
        "name": "Semi-detached house, 2 Specimen Close",
        "reference": "INV-2026-015",
        "surveyed_at": datetime(2026, 2, 3, 8, 45, tzinfo=UTC),
        "country": "GB",
        "question": "Is the stain on the landing wall still active? Asked by a buyer.",
        "climate_mode": "heating",
    },
    "surveyor": SURVEYOR,
    "report": {"language": "en", "private": False},
    "limits": {"set": "GB-dwelling"},
    "climate": LOWLAND_ENGLAND,
    "weather": {
        "relative_humidity_percent": 87.0,
        "wind_speed_m_s": 2.2,
        "hours_since_sun": 42.0,
        "hours_since_rain": 9.0,
        "hours_steady": 30.0,
    },
    "instruments": carried("meter"),
    "rooms": [
        {
            "id": "landing",
            "name": "Landing",
            "use": "circulation",
            "climate_mode": "heating",
            "floor_area_m2": 7.5,
            "volume_m3": 18.0,
        }
    ],
    "frames": [
        {"room": "landing", "orientation": "E", "uncovered_at": datetime(2026, 2, 1, 12, 0, tzinfo=UTC)}
    ],
    "references": [{"taken_at": datetime(2026, 2, 3, 9, 14, tzinfo=UTC)}],
    "looked_at": [
        {"room": "landing", "element": "stain and the wall round it", "looked": "yes"},
        {"room": "landing", "element": "roof space above: new felt and gutter, dry timber", "looked": "yes"},
        {"room": "landing", "element": "gutter outside, in the rain of the night before", "looked": "yes"},
        {"element": "cavity of the wall", "looked": "not possible", "why": "not opened"},
    ],
    "elements": [
        {
            "id": "east",
            "room": "landing",
            "kind": "wall",
            "construction": "cavity wall, filled, block inside and brick outside",
            "built_in": 1984,
            "layers": [
                {"material": "plaster", "thickness_mm": 13.0},
                {"material": "lightweight block", "thickness_mm": 100.0},
                {"material": "insulation", "thickness_mm": 75.0},
                {"material": "brick", "thickness_mm": 102.5},
            ],
            "orientation": "E",
            "base_above_ground_mm": 2700.0,
            "has_damp_proof_course": "yes",
            "ground_level_above_barrier": "no",
            "near_plumbing": "no",
            "exposed_face": "no",
            "remarks": "gutter above replaced in 2023, bill seen",
        }
    ],
    "samples": [
        {
            "id": f"S{number}",
            "room": "landing",
            "element": "east",
            "place": place,
            "material": "block",
            "height_mm": float(up),
            "depth_mm": 60.0,
            "method": "carbide",
            "moisture_percent": water,
            "hygroscopic_moisture_percent": hygroscopic,
            "nitrate": "low",
            "chloride": "low",
            "taken_at": datetime(2026, 2, 3, 9, 40, tzinfo=UTC),
        }
        for number, (place, up, water, hygroscopic) in enumerate(
            (
                ("middle of the stain", 1600, 0.7, 0.6),
                ("foot of the stain", 1200, 0.6, 0.6),
                ("below the stain", 700, 0.6, 0.5),
            ),
            1,
        )
    ],
    "moisture": {
        "occupants": 0,
        "hours_occupied_per_day": 0.0,
        "laundry_dried_indoors": "never",
        "extract_fans": "working",
        "remarks": "for sale, heated, empty since the autumn",
    },
    "costs": HEAT_PRICE,
}
README = """\
# Old stain

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frame was
calculated from a conduction model of the wall and a model of a camera; the photo is a drawing.

## What it is

A large brown stain on the landing wall of an empty house. Three years ago the gutter above was replaced. It
had rained the night before the visit.

## What it teaches

- A stain is a memory of water, not water: meter, samples and picture agree that the wall is dry.
- The picture shows nothing at the stain; its coldest place lies elsewhere and is no finding.
- "Nothing active" is an answer with a probability of its own, never certain: a source that comes and goes
  can rest for a while, so it is looked at again after heavy rain.

## True answer

| place | surface temperature | humidity of the air at the surface | temperature factor at 0.25 m²K/W |
|---|---|---|---|
| coldest spot | {spot.surface_degc:.1f} °C | {spot_percent:.0f} % | {spot.factor:.2f} |
| sound wall | {sound.surface_degc:.1f} °C | {sound_percent:.0f} % | {sound.factor:.2f} |

There is no water. All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    picture = seen(SCENE, np.random.default_rng(20260203), frame="landing-wall")
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    percents = {"spot_percent": 100.0 * spot.humidity, "sound_percent": 100.0 * sound.humidity}
    readings = [
        {
            "place": place,
            "taken_at": "2026-02-03T09:25:00+00:00",
            "quantity": "relative meter reading",
            "value": value,
            "unit": "digits",
            "instrument": "meter",
            "height_mm": height,
        }
        for place, value, height in (
            ("landing-wall, stain", 38, 1600),
            ("landing-wall, stain", 41, 1300),
            ("landing-wall, beside the stain", 37, 1600),
        )
    ]
    write_site(
        folder,
        [picture],
        about=ABOUT,
        marks=(),
        readings=readings,
        truth={"source_id": "nothing"},
        readme=README.format(spot=spot, sound=sound, **percents),
        midnight=datetime(2026, 2, 3, tzinfo=UTC),
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
