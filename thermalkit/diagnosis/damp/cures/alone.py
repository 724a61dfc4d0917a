"""Each cure by itself, in each weather that it has to stand up to."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.cures.remedy import Remedy, remedies, thickness
from thermalkit.diagnosis.damp.cures.situations import Situation
from thermalkit.diagnosis.damp.cures.wording import about, finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, NextStep, Quantity, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.language import Interval, Sentence, say
from thermalkit.measured import FloatArray, measured


def alone(
    case: Case, place: Place, label: str, situation: Situation, air_change_per_h: FloatArray | float | None
) -> Finding:
    """What ventilation, warmth or insulation would have to do by itself in one weather."""
    term = "surface-humidity-at-conditions" if situation.id == "limit" else "surface-humidity-in-weather"
    humidity = quantity(term, measured(100.0 * situation.humidity, "%"))
    highest = quantity(
        "highest-room-humidity", measured(100.0 * np.minimum(situation.highest_humidity, 1.0), "%")
    )
    choice = remedies(situation)
    if all(item.reach == "none" for item in choice):
        statement = say(
            "damp.cure.alone.nothing", place=label, situation=about(situation), humidity=humidity.shown()
        )
        return finding(case, place, label, "alone", statement, (humidity, highest), is_dry=True)
    statement = say(
        f"damp.cure.alone.{'limit' if situation.id == 'limit' else 'room'}",
        place=label,
        situation=about(situation),
        humidity=humidity.shown(),
        highest=highest.shown(),
        **{item.kind: _said(case, item, air_change_per_h) for item in choice},
    )
    found = tuple(_shown(situation, choice))
    return finding(
        case, place, label, "alone", statement, (humidity, highest, *found), next_steps=_next_steps(situation)
    )


def _next_steps(situation: Situation) -> tuple[NextStep, ...]:
    """The moisture of one visit is the widest input: loggers replace it."""
    if situation.id == "limit" or situation.is_logged:
        return ()
    return (NextStep(step=say("damp.next.logger"), by=say("by.surveyor")),)


def _shown(situation: Situation, choice: tuple[Remedy, ...]) -> Iterator[Quantity]:
    """Needs with an interval; a ratio only where the moisture is that of the room."""
    for item in choice:
        if item.quantity is not None and not (item.kind == "ventilation" and situation.id == "limit"):
            yield item.quantity


def _said(case: Case, item: Remedy, air_change_per_h: FloatArray | float | None) -> Sentence:
    if item.kind == "insulation" and item.reach == "enough":
        row = case.assumed("insulation-conductivity")
        conductivity = case.draws.between("insulation-conductivity board", row.low, row.high)
        return say("damp.cure.with-thickness", said=item.said(), thickness=thickness(item.need, conductivity))
    if item.kind == "ventilation" and item.reach == "enough" and air_change_per_h is not None:
        m = measured(air_change_per_h * np.minimum(item.need, item.most), "1/h")
        return say(
            "damp.cure.with-air-change", said=item.said(), needed=Interval(m.value, m.low, m.high, "1/h", 2)
        )
    return item.said()
