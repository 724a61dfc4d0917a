"""When to look again, where, in which weather, and what then counts as success."""

from __future__ import annotations

from thermalkit.diagnosis.conditions import DRY_AFTER_H, ENOUGH_DIFFERENCE_K, SUN_GONE_H
from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, NextStep, Quantity, quantity
from thermalkit.diagnosis.judging import LimitSet
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, say
from thermalkit.measured import measured

_HIGHEST_TO_SHOW = 0.98  # own choice: no insulation lifts a factor wholly above this


def again(case: Case, place: Place, label: str, limits: LimitSet) -> Finding:
    """The same mark in comparable weather; success lies wholly beyond the old interval and the limit."""
    conditions = {
        "difference": Number(ENOUGH_DIFFERENCE_K, "K", 0),
        "sun": Number(SUN_GONE_H, "h", 0),
        "rain": Number(DRY_AFTER_H, "h", 0),
        "limit": Number(100.0 * limits.surface_humidity, "%", 0),
    }
    old = None if place.factor is None else quantity("temperature-factor", measured(place.factor, ""))
    least = 1.0 if old is None else max(old.measured.high, limits.factor)
    if old is None or least > _HIGHEST_TO_SHOW:
        statement = say("damp.cure.again.humidity", place=label, mark=place.mark.id, **conditions)
        quantities: tuple[Quantity, ...] = ()
    else:
        statement = say(
            "damp.cure.again.factor",
            place=label,
            mark=place.mark.id,
            old=old.shown(),
            least=Number(least, "", 2),
            **conditions,
        )
        quantities = (old,)
    steps = (
        NextStep(step=say("damp.cure.next.loggers-again"), by=say("by.surveyor")),
        NextStep(step=say("damp.cure.next.frame-again"), by=say("by.surveyor")),
    )
    return finding(case, place, label, "again", statement, quantities, next_steps=steps, is_dry=True)
