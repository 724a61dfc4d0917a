"""What each cure takes or saves in a heating season: indicative, from monthly means."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.damp.cures.remedies import wall_resistance_m2k_w
from thermalkit.diagnosis.damp.cures.remedy import Remedies, Remedy
from thermalkit.diagnosis.damp.cures.situations import Situation
from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.language import Interval, Number, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.degree_hours import heating_degree_hours
from thermalkit.site.sections.costs import CostKeys

if TYPE_CHECKING:
    from thermalkit.site.model import RoomKeys

AIR_HEAT_WH_M3K = 0.34  # heat capacity of air, handbook value, from memory
FREE_FILM_M2K_W = 0.13  # ISO 6946, horizontal heat flow


def running_costs(
    case: Case,
    place: Place,
    label: str,
    situation: Situation,
    choice: Remedies,
    air_change_per_h: FloatArray | float | None,
) -> Iterator[Finding]:
    """Heat for more ventilation or warmer air, and what insulation saves; needs monthly climate."""
    climate = case.site.keys.climate
    if climate is None or climate.monthly_air_temperature_degc is None:
        return
    kelvin_hours, hours = heating_degree_hours(situation.indoor_degc, climate.monthly_air_temperature_degc)
    room = case.site.frames[place.mark.frame].room
    for item in choice:
        if item.reach not in ("enough", "perhaps"):
            continue
        energy = _energy_kwh(case, room, item, situation, kelvin_hours, hours, air_change_per_h)
        if energy is not None:
            shown = quantity("season-heat", measured(energy, "kWh"))
            statement = say(
                f"damp.cure.cost.{item.kind}",
                place=label,
                heat=shown.shown(),
                money=_money(case, energy),
                indoor=Number(float(np.median(situation.indoor_degc)), "degC", 1),
            )
            yield finding(
                case,
                place,
                label,
                f"cost-{item.kind}",
                statement,
                (shown,),
                sources=("damp.cure.source.degree-hours",),
                is_dry=True,
            )


def _energy_kwh(
    case: Case,
    room: RoomKeys | None,
    item: Remedy,
    situation: Situation,
    kelvin_hours: FloatArray,
    hours: float,
    air_change_per_h: FloatArray | float | None,
) -> FloatArray | None:
    """Heat of a season in kWh, shape (draws,); per m² of insulated wall for insulation."""
    need = np.minimum(item.need, item.most)
    if item.kind == "insulation":
        wall = FREE_FILM_M2K_W + wall_resistance_m2k_w(situation.factor, situation.film_m2k_w)
        return (1.0 / wall - 1.0 / (wall + need)) * kelvin_hours / 1000.0
    volume, area = _volume_m3(case, room), _floor_area_m2(case, room)
    if volume is None or area is None:
        return None
    if item.kind == "ventilation":
        rate = _drawn(case, "air-change") if air_change_per_h is None else air_change_per_h
        return AIR_HEAT_WH_M3K * volume * rate * (need - 1.0) * kelvin_hours / 1000.0
    return _drawn(case, "heat-loss-per-floor-area") * area * need * hours / 1000.0


def _drawn(case: Case, name: str) -> FloatArray:
    row = case.assumed(name)
    return case.draws.between(f"{name} house", row.low, row.high)


def _volume_m3(case: Case, room: RoomKeys | None) -> FloatArray | float | None:
    if room is None or (room.volume_m3 is None and room.floor_area_m2 is None):
        return None
    if room.volume_m3 is not None:
        return room.volume_m3
    return None if room.floor_area_m2 is None else room.floor_area_m2 * _drawn(case, "room-height")


def _floor_area_m2(case: Case, room: RoomKeys | None) -> FloatArray | float | None:
    if room is None or (room.volume_m3 is None and room.floor_area_m2 is None):
        return None
    if room.floor_area_m2 is not None:
        return room.floor_area_m2
    return None if room.volume_m3 is None else room.volume_m3 / _drawn(case, "room-height")


def _money(case: Case, energy_kwh: FloatArray) -> Sentence:
    """The same in money where the price of heat is known."""
    costs = case.site.section(CostKeys)
    if costs is None or costs.heat_price_per_kwh is None:
        return say("damp.cure.cost.no-price")
    m = measured(energy_kwh * costs.heat_price_per_kwh, costs.currency or "")
    shown = Interval(m.value, m.low, m.high, costs.currency or "", 0)
    return say(
        "damp.cure.cost.money", money=shown, price=Number(costs.heat_price_per_kwh, costs.currency or "", 2)
    )
