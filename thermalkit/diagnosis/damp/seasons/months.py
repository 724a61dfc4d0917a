"""Month by month: which temperature factor the use of a room asks for in its climate (ISO 13788)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermalkit.diagnosis.damp.seasons.excess import excess_of
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.judging import LimitSet
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.envelope import moisture_excess_pa, required_factor
from thermalkit.physics.moist_air import vapour_pressure_over_water_pa
from thermalkit.physics.ventilation import humidity_class_of_excess
from thermalkit.site.model import RoomKeys

MARGIN = 1.10  # ISO 13788, from memory: a tenth on the excess
UNKNOWN_USE_CLASS = 3
LEAST_DIFFERENCE_K = 1.0  # own choice: warmer months ask nothing of a heated room's walls

# ISO 13788, Annex A, from memory; words as a surveyor writes them. Homes are left out: whether their
# use is usual (class 2) is what a damp case asks, so they count as unknown.
_USES = {
    1: ("storage", "store", "lager", "abstell"),
    2: ("office", "shop", "büro", "laden"),
    4: ("sport", "canteen", "kantine", "gym"),
    5: ("laundry", "pool", "brewery", "wäscherei", "schwimm", "brauerei"),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Months:
    """Smallest temperature factor by month, shape (12,), NaN in a month that is no colder than indoors."""

    humidity_class: int
    basis: Literal["measured", "use", "unknown"]
    required: FloatArray

    @property
    def critical_month(self) -> int:
        """1 to 12: the month that asks for most."""
        return int(np.nanargmax(self.required)) + 1

    @property
    def highest(self) -> float:
        """f_Rsi,max, what the critical month asks for."""
        return float(np.nanmax(self.required))


def months_of(case: Case, room: RoomKeys, limits: LimitSet) -> Months | None:
    """The year of a heated room; None where the climate is not given or nothing is asked of its walls."""
    if case.site.is_cooled(room):
        return None
    humidity_class, basis = _humidity_class(case, room)
    required = required_by_month(case, humidity_class, limits)
    if required is None or not np.nanmax(required, initial=-np.inf) > 0.0:
        return None
    return Months(humidity_class=humidity_class, basis=basis, required=required)


def required_by_month(case: Case, humidity_class: int, limits: LimitSet) -> FloatArray | None:
    """f_Rsi,min of twelve months for a humidity class; None without temperatures and humidities."""
    climate = case.site.keys.climate
    if climate is None or climate.monthly_air_temperature_degc is None:
        return None
    if climate.monthly_relative_humidity_percent is None:
        return None
    outdoor = np.array(climate.monthly_air_temperature_degc)
    damp = np.array(climate.monthly_relative_humidity_percent) / 100.0
    pressure = vapour_pressure_over_water_pa(outdoor, damp)
    pressure = pressure + MARGIN * moisture_excess_pa(humidity_class, outdoor)
    needed = required_factor(limits.indoor_degc, outdoor, pressure, surface_humidity=limits.surface_humidity)
    return np.where(outdoor < limits.indoor_degc - LEAST_DIFFERENCE_K, needed, np.nan)


def _humidity_class(case: Case, room: RoomKeys) -> tuple[int, Literal["measured", "use", "unknown"]]:
    """From the measured excess, at the upper end of its interval; else from the use written down."""
    excess = excess_of(case, room)
    if excess is not None:
        told = humidity_class_of_excess(measured(excess.mean_pa, "Pa").high, excess.mean_outdoor_degc)
        if np.isfinite(told):
            return int(told), "measured"
    use = (room.use or "").casefold()
    for humidity_class, words in _USES.items():
        if any(word in use for word in words):
            return humidity_class, "use"
    return UNKNOWN_USE_CLASS, "unknown"
