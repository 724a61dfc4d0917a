"""Makes this invented site anew: `python make.py`."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.physics.floor_heating import Slab
from thermalkit.scenes.floor_paths import meander, rounded
from thermalkit.scenes.floor_sites import Fixing, write_floor
from thermalkit.scenes.floors import FloorScene, Pipe, later, looking, seen_floor

ROOM_MM = (3600.0, 3000.0)
CAMERA = Camera(
    rows=180, columns=240, field_of_view_deg=(56.0, 43.5), noise_k=0.05, offset_k=0.5, vignetting_k=-0.1
)
LOOP = meander((150.0, 420.0, 3450.0, 2850.0), 200.0)
FEEDS = [rounded(np.array([[0.0, y], [3600.0, y]]), 50.0) for y in (110.0, 200.0)]
SCENE = FloorScene(
    room_mm=ROOM_MM,
    spacing_mm=200.0,
    slab=Slab(thickness_m=0.065, pipe_height_m=0.018, conductivity_w_mk=1.3, covering_m2k_w=0.012),
    is_tiled=True,
    pipes=(Pipe(line_mm=LOOP), *(Pipe(line_mm=line, role="feed") for line in FEEDS)),
    flow_excess_k=17.0,
    drop_k=6.0,
    minutes=35.0,
    room_degc=20.2,
    camera=CAMERA,
    to_frame=looking(CAMERA, np.array([1750.0, 1450.0]), 2350.0, 22.0, 90.0),
    distance_m=2.53,
    furniture=((2350.0, 1500.0, 2900.0, 2050.0),),
    rugs=((700.0, 1650.0, 1500.0, 2300.0),),
    joint_k=0.08,
    special=((0.0, 0.0, 450.0, 330.0), (3150.0, 0.0, 3600.0, 330.0)),
)
FIXINGS = (
    Fixing(id="door-stop", x_mm=2000.0, y_mm=1315.0, depth_mm=30.0, purpose="door stop"),
    Fixing(id="shelf-foot", x_mm=1800.0, y_mm=1225.0, depth_mm=30.0, purpose="foot of a shelf"),
    Fixing(id="under-rug", x_mm=1100.0, y_mm=1950.0, purpose="floor socket"),
)
README = """\
# Warm floor

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frames were
calculated from a model of pipes in screed and a model of a camera; the photo is a drawing.

## What it is

A tiled living room, heated by one meander of pipes 200 mm apart. Two pipes to the next room pass along the
wall with the door. Five pictures from one tripod while the floor warms up, nine marks measured from the
corner of the room. Three holes are planned.

## What it teaches

- Pipes stand out most some half an hour after warm water enters.
- A hole gets an answer only where the marks agree with one another, every loop and every passing pipe was
  felt warm at the manifold, and nothing covers the floor. *No pipe seen here* is not *clear*.
- The rug, the armchair, the manifold and the door give no answer.

## True answer

The pipes stand in `truth.toml`. The door stop lies midway between two of them, the shelf's foot nearly on
one. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site folder."""
    rng = np.random.default_rng(20)
    first = seen_floor(later(SCENE, 10.0), rng)
    rest = [seen_floor(later(SCENE, minutes), rng) for minutes in (25.0, 40.0, 70.0, 110.0)]
    series = [first, *(replace(seen, points=first.points) for seen in rest)]
    about = {
        "site": {
            "name": "Warm floor (invented)",
            "reference": "INV-0121",
            "country": "DE",
            "question": "Does the floor work, and may a door stop and a shelf be screwed into it?",
        },
        "surveyor": {
            "name": "Kim Beispiel (invented)",
            "qualification": "building surveyor",
        },
        "rooms": [{"id": "room", "name": "Living room", "use": "living"}],
        "instruments": {
            "cam": {"serial": "INV-C21", "calibrated_on": date(2025, 5, 5)},
            "hygro": {"serial": "INV-H21", "calibrated_on": date(2025, 5, 5)},
        },
        "floor_loops": [{"flow_degc": 37.0, "return_degc": 31.0, "cover_mm": 45.0}],
    }
    write_floor(
        folder,
        series,
        fixings=FIXINGS,
        about=about,
        readme=README,
        hour=8.0,
        midnight=datetime(2026, 1, 27, tzinfo=UTC),
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
