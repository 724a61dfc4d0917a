"""Makes this invented site anew, the visit before the fitter came included: `python make.py`."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes.panel_water import Deposit, Panel
from thermalkit.scenes.radiator_sites import write_radiators
from thermalkit.scenes.radiators import CONNECTIONS, RadiatorScene, radiator_seen

CAMERA = Camera(
    rows=120, columns=160, field_of_view_deg=(48.0, 36.0), noise_k=0.07, offset_k=0.9, vignetting_k=-0.2
)
SIDE = CONNECTIONS["top-bottom-same"]
SQUARE = ((36.0, 22.0), (34.0, 138.0), (88.0, 138.0), (86.0, 22.0))
LEFT = ((34.0, 26.0), (38.0, 132.0), (84.0, 132.0), (90.0, 26.0))
TALL = ((20.0, 44.0), (22.0, 112.0), (99.0, 112.0), (103.0, 44.0))

# Room: name, floor area, length and height in m, type, plate in W, share of the designed water, corners.
ROOMS = {
    "living": ("Living room", 24.0, 1.6, 0.6, "22", 2735.0, 1.9, SQUARE),
    "kitchen": ("Kitchen", 12.0, 1.0, 0.6, "21", 1330.0, 1.1, LEFT),
    "bedroom": ("Bedroom", 14.0, 1.2, 0.6, "21", 1610.0, 0.8, SQUARE),
    "child": ("Child's room", 11.0, 0.6, 0.9, "22", 1420.0, 0.12, TALL),
    "study": ("Study", 10.0, 0.9, 0.6, "21", 1190.0, 0.7, LEFT),
}
AFTER = {"living": 0.95, "kitchen": 0.95, "bedroom": 1.05, "child": 0.9, "study": 0.9}
LOADS = {"living": 1350.0, "kitchen": 640.0, "bedroom": 720.0, "child": 650.0, "study": 560.0}
TYPES = {"21": 1.31, "22": 1.33}
README = """\
# Balanced house

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frames were
calculated from a model of water in radiators and a model of a camera; the photos are drawings.

## What it is

Five radiators of a terrace house, the week after a heating engineer bled, flushed and balanced them. The
visit before stands in `earlier/`: the living room took most of the water, the child's room hardly any, there
was air in the bedroom's radiator and a deposit in the study's. On the second visit the flow was cooler and
the rooms warmer.

## What it teaches

- Ratios of excess temperature compare two visits although flow and room temperatures differ; degrees do not.
- Who takes too much matters as much as who gets too little: what the living room took, the child's room
  lacked.
- Pipe readings a few kelvin apart give the water flow only roughly, and the interval says so.

## True answer

| radiator | before | after |
|---|---|---|
| living | healthy, nearly twice its water | healthy |
| kitchen | healthy | healthy |
| bedroom | air in the upper quarter | bled |
| child | an eighth of its water | healthy |
| study | deposit in the lower middle | flushed |

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""
EARLIER = """\
# Balanced house, the visit before

An **invented** case, calculated from a model: the same five radiators before the heating engineer came. Air
in the bedroom, a deposit in the study, hardly any water in the child's room, too much in the living room.
"""


def scene(
    room: str, *, share: float, flow_degc: float, room_degc: float, fault: str = "none"
) -> RadiatorScene:
    """One radiator of the house."""
    _, _, length, height, type, rated, _, corners = ROOMS[room]
    panel = Panel(
        length_m=length, height_m=height, rated_w=rated, exponent=TYPES[type], connection=SIDE, header_pa=5.0
    )
    if fault == "air":
        panel = replace(panel, air_depth=0.24, tilt=0.05)
    if fault == "deposit":
        panel = replace(panel, deposits=(Deposit(middle=0.52, half_width=0.3, height=0.2),))
    return RadiatorScene(
        panel=panel,
        type=type,
        connection="top-bottom-same",
        fault=fault,
        flow_degc=flow_degc,
        room_degc=room_degc,
        design_drop_k=10.0,
        flow_share=share,
        camera=CAMERA,
        corners=corners,
        setpoint_degc=room_degc + 1.5,
        outdoor_degc=3.0,
        reflected_degc=room_degc - 0.4,
        channels=round(length / 0.0333),
        window=room in ("living", "bedroom"),
    )


def air_degc(room: str, number: int, *, after: bool) -> float:
    """Before, the child's room was cold."""
    cold = 1.8 if room == "child" and not after else 0.0
    return (20.6 if after else 18.9) + 0.3 * (number % 3) - cold


def pictures(rng: np.random.Generator, *, after: bool) -> list:
    """Every radiator before or after the fitter."""
    faults = {} if after else {"bedroom": "air", "study": "deposit", "child": "starved"}
    found = []
    for number, (room, values) in enumerate(ROOMS.items()):
        share = AFTER[room] if after else values[6]
        warm = scene(
            room,
            share=share,
            flow_degc=(55.0 if after else 62.0) - 0.4 * number,
            room_degc=air_degc(room, number, after=after),
            fault=faults.get(room, "none"),
        )
        found.append(radiator_seen(warm, rng, frame=room, name=room))
    return found


def about(seen: list, *, after: bool) -> dict:
    """What else was written down."""
    when = datetime(2026, 2, 10 if after else 3, 8, 40, tzinfo=UTC)
    serials = {"cam": "INV-CAM-4", "hygro": "INV-HYG-2", "clamp": "INV-CLP-1"}
    day = date(2025, 9, 1)
    calibrated = {name: {"serial": serial, "calibrated_on": day} for name, serial in serials.items()}
    return {
        "site": {
            "name": "Terrace house, 7 Example Lane",
            "reference": "INV-2026-031" if after else "INV-2026-030",
            "surveyed_at": when,
            "country": "GB",
            "question": "Do the radiators work after bleeding and balancing? Asked by the owner."
            if after
            else "Why is the child's room cold while the living room is too warm? Asked by the owner.",
        },
        "surveyor": {"name": "Sam Sample", "qualification": "Heating engineer (invented)"},
        "report": {"language": "en"},
        "climate": {"design_winter_temperature_degc": -3.0, "source": "invented"},
        "weather": {"air_temperature_degc": 3.0 if not after else 5.5, "hours_steady": 24.0},
        "instruments": calibrated,
        "heating": {
            "source": "boiler",
            "flow_degc": 55.5 if after else 62.5,
            "design_flow_degc": 65.0,
            "design_return_degc": 55.0,
            "pipes": "two-pipe",
        },
        "rooms": [
            {"name": ROOMS[picture.frame][0], "floor_area_m2": ROOMS[picture.frame][1]} for picture in seen
        ],
        "radiators": [{**pipes(picture), **wall(picture.frame)} for picture in seen],
        "heat_losses": [{"room": room, "load_w": load} for room, load in LOADS.items()],
    }


def pipes(picture) -> dict:
    """Clamp-on readings, a little low as they are, and what the head and the plate said."""
    scene, state = picture.scene, picture.state
    low = 0.02
    return {
        "head": "open",
        "warmer_than_set": "no",
        "minutes_steady": 75.0,
        "connection": "top-bottom-same",
        "rated_output_w": scene.panel.rated_w,
        "exponent": scene.panel.exponent,
        "flow_degc": round(scene.flow_degc - low * (scene.flow_degc - scene.room_degc) + 0.2, 1),
        "return_degc": round(state.return_degc - low * (state.return_degc - scene.room_degc) - 0.1, 1),
        "instrument": "clamp",
    }


def wall(room: str) -> dict:
    """Two radiators hang on outer walls."""
    if room not in ("living", "bedroom"):
        return {"on_outer_wall": "no"}
    return {"on_outer_wall": "yes", "wall_transmittance_w_m2k": 1.5, "lining": "no"}


def make(folder: Path) -> None:
    """Write the site and the visit before it into a folder."""
    rng = np.random.default_rng(20260203)
    before, later = pictures(rng, after=False), pictures(rng, after=True)
    first, second = (datetime(2026, 2, day, tzinfo=UTC) for day in (3, 10))
    write_radiators(
        folder / "earlier", before, about=about(before, after=False), readme=EARLIER, midnight=first
    )
    write_radiators(folder, later, about=about(later, after=True), readme=README, midnight=second)


if __name__ == "__main__":
    make(Path(__file__).parent)
