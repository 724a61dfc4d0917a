"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, FlatWall, Options, OuterCorner, Scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.surveyor import HEAT_PRICE, LOWLAND_ENGLAND, SURVEYOR, carried
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

BRICK = (layer("plaster", 0.013, 0.57, 1.1), layer("brick", 0.330, 0.77, 1.4))
MORNING = Climate(
    indoor_degc=17.0,
    stratification_k_m=0.3,
    indoor_humidity=0.62,
    outdoor_mean_degc=0.2,
    outdoor_swing_k=1.3,
    warmest_hour=14.8,
    hour=8.7,
)
CORNER = Scene(
    wall=OuterCorner(
        layers=BRICK,
        film=Film(open_m2k_w=0.14, sheltered_m2k_w=0.23, reach_m=0.25),
        post=CONCRETE,
    ),
    climate=MORNING,
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=-1.3,
        vignetting_k=-0.15,
        drift_k=0.08,
        dead_pixels=2,
    ),
    errors=Errors(air_k=0.2, humidity=0.012, outdoor_k=-0.2, contact_k=-0.2),
    distance_m=2.1,
    origin=0.46,
    angle_deg=43.0,
    emissivity=0.94,
    reflected_degc=16.7,
    things=(
        Thing(name="skirting", box=(226, 240, 0, 320), share=0.25),
        Thing(name="metal plate", box=(196, 208, 262, 274), emissivity=0.2),
        Thing(name="mirrored person", box=(30, 110, 40, 90), mirrored_k=7.0, hides=False),
    ),
)
PLAIN = replace(
    CORNER,
    wall=FlatWall(layers=BRICK, film=Film(open_m2k_w=0.14, sheltered_m2k_w=0.14), sheltered_at_m=0.0),
    camera=replace(CORNER.camera, offset_k=-1.1),
    things=(Thing(name="skirting", box=(224, 240, 0, 320), share=0.25),),
)
ABOUT = {
    "site": {
        "name": "Terrace house, 14 Example Row",
        "reference": "INV-2026-001",
        "surveyed_at": datetime(2026, 1, 21, 8, 20, tzinfo=UTC),
        "country": "GB",
        "question": "Why is the outer corner of the rear bedroom wet and musty? Asked by the landlord.",
        "climate_mode": "heating",
    },
    "surveyor": SURVEYOR,
    "report": {"language": "en", "private": False},
    "limits": {"set": "GB-dwelling"},
    "climate": LOWLAND_ENGLAND,
    "weather": {
        "relative_humidity_percent": 88.0,
        "wind_speed_m_s": 1.4,
        "hours_since_sun": 17.0,
        "hours_since_rain": 30.0,
        "hours_steady": 24.0,
    },
    "instruments": carried(),
    "rooms": [
        {
            "id": "bedroom",
            "name": "Rear bedroom",
            "use": "bedroom",
            "climate_mode": "heating",
            "floor_area_m2": 11.5,
            "volume_m3": 28.2,
        }
    ],
    "frames": [
        {"room": "bedroom", "orientation": "NE", "uncovered_at": datetime(2026, 1, 20, 18, 0, tzinfo=UTC)},
        {"room": "bedroom", "orientation": "N", "taken_at": datetime(2026, 1, 21, 8, 48, tzinfo=UTC)},
    ],
    "references": [{"taken_at": datetime(2026, 1, 21, 8, 43, tzinfo=UTC)}],
    "looked_at": [
        {"room": "bedroom", "element": "outer corner, from floor to ceiling", "looked": "yes"},
        {"room": "bedroom", "element": "plain stretch of the north wall", "looked": "yes"},
        {
            "room": "bedroom",
            "element": "gutter and downpipe outside the corner",
            "looked": "not possible",
            "why": "no access to the neighbour's yard",
        },
        {"element": "roof space above the bedroom", "looked": "no", "why": "not asked for"},
    ],
    "moisture": {
        "occupants": 2,
        "laundry_dried_indoors": "sometimes",
        "extract_fans": "none",
        "remarks": "wardrobe moved away from the corner the evening before",
    },
    "costs": HEAT_PRICE,
}
README = """\
# Cold corner

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frames were
calculated from a conduction model of the wall and a model of a camera; the photos are drawings.

## What it is

The rear bedroom of a terrace house, 330 mm of solid brick, plastered. A concrete post was once cast into the
outer corner. The corner is wet and smells musty. Two frames: the corner, with a contact reading on sound wall
beside it, and the plain wall, without one.

## What it teaches

- A contact reading in the frame turns the camera's 2 K into about half a kelvin. The camera reads
  {offset:.1f} K wrong here; without the contact reading nobody would know.
- A place can be certain while its neighbour stays open: the corner condenses, the plain wall lies close
  to 80 %.
- A person is mirrored left of the corner and a metal plate sits low on the right wall; neither is a finding.
- What could not be looked at (gutter and downpipe) belongs in the report.

## True answer

| place | surface temperature | humidity of the air at the surface | temperature factor at 0.25 m²K/W |
|---|---|---|---|
| corner, coldest spot | {corner.surface_degc:.1f} °C | {corner_percent:.0f} % | {corner.factor:.2f} |
| sound wall beside it | {beside.surface_degc:.1f} °C | {beside_percent:.0f} % | {beside.factor:.2f} |

The water is condensation from room air on a thermal bridge. The plain wall itself is below 0.75, too.
All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260121)
    corner = seen(CORNER, rng, Options(), frame="corner")
    plain = seen(PLAIN, rng, Options(contact=False), frame="plain-wall")
    spot, beside = truth_at(corner, corner.suspect), truth_at(corner, corner.sound)
    readme = README.format(
        offset=CORNER.camera.offset_k,
        corner=spot,
        corner_percent=100.0 * spot.humidity,
        beside=beside,
        beside_percent=100.0 * beside.humidity,
    )
    common = {"place": "bedroom", "taken_at": "2026-01-21T08:50:00+00:00", "instrument": "hygro"}
    readings = [
        {
            **common,
            "quantity": "air temperature",
            "value": corner.written.air_temperature_degc,
            "unit": "degC",
        },
        {
            **common,
            "quantity": "relative humidity",
            "value": corner.written.relative_humidity_percent,
            "unit": "%",
        },
    ]
    write_site(folder, [corner, plain], about=ABOUT, marks=(), readings=readings, readme=readme)


if __name__ == "__main__":
    make(Path(__file__).parent)
