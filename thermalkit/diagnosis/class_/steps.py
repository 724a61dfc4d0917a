"""What a learner is asked, in this order. Nothing is proposed: an answer that was helped along is none."""

from __future__ import annotations

from typing import Any

from thermalkit.diagnosis.class_.choices import (
    BANDS_K,
    CAUSES,
    EMISSIVITIES,
    HINTS,
    LOOKS,
    OPEN,
    RESERVATIONS,
    TRAPS,
    TRUST,
    VERDICTS,
    one,
    order_asked,
    some,
)
from thermalkit.diagnosis.class_.controls import NUMBERS, Hints, Numbers, OneAtSight, SomeAtSight
from thermalkit.diagnosis.decisions import Answers, Case, Control, MarksOn, OneOf, SomeOf, Step, Words

LONGEST_REASON = 2000


def frames(case: Case) -> tuple[str, ...]:
    """Every frame may be marked: that a place lies in another room is for the learner to see."""
    return tuple(case.site.frames)


def _step(name: str, control: Control, nothing: Any, *, after: tuple[str, ...] = ()) -> Step:
    """A question for a person alone; `after` names what has to be decided before numbers are shown."""
    return Step(
        name=name,
        kind="class",
        control=control,
        propose=lambda case: nothing,
        reads=("frames",) if after else (),
        uses=after,
        only_a_person=True,
    )


_NUMBERS_SHOWN = ("predict", "emissivity")

STEPS = (
    _step("look", OneAtSight(one("look", LOOKS)), OPEN),
    _step("survey", SomeAtSight(some("survey", RESERVATIONS)), []),
    _step("trust", OneOf(one("trust", TRUST)), OPEN),
    _step("predict", OneAtSight(one("predict", tuple(BANDS_K))), OPEN),
    _step("emissivity", OneOf(one("emissivity", EMISSIVITIES)), OPEN),
    _step("suspect", MarksOn("suspect", frames), [], after=_NUMBERS_SHOWN),
    _step("sound", MarksOn("sound", frames), [], after=_NUMBERS_SHOWN),
    _step("numbers", Numbers(NUMBERS), {}),
    _step("verdict", OneOf(one("verdict", VERDICTS)), OPEN),
    _step("cause", OneOf(one("cause", CAUSES)), OPEN),
    _step("traps", SomeOf(some("traps", TRAPS)), []),
    _step("order", Answers(order_asked), {}),
    _step("justify", Words(longest=LONGEST_REASON), ""),
    _step("hints", Hints(some("hint", HINTS)), []),
)
