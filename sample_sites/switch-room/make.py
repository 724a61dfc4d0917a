"""Makes this invented site anew: `python make.py`."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes.cabinet_cases import SIZES, random_cabinet
from thermalkit.scenes.cabinet_site import Shown, shown, write_cabinets

CAMERA = Camera(
    rows=240,
    columns=320,
    field_of_view_deg=(34.0, 25.8),
    noise_k=0.06,
    offset_k=-0.8,
    vignetting_k=-0.1,
    drift_k=0.1,
    dead_pixels=1,
)
# Cabinet, seed, what is wrong, conductor and device.
ROWS = (("MDB-1", 81, "connection", SIZES[3]), ("DB-2", 20, "overload", SIZES[1]))
NAMES = {
    "MDB-1": "Main distribution board",
    "DB-2": "Distribution board 2, workshop",
}
FEEDS = (
    *("oven 1",) * 3,
    *("oven 2",) * 3,
    *("dough mixers and lift",) * 3,
    *("cold store",) * 3,
)
ABOUT = {
    "site": {
        "name": "Bakery at Example Quay, switch room",
        "reference": "INV-2026-031",
        "surveyed_at": datetime(2026, 2, 3, 9, 0, tzinfo=UTC),
        "country": "GB",
        "question": "Yearly look at both boards; a smell of warm plastic. Asked by the works manager.",
    },
    "surveyor": {
        "name": "Ivy Invented",
        "qualification": "Electrician and thermographer (invented)",
        "certificate": "INV-4711",
        "certificate_expires_on": date(2027, 6, 30),
    },
    "report": {"language": "en", "private": False},
    "instruments": {
        "cam": {"serial": "INV-CAM-7", "calibrated_on": date(2025, 6, 1)},
        "clamp": {"serial": "INV-CLP-2", "calibrated_on": date(2025, 9, 12)},
        "air": {"serial": "INV-AIR-3", "calibrated_on": date(2025, 9, 12)},
    },
    "rooms": [{"id": "room", "name": "Switch room", "use": "electrical"}],
    "circuits": [{"name": name} for name in FEEDS],
    "cabinets": [
        {"name": NAMES["MDB-1"], "minutes_since_opened": 4.0},
        {"name": NAMES["DB-2"], "minutes_since_opened": 3.0, "remarks": "Smell of warm plastic."},
    ],
    "looked_at": [
        {"room": "room", "element": "MDB-1 and DB-2, devices and outgoing conductors", "looked": "yes"},
        {
            "room": "room",
            "element": "Incoming terminals of MDB-1",
            "looked": "not possible",
            "why": "behind a bolted cover, not covered by the permit",
        },
    ],
}
DECIDED = {
    "permit": {
        "value": "PTW-2026-118 of 3 February 2026, issued by the works' authorised person",
        "reason": "copied from the permit",
    },
    "remark": {
        "value": "The works' electrician opened both boards and read the currents. The smell was gone.",
        "reason": "",
    },
}
README = """\
# Switch room

An **invented** case: works, people, readings, serial numbers and frames do not exist. The frames were
calculated from a model of conductors, devices and joints, and of a camera; the photos are drawings.

## What it is

Two boards of a bakery. In the main board one conductor of 16 mm² sits badly in its terminal. In the second
board three conductors of 6 mm² carry more than they are protected for.

## What it teaches

- A bad connection and an overload look alike at the terminal. Along the conductor they do not: the heat of
  the joint falls to a third over one fin length, that of the current stays level.
- Urgency comes from like parts under like load, not from the temperature alone.
- A terminal may be allowed 105 °C by its type test; the conductor on it is PVC and bears 70 °C.

## True answer

| board | circuit | what is wrong | terminal |
|---|---|---|---|
{rows}

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""
WORDS = {"connection": "poor connection", "overload": "load above the rating"}


def rows() -> list[Shown]:
    """Both boards as seen."""
    found = []
    for id, seed, fault, size in ROWS:
        rng = np.random.default_rng([2026, seed])
        cabinet = random_cabinet(rng, fault, camera=CAMERA, size=size)
        named = [(pole, id[0]) for pole in cabinet.poles]
        poles = tuple(replace(pole, id=f"{at}{pole.id}", group=f"{at}{pole.group}") for pole, at in named)
        found.append(shown(replace(cabinet, poles=poles), rng, id))
    return found


def make(folder: Path) -> None:
    """Write the site into a folder."""
    found = rows()
    lines = []
    for row in found:
        cabinet = row.cabinet
        degc = cabinet.warmth().terminal_degc[cabinet.suspect]
        lines.append(
            f"| {row.id} | {cabinet.poles[cabinet.suspect].id} | {WORDS[cabinet.fault]} | {degc:.0f} °C |"
        )
    write_cabinets(
        folder,
        found,
        about=ABOUT,
        with_marks=False,
        readme=README.format(rows="\n".join(lines)),
        start=ABOUT["site"]["surveyed_at"],
    )
    marks = {
        f"{role}s": {
            "value": [mark.as_json() for row in found for mark in row.frames[0].marks if mark.role == role],
            "reason": "",
        }
        for role in ("terminal", "conductor", "device")
    }
    (folder / "decisions.json").write_text(
        json.dumps({"panel": DECIDED | marks}, ensure_ascii=False) + "\n", encoding="utf-8"
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
