"""What a heating check needs: warm water for long enough, and somewhere to read it."""

from __future__ import annotations

from thermalkit.diagnosis.heating.radiators.reading import SETTLED_MINUTES
from thermalkit.diagnosis.needs import Need
from thermalkit.language import Number, say

RADIATORS = Need(
    title=say("heating.needs.radiators"),
    lines=(
        say("heating.needs.steady", minutes=Number(SETTLED_MINUTES, "min", 0)),
        say("heating.needs.heads"),
        say("heating.needs.uncovered"),
        say("heating.needs.finish"),
        say("heating.needs.winter"),
    ),
    carry=(
        say("heating.needs.carry-clamp"),
        say("heating.needs.carry-tape"),
        say("heating.needs.carry-plate"),
    ),
)
FLOORS = Need(
    title=say("heating.needs.floors"),
    lines=(
        say("heating.needs.cool-first"),
        say("heating.needs.points"),
        say("heating.needs.clear-floor"),
        say("heating.needs.manifold"),
    ),
    carry=(say("heating.needs.carry-tripod"),),
)
NEEDS = (RADIATORS, FLOORS)
