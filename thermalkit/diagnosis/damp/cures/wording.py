"""What findings on cures share: cautions, evidence, what they rest on, the weather in words."""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.cautions import cautions
from thermalkit.diagnosis.damp.cures.situations import Situation
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, NextStep, Quantity
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, Sentence, say

RESTS_ON = ("frames", "limit", "suspect", "sound", "water", "appliance")


def about(situation: Situation) -> Sentence:
    """The weather and the room of a situation in words."""
    outdoor = Number(situation.outdoor_degc, "degC", 0 if situation.id == "limit" else 1)
    indoor = Number(float(np.median(situation.indoor_degc)), "degC", 0 if situation.id == "limit" else 1)
    humidity = Number(100.0 * float(np.median(_room_humidity(situation))), "%", 0)
    month = {"month": month_name(situation.month)} if situation.month is not None else {}
    return say(f"damp.cure.at.{situation.id}", outdoor=outdoor, indoor=indoor, humidity=humidity, **month)


def month_name(number: int) -> Sentence:
    """January is 1."""
    return say(f"damp.cure.month.{number}")


def finding(
    case: Case,
    place: Place,
    label: str,
    code: str,
    statement: Sentence,
    quantities: tuple[Quantity, ...] = (),
    *,
    next_steps: tuple[NextStep, ...] = (),
    extra_cautions: tuple[Sentence, ...] = (),
    sources: tuple[str, ...] = ("damp.cure.source.balance",),
    is_dry: bool = False,
    probability: float | None = None,
) -> Finding:
    """A finding of this part, with mould and flue cautions unless there is nothing to be done."""
    mark = place.mark
    always = () if is_dry else cautions(case, mark, "indicated")
    return Finding(
        code=f"damp.cure.{code}",
        place=label,
        frame=mark.frame,
        mark=mark.id,
        statement=statement,
        quantities=quantities,
        probability=probability,
        evidence=(Evidence(kind="picture", reference=mark.frame, mark=mark.id),),
        sources=tuple(say(id) for id in sources),
        cautions=always + extra_cautions,
        next_steps=next_steps,
        rests_on=RESTS_ON,
    )


def _room_humidity(situation: Situation) -> np.ndarray:
    from thermalkit.physics.moist_air import saturation_pressure_pa

    return np.asarray(situation.indoor_pa / saturation_pressure_pa(situation.indoor_degc))
