"""Which radiators there are: entries of the site file and the outlines drawn on pictures."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.labels import room_label
from thermalkit.imaging.mark import Mark
from thermalkit.site.sections.radiators import HeatingKeys, RadiatorKeys

if TYPE_CHECKING:
    from thermalkit.site.model import RoomKeys

COOLED = "cooled ceiling"


@dataclass(frozen=True, slots=True, kw_only=True)
class Radiator:
    """One radiator; `mark` is None where no picture shows it."""

    id: str
    place: str
    keys: RadiatorKeys
    mark: Mark | None
    room: RoomKeys | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RadiatorType:
    """Usual output per front at 75/65/20, and exponent."""

    output_w_m2: float
    exponent: float


@cache
def types() -> dict[str, RadiatorType]:
    """Usual values by type."""
    text = (files("thermalkit.diagnosis.heating.radiators") / "types.csv").read_text(encoding="utf-8")
    return {
        row["type"]: RadiatorType(output_w_m2=float(row["output_w_m2"]), exponent=float(row["exponent"]))
        for row in csv.DictReader(text.splitlines())
    }


def radiators(case: Case) -> tuple[Radiator, ...]:
    """Every radiator of the site file, then those that were only drawn."""
    marks: tuple[Mark, ...] = case.decided.get("radiator", ())
    entries = case.site.sections(RadiatorKeys)
    listed = [_listed(case, keys, marks) for keys in entries]
    taken = {id(item.mark) for item in listed}
    return (*listed, *(_drawn(case, mark) for mark in marks if id(mark) not in taken))


def heating(case: Case) -> HeatingKeys:
    """What is known of the water that feeds them."""
    return case.site.section(HeatingKeys) or HeatingKeys()


def entries_on(case: Case, frame: str) -> tuple[RadiatorKeys, ...]:
    """Entries that a picture shows."""
    return tuple(keys for keys in case.site.sections(RadiatorKeys) if keys.frame == frame)


def _listed(case: Case, keys: RadiatorKeys, marks: tuple[Mark, ...]) -> Radiator:
    mark = next((m for m in marks if m.id == keys.id and keys.frame in (None, m.frame)), None)
    room_id = keys.room
    if room_id is None and keys.frame is not None:
        room_id = case.site.frames[keys.frame].keys.room
    room = case.site.room(room_id) if room_id is not None else None
    place = f"{room.label} / {keys.id}" if room is not None else keys.id
    return Radiator(id=keys.id, place=place, keys=keys, mark=mark, room=room)


def _drawn(case: Case, mark: Mark) -> Radiator:
    place = f"{room_label(case, mark.frame)} / {mark.id}"
    keys = RadiatorKeys(id=mark.id, frame=mark.frame)
    return Radiator(id=mark.id, place=place, keys=keys, mark=mark, room=case.site.frames[mark.frame].room)
