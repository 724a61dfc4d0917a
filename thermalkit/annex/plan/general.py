"""Needs of questions for which no investigation states its own yet."""

from __future__ import annotations

from thermalkit.diagnosis.needs import Need
from thermalkit.language import Number, say

STEADY_FLOW_MIN = 45  # common practice
ENOUGH_LOAD_PERCENT = 40.0  # practice texts: 40 to 50 % of the rating, better the peak

GENERAL: dict[str, tuple[Need, ...]] = {
    "heating": (
        Need(
            title=say("plan.needs.radiators"),
            lines=(say("plan.needs.flow", minutes=STEADY_FLOW_MIN), say("plan.needs.valves")),
            carry=(say("plan.carry.pipe-thermometer"),),
        ),
        Need(title=say("plan.needs.floor"), lines=(say("plan.needs.warm-up"), say("plan.needs.rugs"))),
    ),
    "panel": (
        Need(
            title=say("plan.needs.cabinet"),
            lines=(
                say("plan.needs.load", load=Number(ENOUGH_LOAD_PERCENT, "%", 0)),
                say("plan.needs.licensed"),
            ),
            carry=(say("plan.carry.clamp-meter"),),
        ),
    ),
}
