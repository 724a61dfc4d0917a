"""What the surveyor is asked in a damp case, and what is proposed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from thermalkit.diagnosis.alignment import photo_pairs_step
from thermalkit.diagnosis.causes import questions_at
from thermalkit.diagnosis.damp.causes import PREFIX, factor_options, table
from thermalkit.diagnosis.damp.water import known_answers, place_id
from thermalkit.diagnosis.decisions import Answers, Asked, Case, MarksOn, SomeOf, Step
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.proposals import (
    FRAME_READS,
    appliance_step,
    frames_step,
    limit_step,
    proposed_frames,
    proposed_sound,
    remark_step,
    used_frames,
    written_marks,
)
from thermalkit.diagnosis.suggestions import suggested_places
from thermalkit.imaging.mark import Mark


def _propose_suspects(case: Case) -> list[dict[str, Any]]:
    """The places marked in the site file; on a frame without one, the coldest coherent place."""
    return [
        mark
        for name in used_frames(case)
        for mark in written_marks(case, name, "suspect") or _coldest(case, name)
    ]


def _coldest(case: Case, name: str) -> list[dict[str, Any]]:
    return [mark.as_json() for mark in _cold_places(case, name, most=1)]


def _cold_places(case: Case, name: str, *, most: int = 5) -> tuple[Mark, ...]:
    """In a cooled room too it is on the coldest places that moisture gathers."""
    return suggested_places(case, name, most=most, warm=False)


def _water_options(case: Case) -> Mapping[str, Asked]:
    return questions_at(table(), PREFIX, {place_id(m): place_label(case, m) for m in case.decided["suspect"]})


def _propose_water(case: Case) -> dict[str, str]:
    """What the frames, samples and notes already tell; the rest is for the surveyor."""
    return {
        f"{place_id(mark)}: {question}": outcome
        for mark in case.decided["suspect"]
        for question, outcome in known_answers(case, mark).items()
    }


STEPS = (
    frames_step("damp", proposed_frames),
    photo_pairs_step("damp", used_frames),
    limit_step("damp"),
    Step(
        name="suspect",
        kind="damp",
        control=MarksOn("suspect", used_frames, _cold_places),
        propose=_propose_suspects,
        reads=FRAME_READS,
        uses=("frames",),
    ),
    Step(
        name="sound",
        kind="damp",
        control=MarksOn("sound", used_frames),
        propose=proposed_sound,
        reads=FRAME_READS,
        uses=("frames", "suspect"),
    ),
    Step(
        name="water",
        kind="damp",
        control=Answers(_water_options),
        propose=_propose_water,
        reads=(*FRAME_READS, "limits", "climate", "elements", "samples", "moisture", "loggers"),
        uses=("frames", "limit", "suspect", "sound"),
        applies=lambda case: bool(case.decided["suspect"]),
    ),
    Step(
        name="factors",
        kind="damp",
        control=SomeOf(factor_options),
        propose=lambda case: [],
        only_a_person=True,
        applies=lambda case: bool(case.decided["suspect"]),
    ),
    appliance_step("damp"),
    remark_step("damp"),
)
