"""Makes this invented site anew, with its earlier visit: `python make.py`."""

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes.cabinet_cases import SIZES, Size, random_cabinet
from thermalkit.scenes.cabinet_pictures import Cabinet
from thermalkit.scenes.cabinet_site import Shown, shown, write_cabinets

WINTER_TIME = timezone(timedelta(hours=1))
CAMERA = Camera(
    rows=200,
    columns=150,
    field_of_view_deg=(24.0, 32.0),
    noise_k=0.06,
    offset_k=0.7,
    vignetting_k=-0.1,
    drift_k=0.05,
    dead_pixels=0,
)
BEFORE = datetime(2025, 2, 4, 8, 30, tzinfo=WINTER_TIME)
NOW = datetime(2026, 2, 10, 8, 30, tzinfo=WINTER_TIME)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One cabinet of the round: its number, name, seed, conductor, and what is wrong on each visit."""

    id: str
    name: str
    seed: int
    size: Size
    before: str
    now: str


ROUND = (
    Row(id="UV1", name="Unterverteilung 1, Büro", seed=23, size=SIZES[2], before="none", now="none"),
    Row(id="UV2", name="Unterverteilung 2, Küche", seed=17, size=SIZES[3], before="connection", now="none"),
    Row(id="UV3", name="Unterverteilung 3, Werkstatt", seed=14, size=SIZES[3], before="none", now="device"),
    Row(
        id="UV4",
        name="Unterverteilung 4, Rechnerraum",
        seed=6,
        size=SIZES[4],
        before="neutral",
        now="neutral",
    ),
    Row(id="UV5", name="Unterverteilung 5, Lüftung", seed=21, size=SIZES[2], before="none", now="reflection"),
    Row(id="UV6", name="Unterverteilung 6, Halle", seed=19, size=SIZES[4], before="warm", now="warm"),
)
COVERED = {"id": "UV7", "name": "Unterverteilung 7, Keller", "room": "room", "seen": "opaque cover"}


REPAIRED = {"id": "2F1.3", "repaired_on": date(2025, 3, 15), "remarks": "Ende gekürzt und neu angeschlossen"}


def about(start: datetime, reference: str) -> dict[str, Any]:
    """What the surveyor wrote down besides; the repair stands third in the second board."""
    return {
        "circuits": [*({},) * 8, *([REPAIRED] if start == NOW else [])],
        "site": {
            "name": "Schule am Musterplatz, sieben Unterverteilungen",
            "reference": reference,
            "surveyed_at": start,
            "country": "DE",
            "question": "Jährlicher Rundgang durch die Verteilungen. Gefragt vom Träger der Schule.",
        },
        "surveyor": {
            "name": "Erik Erfunden",
            "qualification": "Elektrofachkraft und Thermograf (erfunden)",
            "certificate": "ERF-0042",
            "certificate_expires_on": date(2027, 12, 31),
        },
        "report": {"language": "de", "private": False},
        "instruments": {
            "cam": {"serial": "ERF-KAM-5", "calibrated_on": start.date() - timedelta(days=150)},
            "clamp": {"serial": "ERF-ZAN-1", "calibrated_on": start.date() - timedelta(days=120)},
            "air": {"serial": "ERF-FUE-9", "calibrated_on": start.date() - timedelta(days=120)},
        },
        "rooms": [{"id": "room", "name": "Schule", "use": "Schule"}],
        "cabinets": [*({"name": row.name} for row in ROUND), COVERED],
        "looked_at": [
            {"room": "room", "element": "Unterverteilungen 1 bis 6", "looked": "yes"},
            {
                "room": "room",
                "element": "Unterverteilung 7",
                "looked": "not possible",
                "why": "die Abdeckung durfte nach der Erlaubnis nicht abgenommen werden",
            },
        ],
    }


README = """\
# Cabinet round

An **invented** case: school, people, readings, serial numbers and frames do not exist. The frames were
calculated from a model of conductors, devices and joints, and of a camera; the photos are drawings. The
report is in German.

## What it is

The yearly round through seven distribution boards of a school, and the round of the year before in
`earlier/`. Last year a conductor of board 2 sat badly; it was remade. This year a device of board 3 fails
from within. The neutral of board 4 carries harmonics, as it did. Board 5 has bright terminals in which the
surveyor is mirrored. Board 6 is warm and sound. Board 7 could not be opened.

## What it teaches

- Exceptions come first; what is in order is said too, and so is what was not seen.
- A warm board in warm air is no fault: its circuits are as warm as each other.
- A warm spot that wanders between two pictures is a reflection. Bright metal has no temperature.
- After a repair the load is another one: two visits compare only with the load taken out.

## True answer

| board | now | the year before |
|---|---|---|
{rows}

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""
WORDS = {
    "none": "in order",
    "warm": "warm and in order",
    "connection": "poor connection",
    "device": "device failing from within",
    "neutral": "harmonics in the neutral",
    "reflection": "a mirrored person",
}


def named(cabinet: Cabinet, id: str) -> Cabinet:
    """The same with names that are its own in the whole round."""
    number = id.removeprefix("UV")
    poles = [replace(pole, id=f"{number}{pole.id}", group=f"{number}{pole.group}") for pole in cabinet.poles]
    return replace(cabinet, poles=tuple(poles))


def rows(fault: Callable[[Row], str], load: float, visit: int) -> list[Shown]:
    """Every board of a visit as seen."""
    found = []
    for row in ROUND:
        cabinet = random_cabinet(
            np.random.default_rng([2026, row.seed]), fault(row), camera=CAMERA, size=row.size
        )
        poles = tuple(replace(pole, current_a=load * pole.current_a) for pole in cabinet.poles)
        rng = np.random.default_rng([2026, row.seed, visit])
        found.append(shown(named(replace(cabinet, poles=poles), row.id), rng, row.id))
    return found


def make(folder: Path) -> None:
    """Write this visit and the earlier one into a folder."""
    lines = [f"| {row.id} | {WORDS[row.now]} | {WORDS[row.before]} |" for row in ROUND]
    readme = README.format(rows="\n".join([*lines, "| UV7 | not seen | not seen |"]))
    visit(folder, rows(lambda row: row.now, 1.0, 2), NOW, "ERF-2026-040", readme, "AE-2026-17, Hausmeisterei")
    earlier = rows(lambda row: row.before, 0.92, 1)
    visit(folder / "earlier", earlier, BEFORE, "ERF-2025-022", readme, "AE-2025-09, Hausmeisterei")


def visit(
    folder: Path, found: list[Shown], start: datetime, reference: str, readme: str, permit: str
) -> None:
    """Write one visit with what its surveyor decided."""
    write_cabinets(folder, found, about=about(start, reference), with_marks=False, readme=readme, start=start)
    marks = {
        f"{role}s": {
            "value": [
                mark.as_json()
                for row in found
                for frame in row.frames
                for mark in frame.marks
                if mark.role == role
            ],
            "reason": "",
        }
        for role in ("terminal", "conductor", "device")
    }
    decided = {"permit": {"value": permit, "reason": "von der Erlaubnis übertragen"}, **marks}
    (folder / "decisions.json").write_text(
        json.dumps({"panel": decided}, ensure_ascii=False) + "\n", encoding="utf-8"
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
