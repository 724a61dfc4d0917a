"""What a survey of the envelope needs: a difference to outdoors, and time for the walls to settle."""

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
PLATE_DAYS = 3.0  # ISO 9869-1, from memory: the shortest measurement

PICTURES = Need(
    title=say("envelope.needs.pictures"),
    lines=(
        say("envelope.needs.difference", difference=Number(ENOUGH_DIFFERENCE_K, "K", 0)),
        say("envelope.needs.steady", steady=Number(STEADY_K, "K", 0)),
        say("envelope.needs.sun", hours=Number(SUN_GONE_H, "h", 0)),
        say("envelope.needs.uncovered", hours=Number(UNCOVERED_LONG_ENOUGH_H, "h", 0)),
        say("envelope.needs.size"),
    ),
    carry=(say("envelope.needs.carry-contact"), say("envelope.needs.carry-tape")),
    weather=WeatherNeed(
        difference_k=ENOUGH_DIFFERENCE_K,
        steady_k=STEADY_K,
        wind_m_s=STRONG_WIND_M_S,
        dry_h=DRY_AFTER_H,
        no_sun_h=SUN_GONE_H,
    ),
)
LEAKS = Need(
    title=say("envelope.needs.leaks"),
    lines=(say("envelope.needs.leaks-how"), say("envelope.needs.leaks-flue")),
    carry=(say("envelope.needs.carry-fan"),),
)
PLATE = Need(
    title=say("envelope.needs.plate"),
    lines=(
        say("envelope.needs.plate-how", days=Number(PLATE_DAYS, "d", 0)),
        say("envelope.needs.plate-where"),
    ),
    carry=(say("envelope.needs.carry-plate"),),
)
NEEDS = (PICTURES, LEAKS, PLATE)
