"""What a damp question needs: a cold outside for a cold wall, dry air for a wet one."""

from __future__ import annotations

from thermalkit.diagnosis.conditions import (
    DRY_AFTER_H,
    ENOUGH_DIFFERENCE_K,
    STRONG_WIND_M_S,
    SUN_GONE_H,
    UNCOVERED_LONG_ENOUGH_H,
)
from thermalkit.diagnosis.needs import Need, WeatherNeed
from thermalkit.language import Number, say

STEADY_K = 10.0  # EN 13187 / ISO 6781:1983 annex, from memory
WET_BULB_K = 3.0  # common practice: below it evaporation hardly cools a surface

ENVELOPE = Need(
    title=say("damp.needs.envelope"),
    lines=(
        say("damp.needs.difference", difference=Number(ENOUGH_DIFFERENCE_K, "K", 0)),
        say("damp.needs.steady", steady=Number(STEADY_K, "K", 0)),
        say("damp.needs.sun", hours=Number(SUN_GONE_H, "h", 0)),
        say(
            "damp.needs.weather",
            wind=Number(STRONG_WIND_M_S, "m/s", 0),
            hours=Number(DRY_AFTER_H, "h", 0),
        ),
        say("damp.needs.uncovered", hours=Number(UNCOVERED_LONG_ENOUGH_H, "h", 0)),
    ),
    carry=(
        say("damp.needs.carry-hygrometer"),
        say("damp.needs.carry-contact"),
        say("damp.needs.carry-loggers"),
    ),
    weather=WeatherNeed(
        difference_k=ENOUGH_DIFFERENCE_K,
        steady_k=STEADY_K,
        wind_m_s=STRONG_WIND_M_S,
        dry_h=DRY_AFTER_H,
        no_sun_h=SUN_GONE_H,
    ),
)
LEAK = Need(
    title=say("damp.needs.leak"),
    lines=(
        say("damp.needs.wet-bulb", difference=Number(WET_BULB_K, "K", 0)),
        say("damp.needs.wet-bulb-how"),
    ),
    carry=(say("damp.needs.carry-meter"),),
)
NEEDS = (ENVELOPE, LEAK)
