"""What looking into a control cabinet needs before anybody goes out."""

from __future__ import annotations

from thermalkit.diagnosis.needs import Need
from thermalkit.diagnosis.panel.advice import STEADY_MINUTES
from thermalkit.diagnosis.panel.evidence import LOW_LOAD
from thermalkit.language import Number, say

CABINET = Need(
    title=say("panel.needs.cabinet"),
    lines=(
        say("panel.needs.qualified"),
        say("panel.needs.permit"),
        say("panel.needs.load", share=Number(100.0 * LOW_LOAD, "%", 0)),
        say("panel.needs.steady", minutes=Number(STEADY_MINUTES, "min", 0)),
        say("panel.needs.seen"),
    ),
    carry=(say("panel.needs.carry-clamp"), say("panel.needs.carry-air"), say("panel.needs.carry-list")),
)
NEEDS = (CABINET,)
