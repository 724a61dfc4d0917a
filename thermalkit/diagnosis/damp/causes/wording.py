"""What a weighing says: "consistent with", how sure, why, and what to look at next."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import reduce

from thermalkit.diagnosis.causes import percent
from thermalkit.diagnosis.damp.causes import table
from thermalkit.diagnosis.finding import NextStep
from thermalkit.diagnosis.weighing import (
    NOTHING,
    UNKNOWN,
    Lead,
    Measurement,
    Weighing,
    next_measurements,
    posterior,
)
from thermalkit.language import Sentence, say

NAMED_FROM = 0.5  # own choice: below even odds no source is named as the likely one
BOTH_FROM = 0.25  # own choice: from here on a second source is named beside the first
WORTH_NAMING = 0.25  # own choice: below this an order of explanations says more than was seen
_MOST_LEADS = 2
_DRILLED = ("depth", "profile", "free", "salts")


def source(id: str) -> Sentence:
    """The name of a source, of *nothing active found* or of *unknown*."""
    return say(f"damp.cause.source.{id}")


def statement(weighing: Weighing, place: str, *, is_dry: bool = False) -> Sentence:
    """Which water, how sure: one sentence, never certain.

    An order of small numbers would suggest what nobody saw, so it names none; `is_dry` where a meter was dry.
    """
    p = weighing.probability
    named = [id for id in p if id not in (NOTHING, UNKNOWN)]
    first, second = named[:2]
    if p[second] >= BOTH_FROM:
        return say(
            "damp.cause.two",
            place=place,
            first=source(first),
            first_probability=percent(p[first]),
            second=source(second),
            second_probability=percent(p[second]),
        )
    if p[first] >= NAMED_FROM:
        return say("damp.cause.one", place=place, source=source(first), probability=percent(p[first]))
    if p[NOTHING] >= NAMED_FROM:
        return say("damp.cause.nothing", place=place, probability=percent(p[NOTHING]))
    first, second = [id for id in p if id != UNKNOWN][:2]
    if p[first] < WORTH_NAMING:
        id = "damp.cause.dry-now" if is_dry else "damp.cause.unsettled"
        return say(id, place=place, unknown=percent(p[UNKNOWN]))
    return say(
        "damp.cause.open",
        place=place,
        first=source(first),
        first_probability=percent(p[first]),
        second=source(second),
        second_probability=percent(p[second]),
        unknown=percent(p[UNKNOWN]),
    )


def next_steps(
    answers: Mapping[str, str], most: int = 3, leave_out: Collection[str] = ()
) -> tuple[NextStep, ...]:
    """What to look at next, by whom, and where each result would lead."""
    now = next(id for id in posterior(table(), answers).probability if id != UNKNOWN)
    return tuple(
        NextStep(
            step=_next(item, now),
            by=say("damp.cause.by.fitter" if item.question == "pressure-test" else "by.surveyor"),
            tells_apart=True,
        )
        for item in next_measurements(table(), answers, leave_out=leave_out)[:most]
    )


def cautions(
    answers: Mapping[str, str], most: int = 3, leave_out: Collection[str] = ()
) -> tuple[Sentence, ...]:
    """Cautions that belong to the next steps, and what the probabilities rest on."""
    proposed = {item.question for item in next_measurements(table(), answers, leave_out=leave_out)[:most]}
    found = [say("damp.cause.caution.weights")]
    if proposed.intersection(_DRILLED):
        found.append(say("damp.cause.caution.drilling"))
    if "pressure-test" in proposed:
        found.append(say("damp.cause.caution.pressure-test"))
    return tuple(found)


def _next(item: Measurement, now: str) -> Sentence:
    """What to do, and which results would put another source first."""
    measure = say(f"damp.cause.measure.{item.question}")
    likeliest = sorted((lead for lead in item.leads if lead.source != now), key=lambda lead: -lead.chance)
    turning = [_lead(item.question, lead) for lead in likeliest[:_MOST_LEADS]]
    staying = [lead.probability for lead in item.leads if lead.source == now]
    if not turning:
        return say(
            "damp.cause.next.stays",
            measure=measure,
            source=source(now),
            low=percent(min(staying)),
            high=percent(max(staying)),
        )
    leads = reduce(lambda first, second: say("damp.cause.joined", first=first, second=second), turning)
    if not staying:
        return say("damp.cause.next.turns", measure=measure, leads=leads)
    return say("damp.cause.next.may-turn", measure=measure, leads=leads, source=source(now))


def _lead(question: str, lead: Lead) -> Sentence:
    return say(
        "damp.cause.lead",
        outcome=say(f"damp.cause.outcome.{question}.{lead.outcome}"),
        source=source(lead.source),
        probability=percent(lead.probability),
    )
