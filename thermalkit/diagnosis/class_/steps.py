"""What a learner is asked, in this order. Nothing is proposed: an answer that was helped along is none."""

from __future__ import annotations

from typing import Any

from thermalkit.diagnosis.class_.choices import OPEN, numbers_asked, one, order_asked, some, title
from thermalkit.diagnosis.class_.controls import Hints, Numbers, OneAtSight, SomeAtSight
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
        titled=title(name),
    )


_NUMBERS_SHOWN = ("predict", "emissivity")

STEPS = (
    _step("look", OneAtSight(one("look")), OPEN),
    _step("survey", SomeAtSight(some("survey")), []),
    _step("trust", OneOf(one("trust")), OPEN),
    _step("predict", OneAtSight(one("predict")), OPEN),
    _step("emissivity", OneOf(one("emissivity")), OPEN),
    _step("suspect", MarksOn("suspect", frames), [], after=_NUMBERS_SHOWN),
    _step("sound", MarksOn("sound", frames), [], after=_NUMBERS_SHOWN),
    _step("numbers", Numbers(numbers_asked), {}),
    _step("verdict", OneOf(one("verdict")), OPEN),
    _step("cause", OneOf(one("cause")), OPEN),
    _step("traps", SomeOf(some("traps")), []),
    _step("order", Answers(order_asked), {}),
    _step("justify", Words(longest=LONGEST_REASON), ""),
    _step("hints", Hints(some("hint")), []),
)
