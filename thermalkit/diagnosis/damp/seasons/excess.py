"""Moisture of the room's air above that outdoors, and whether its use explains it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermalkit.diagnosis.damp.seasons.climate import SHORTEST_H, Record, record_of
from thermalkit.diagnosis.damp.seasons.decay import measured_air_change
from thermalkit.diagnosis.damp.seasons.memo import kept
from thermalkit.diagnosis.damp.seasons.series import (
    DRAWS,
    evenly,
    indoor_vapour_pa,
    interval,
    outdoor_vapour_pa,
)
from thermalkit.diagnosis.decisions import Case
from thermalkit.measured import FloatArray, Measured
from thermalkit.physics.moist_air import vapour_concentration_kg_m3
from thermalkit.physics.ventilation import moisture_source, released_moisture_kg_per_day
from thermalkit.site.model import RoomKeys
from thermalkit.site.sections.moisture import MoistureKeys

WINDOWS_OPEN_DEGC = 15.0  # own choice: from here on windows stand open and the air change is anything
_LEAST_HOME_M3 = 80.0  # own choice: less is part of a home, and what its air carries is a part too
_LARGEST_HOUSEHOLD = 6
_KG_PER_DAY = 24.0 / 1000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Excess:
    """Moisture excess over a record, hours that both logged; `hourly_pa` has shape (hours,), NaN elsewhere.

    `mean_draws_pa` holds the mean of each draw of the instruments' errors.
    """

    record: Record
    hourly_pa: FloatArray
    mean_draws_pa: FloatArray
    mean_pa: Measured
    mean_g_m3: Measured
    mean_indoor_degc: float
    mean_outdoor_degc: float
    hours: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Moisture that the air carries off, and what the use of the home explains, in kg a day."""

    carried_off: Measured
    explained_low: float
    explained_high: float
    volume_m3: float
    air_change: Measured
    is_air_change_measured: bool

    @property
    def outcome(self) -> Literal["far-above", "as-expected"] | None:
        """Whether use explains it; None where the interval or a part of a home leaves that open."""
        if self.carried_off.low > self.explained_high:
            return "far-above"
        is_home = self.volume_m3 >= _LEAST_HOME_M3
        return "as-expected" if is_home and self.carried_off.high <= self.explained_high else None


def excess_of(case: Case, room: RoomKeys) -> Excess | None:
    """The excess of a room; None without fourteen days of temperature and humidity on both sides."""
    return kept(case, ("excess", room), lambda: _excess_of(case, room))


def _excess_of(case: Case, room: RoomKeys) -> Excess | None:
    record = record_of(case, room)
    if record is None or not record.is_long_enough:
        return None
    every, mean = np.arange(case.draws.size), record.mean_climate()
    about = outdoor_vapour_pa(case, mean, every)
    if about is None:
        return None
    chosen = evenly((indoor_vapour_pa(case, mean, every) - about)[0], DRAWS)
    outdoor = outdoor_vapour_pa(case, record, chosen)
    if outdoor is None:
        return None
    indoor = indoor_vapour_pa(case, record, chosen)
    difference = indoor - outdoor
    known = np.isfinite(difference[:, 0])
    if np.count_nonzero(known) < SHORTEST_H:
        return None
    draws = difference[known].mean(axis=0)
    warm = record.indoor_degc[known]
    grams = 1000.0 * (
        vapour_concentration_kg_m3(indoor[known].mean(axis=0), float(warm.mean()))
        - vapour_concentration_kg_m3(outdoor[known].mean(axis=0), float(warm.mean()))
    )
    return Excess(
        record=record,
        hourly_pa=np.median(difference, axis=1),
        mean_draws_pa=np.sort(draws),
        mean_pa=interval(draws, "Pa"),
        mean_g_m3=interval(grams, "g/m³"),
        mean_indoor_degc=float(warm.mean()),
        mean_outdoor_degc=float(record.outdoor_degc[known].mean()),
        hours=int(np.count_nonzero(known)),
    )


def balance_of(case: Case, excess: Excess) -> Balance | None:
    """What leaves with the air of the home against what its use explains.

    All rooms written down are taken to share the excess of this one. None in summer, where
    occupants or volumes are not written down, or where a source without a usual size (heater without
    flue, humidifier) is in use.
    """
    lived_in = case.site.section(MoistureKeys)
    volumes = [room.volume_m3 for room in case.site.keys.rooms]
    if lived_in is None or lived_in.occupants is None or None in volumes or not volumes:
        return None
    if excess.mean_outdoor_degc >= WINDOWS_OPEN_DEGC:
        return None
    if {"sometimes", "often"} & {lived_in.unvented_heater, lived_in.humidifier}:
        return None
    volume = float(sum(v for v in volumes if v is not None))
    changes, is_measured = _air_changes(case, excess)
    size = changes.size
    mean = np.interp(
        case.draws.quantiles(f"moisture-excess {excess.record.room.id}"),
        (np.arange(excess.mean_draws_pa.size) + 0.5) / excess.mean_draws_pa.size,
        excess.mean_draws_pa,
    )
    carried = released_moisture_kg_per_day(mean, changes, volume, np.full(size, excess.mean_indoor_degc))
    low, high = explained_kg_per_day(lived_in.occupants)
    return Balance(
        carried_off=interval(carried, "kg/d"),
        explained_low=low,
        explained_high=high,
        volume_m3=volume,
        air_change=interval(changes, "1/h"),
        is_air_change_measured=is_measured,
    )


def explained_kg_per_day(occupants: int) -> tuple[float, float]:
    """Moisture that a household gives off in a day, from a dry to a wet way of living, in kg.

    Beyond six people each counts as a sixth of six.

    Examples
    --------
    >>> [round(value, 1) for value in explained_kg_per_day(2)]
    [4.0, 11.0]
    """
    if occupants == 0:
        return 0.0, 0.0
    household = moisture_source(f"household of {min(occupants, _LARGEST_HOUSEHOLD)}")
    more = max(1.0, occupants / _LARGEST_HOUSEHOLD)
    low, high = household.low_g_per_hour, household.high_g_per_hour
    return low * more * _KG_PER_DAY, high * more * _KG_PER_DAY


def _air_changes(case: Case, excess: Excess) -> tuple[FloatArray, bool]:
    """Air changes an hour, shape (draws,), and whether carbon dioxide told them."""
    found = measured_air_change(case, excess.record.room.room)
    if found is not None:
        low, high = found
        return case.draws.between(f"air-change {excess.record.room.id}", low, high), True
    row = case.assumed("air-change")
    return case.draws.between(f"air-change {excess.record.room.id}", row.low, row.high), False
