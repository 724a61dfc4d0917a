"""What the surveyor is asked about cabinets, and what is proposed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from thermalkit.diagnosis.alignment import photo_pairs_step
from thermalkit.diagnosis.causes import questions_at
from thermalkit.diagnosis.decisions import Answers, Asked, Case, MarksOn, SomeOf, Step, Words
from thermalkit.diagnosis.panel.causes import PREFIX, table
from thermalkit.diagnosis.panel.conditions import usable_frames
from thermalkit.diagnosis.panel.examined import known
from thermalkit.diagnosis.panel.ways import owner_of, ways
from thermalkit.diagnosis.proposals import frames_step, remark_step, used_frames, written_marks
from thermalkit.diagnosis.suggestions import suggested_places
from thermalkit.imaging.mark import Mark
from thermalkit.language import Sentence, say
from thermalkit.site.sections.cabinets import CircuitKeys

_READ = ("site", "instruments", "rooms", "frames", "references", "marks", "cabinets", "circuits")
_LONGEST_PERMIT = 200


def _warm_places(case: Case, name: str) -> tuple[Mark, ...]:
    return suggested_places(case, name, warm=True)


def _propose(role: str) -> Callable[[Case], list[dict[str, Any]]]:
    """The marks of a role that stand in the site file."""
    return lambda case: [mark for name in used_frames(case) for mark in written_marks(case, name, role)]


def _propose_terminals(case: Case) -> list[dict[str, Any]]:
    """Those in the site file; on a frame without one, its warmest place."""
    return [
        mark
        for name in used_frames(case)
        for mark in written_marks(case, name, "terminal") or _warmest(case, name)
    ]


def _warmest(case: Case, name: str) -> list[dict[str, Any]]:
    return [mark.as_json() | {"role": "terminal"} for mark in suggested_places(case, name, most=1, warm=True)]


def _terminal_options(case: Case) -> Mapping[str, Sentence]:
    names = dict.fromkeys(mark.id for mark in case.decided["terminals"])
    return {name: say("frame.option", frame=name) for name in names}


def _propose_bright(case: Case) -> list[str]:
    """Terminals that the site file calls bright metal."""
    circuits = {item.id: item for item in case.site.sections(CircuitKeys)}
    found = []
    for name in _terminal_options(case):
        owner = owner_of(name, list(circuits))
        if owner is not None and circuits[owner].terminal_surface == "bright metal":
            found.append(name)
    return found


def _cause_options(case: Case) -> Mapping[str, Asked]:
    return questions_at(table(), PREFIX, {way.id: way.label for way in ways(case) if way.is_seen})


def _propose_causes(case: Case) -> dict[str, str]:
    """What frames and currents already tell; the rest is for the surveyor."""
    return {
        f"{id}: {question}": outcome
        for id, answers in known(case).items()
        for question, outcome in answers.items()
    }


def _has_circuits(case: Case) -> bool:
    return any(way.is_seen for way in ways(case))


STEPS = (
    Step(
        name="permit",
        kind="panel",
        control=Words(longest=_LONGEST_PERMIT),
        propose=lambda case: "",
        only_a_person=True,
    ),
    frames_step("panel", usable_frames, reads=("frames", "instruments")),
    photo_pairs_step("panel", used_frames, is_proposed=False),
    Step(
        name="terminals",
        kind="panel",
        control=MarksOn("terminal", used_frames, _warm_places),
        propose=_propose_terminals,
        reads=_READ,
        uses=("frames",),
    ),
    Step(
        name="conductors",
        kind="panel",
        control=MarksOn("conductor", used_frames),
        propose=_propose("conductor"),
        reads=_READ,
        uses=("frames",),
    ),
    Step(
        name="devices",
        kind="panel",
        control=MarksOn("device", used_frames),
        propose=_propose("device"),
        reads=_READ,
        uses=("frames",),
    ),
    Step(
        name="bright",
        kind="panel",
        control=SomeOf(_terminal_options),
        propose=_propose_bright,
        reads=("circuits",),
        uses=("terminals",),
        applies=lambda case: bool(case.decided["terminals"]),
    ),
    Step(
        name="causes",
        kind="panel",
        control=Answers(_cause_options),
        propose=_propose_causes,
        reads=_READ,
        uses=("frames", "terminals", "conductors", "devices", "bright"),
        applies=_has_circuits,
    ),
    remark_step("panel"),
)
