"""What a weighing says of a circuit: "consistent with", how sure, why, and what to look at next."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from thermalkit.diagnosis.causes import percent
from thermalkit.diagnosis.finding import NextStep
from thermalkit.diagnosis.panel.causes import table
from thermalkit.diagnosis.weighing import NOTHING, UNKNOWN, Weighing, next_measurements
from thermalkit.language import Sentence, say

NAMED_FROM = 0.5  # own choice: below even odds nothing is named as the likely cause
BOTH_FROM = 0.25  # own choice: from here on a second cause is named beside the first


def source(id: str) -> Sentence:
    """The name of a cause, of normal operation or of *unknown*."""
    return say(f"panel.cause.source.{id}")


def statement(weighing: Weighing, place: str) -> Sentence:
    """What it is consistent with, how sure: one sentence, never certain."""
    p = weighing.probability
    first, second = [id for id in p if id not in (NOTHING, UNKNOWN)][:2]
    if p[second] >= BOTH_FROM and p[first] >= p[UNKNOWN]:
        return _two("panel.cause.two", place, weighing, first, second)
    if p[first] >= NAMED_FROM:
        return say("panel.cause.one", place=place, source=source(first), probability=percent(p[first]))
    if p[NOTHING] > p[first]:
        return say("panel.cause.nothing", place=place, probability=percent(p[NOTHING]))
    first, second = [id for id in p if id != UNKNOWN][:2]
    return _two("panel.cause.open", place, weighing, first, second)


def _two(id: str, place: str, weighing: Weighing, first: str, second: str) -> Sentence:
    p = weighing.probability
    return say(
        id,
        place=place,
        first=source(first),
        first_probability=percent(p[first]),
        second=source(second),
        second_probability=percent(p[second]),
    )


def next_looks(
    answers: Mapping[str, str], most: int = 2, leave_out: Collection[str] = ()
) -> tuple[NextStep, ...]:
    """What to look at next, all of it without touching anything."""
    return tuple(
        NextStep(
            step=say(f"panel.cause.measure.{item.question}"), by=say("panel.by.qualified"), tells_apart=True
        )
        for item in next_measurements(table(), answers, leave_out=leave_out)[:most]
    )
