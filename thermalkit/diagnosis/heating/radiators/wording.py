"""What is said about a radiator: consistent with what, how sure, why, what next and by whom."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.causes import percent, telling
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Alternative, Evidence, Finding, NextStep, Quantity
from thermalkit.diagnosis.heating.radiators.output import RESTS_ON, zone_quantities
from thermalkit.diagnosis.heating.radiators.reading import Shown, is_metallic, is_mirror, is_settled
from thermalkit.diagnosis.heating.radiators.subject import Radiator, heating
from thermalkit.diagnosis.heating.radiators.weighed import (
    FAULTS,
    FROM_PICTURE,
    NAMED_FROM,
    answers_of,
    named,
    table,
    weighed,
)
from thermalkit.diagnosis.weighing import NOTHING, UNKNOWN, Push, Weighing, next_measurements
from thermalkit.language import Number, Sentence, say

LOW_FLOW_BELOW_DEGC = 48.0  # own choice: what a heat pump or a condensing boiler runs at
CONSIDERED_FROM = 0.03
_MOST_REASONS, _MOST_STEPS = 3, 2


def cause_finding(case: Case, item: Radiator, found: Shown | None) -> Finding:
    """The finding that comes first: does it work, and if not, what is that consistent with."""
    weighing = weighed(case, item)
    name = named(weighing)
    mark = item.mark
    evidence = (Evidence(kind="picture", reference=mark.frame, mark=mark.id),) if mark is not None else ()
    quantities: tuple[Quantity, ...] = zone_quantities(case, item, found) if found is not None else ()
    return Finding(
        code="heating.radiator",
        place=item.place,
        frame=mark.frame if mark is not None else None,
        mark=mark.id if mark is not None else None,
        statement=_statement(case, item, weighing, name),
        quantities=quantities,
        probability=None if name == UNKNOWN else round(weighing.probability[name], 2),
        reasons=(*_notes(case, item), *_reasons(weighing)),
        alternatives=tuple(
            Alternative(name=explanation(id), probability=round(p, 2))
            for id, p in weighing.probability.items()
            if p >= CONSIDERED_FROM
        ),
        evidence=(*evidence, Evidence(kind="answer", reference="answers")),
        sources=(say("heating.source.weighing"), say("heating.source.patterns")),
        cautions=_cautions(name),
        next_steps=tuple(_next_steps(case, item, name)),
        rests_on=(*RESTS_ON, "answers"),
    )


def explanation(id: str) -> Sentence:
    """The name of an explanation."""
    return say(f"heating.cause.{id}")


def _statement(case: Case, item: Radiator, weighing: Weighing, name: str) -> Sentence:
    if name == UNKNOWN:
        first, second = [id for id in weighing.probability if id != UNKNOWN][:2]
        return say(
            "heating.radiator.open",
            place=item.place,
            first=explanation(first),
            first_probability=percent(weighing.probability[first]),
            second=explanation(second),
            second_probability=percent(weighing.probability[second]),
        )
    probability = percent(weighing.probability[name])
    if name == NOTHING:
        id = "works-low" if _is_low(case, item) else "works"
        return say(f"heating.radiator.{id}", place=item.place, probability=probability)
    return say(f"heating.radiator.{name}", place=item.place, probability=probability)


def _is_low(case: Case, item: Radiator) -> bool:
    flow = item.keys.flow_degc if item.keys.flow_degc is not None else heating(case).flow_degc
    return flow is not None and flow < LOW_FLOW_BELOW_DEGC


def _notes(case: Case, item: Radiator) -> Iterator[Sentence]:
    """What the picture could not tell, and why."""
    if item.mark is None:
        yield say("heating.note.no-picture")
        return
    if is_mirror(case, item):
        yield say("heating.note.mirror")
    elif is_metallic(case, item):
        yield say("heating.note.metallic")
    if item.room is None or item.room.air_temperature_degc is None:
        yield say("heating.note.no-room")
    if not is_settled(item):
        yield say("heating.note.unsettled", minutes=Number(item.keys.minutes_steady or 0.0, "min", 0))


def _reasons(weighing: Weighing) -> tuple[Sentence, ...]:
    leading = next(id for id in weighing.probability if id != UNKNOWN)
    return tuple(_reason(push, leading) for push in telling(weighing, leading, _MOST_REASONS))


def _reason(push: Push, id: str) -> Sentence:
    return say(
        f"heating.push.{'for' if push.bits > 0 else 'against'}",
        question=say(f"heating.question.{push.question}"),
        outcome=say(f"heating.outcome.{push.question}.{push.outcome}"),
        cause=explanation(id),
    )


def _next_steps(case: Case, item: Radiator, name: str) -> Iterator[NextStep]:
    if name in FAULTS:
        yield NextStep(step=say(f"heating.next.{name}"), by=say("by.heating"))
    if name == "satisfied":
        yield NextStep(step=say("heating.next.satisfied"), by=say("by.surveyor"))
    if not is_settled(item):
        yield NextStep(step=say("heating.next.wait"), by=say("by.surveyor"))
        return
    if name == UNKNOWN or (name in FAULTS and _certainty(case, item, name) < NAMED_FROM + 0.2):
        open_questions = next_measurements(table(), answers_of(case, item), leave_out=(FROM_PICTURE,))
        for measurement in open_questions[:_MOST_STEPS]:
            by = "by.heating" if measurement.question in ("bled", "water-colour", "pin") else "by.surveyor"
            yield NextStep(step=say(f"heating.measure.{measurement.question}"), by=say(by))


def _certainty(case: Case, item: Radiator, name: str) -> float:
    return weighed(case, item).probability[name]


def _cautions(name: str) -> tuple[Sentence, ...]:
    if name in FAULTS or name == UNKNOWN:
        return (say("heating.caution.hot"), say("heating.caution.pressure"), say("heating.caution.appliance"))
    return (say("heating.caution.hot"),)
