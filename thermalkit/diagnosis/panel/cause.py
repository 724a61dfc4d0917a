"""Why a circuit is warm: what it is consistent with, and what its joint takes."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.causes import reasons
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Alternative, Finding, NextStep, Quantity, quantity
from thermalkit.diagnosis.panel.advice import cautions, repairs
from thermalkit.diagnosis.panel.along import ENOUGH_FINS
from thermalkit.diagnosis.panel.causes import PREFIX
from thermalkit.diagnosis.panel.causes.wording import next_looks, source, statement
from thermalkit.diagnosis.panel.evidence import COURSE_K, low
from thermalkit.diagnosis.panel.examined import Examined
from thermalkit.diagnosis.panel.judged import RESTS_ON, finding
from thermalkit.diagnosis.weighing import UNKNOWN
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import measured

CONSIDERED_FROM = 0.02  # below it an explanation is not worth a line
SURE_ENOUGH = 0.9  # own choice: from here on nothing more is asked to be looked at


def causes(case: Case, item: Examined) -> Iterator[Finding]:
    """The weighing of a circuit, and its joint where it can be told from the current."""
    weighing = item.weighing
    settled = weighing.probability[item.leading] >= SURE_ENOUGH
    looks: tuple[NextStep, ...] = (
        () if settled else next_looks(item.answers, leave_out=_cannot_be_asked(item))
    )
    yield finding(
        item,
        "panel.cause",
        statement(weighing, item.way.label),
        probability=None if weighing.first == UNKNOWN else round(weighing.probability[weighing.first], 2),
        reasons=(*reasons(weighing, item.leading, PREFIX, most=4), *_course(item)),
        alternatives=tuple(
            Alternative(name=source(id), probability=round(probability, 2))
            for id, probability in weighing.probability.items()
            if probability >= CONSIDERED_FROM
        ),
        sources=(say("source.weighing"),),
        cautions=(say("panel.cause.caution.weights"), *cautions(case, item)),
        next_steps=(*looks, *repairs(item)[1:]),
        rests_on=(*RESTS_ON, "causes"),
    )
    yield from _joint(case, item)


def _cannot_be_asked(item: Examined) -> tuple[str, ...]:
    """Questions that nothing warmer than its like raises, and the course of a conductor that is too short."""
    raised = () if "hottest" in item.answers else ("hottest", "beside")
    return (*raised, "along", "level") if item.reading.along is not None else raised


def _course(item: Examined) -> Iterator[Sentence]:
    """Whether the conductor could be followed far enough."""
    seen = item.reading.along
    if seen is None:
        yield say("panel.course.not-followed")
        return
    shown = {
        "fins": Number(seen.fins, "", 1),
        "length": Number(1000.0 * float(seen.distance_m[-1]), "mm", 0),
        "enough": Number(ENOUGH_FINS, "", 1),
    }
    if not seen.is_enough:
        yield say("panel.course.cannot-separate", **shown)
    else:
        yield say("panel.course.followed", **shown)


def _joint(case: Case, item: Examined) -> Iterator[Finding]:
    """Power and resistance of a joint that adds more than its likes' do."""
    found = item.joint
    if found is None or low(found.rise_k) <= COURSE_K or item.leading != "connection":
        return
    power = quantity("joint-power", measured(found.power_w, "W"))
    quantities: tuple[Quantity, ...] = (quantity("joint-rise", measured(found.rise_k, "K")), power)
    if found.resistance_mohm is None:
        text = say("panel.joint.power", place=item.way.label, power=power.shown())
    else:
        resistance = quantity("contact-resistance", measured(found.resistance_mohm, "mΩ"))
        quantities = (*quantities, resistance)
        text = say(
            "panel.joint.both", place=item.way.label, power=power.shown(), resistance=resistance.shown()
        )
    yield finding(
        item,
        "panel.joint",
        text,
        quantities,
        reasons=(say("panel.joint.share"),),
        sources=(say("panel.source.fin"),),
        cautions=cautions(case, item),
    )
