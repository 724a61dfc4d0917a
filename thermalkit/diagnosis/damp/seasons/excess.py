"""Moisture of the room's air above that outdoors, and whether its use explains it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermalkit.diagnosis.damp.seasons.climate import SHORTEST_H, Record, humidity_error, record_of
from thermalkit.diagnosis.damp.seasons.decay import measured_air_change
from thermalkit.diagnosis.damp.seasons.series import indoor_error_k, outdoor_error_k
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.memo import kept
from thermalkit.measured import FloatArray, Measured, measured
from thermalkit.physics.moist_air import vapour_concentration_kg_m3, vapour_pressure_over_water_pa
from thermalkit.physics.ventilation import moisture_source, released_moisture_kg_per_day
from thermalkit.site.model import RoomKeys
from thermalkit.site.sections.moisture import MoistureKeys

WINDOWS_OPEN_DEGC = 15.0  # own choice: from here on windows stand open and the air change is anything
_LEAST_HOME_M3 = 80.0  # own choice: less is part of a home, and what its air carries is a part too
_LARGEST_HOUSEHOLD = 6
_KG_PER_DAY = 24.0 / 1000.0
_NODES = 9
_APART = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Excess:
    """Moisture of a room above that outdoors, over the hours that both logged.

    Means of these hours are of shape (draws,), each draw with the instruments' errors of its own.
    `hourly_pa` (hours,) is the excess as read, NaN where one of the two did not log.
    """

    record: Record
    hourly_pa: FloatArray
    indoor_degc: FloatArray
    indoor_pa: FloatArray
    outdoor_degc: FloatArray
    outdoor_pa: FloatArray

    @property
    def mean_pa(self) -> FloatArray:
        """Vapour pressure indoors above that outdoors, shape (draws,)."""
        return self.indoor_pa - self.outdoor_pa

    @property
    def mean_g_m3(self) -> FloatArray:
        """The same as a concentration at the room's temperature, shape (draws,)."""
        warm = float(np.median(self.indoor_degc))
        indoor, outdoor = (vapour_concentration_kg_m3(p, warm) for p in (self.indoor_pa, self.outdoor_pa))
        return 1000.0 * (indoor - outdoor)

    @property
    def mean_outdoor_degc(self) -> float:
        """Middle of the mean outdoor temperature."""
        return float(np.median(self.outdoor_degc))

    @property
    def hours(self) -> int:
        """How many hours it is the mean of."""
        return int(np.count_nonzero(np.isfinite(self.hourly_pa)))


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
    if record is None or record.outdoor is None:
        return None
    hourly_pa = vapour_pressure_over_water_pa(record.indoor_degc, record.indoor_humidity)
    hourly_pa = hourly_pa - vapour_pressure_over_water_pa(record.outdoor_degc, record.outdoor_humidity)
    known = np.isfinite(hourly_pa)
    if np.count_nonzero(known) < SHORTEST_H:
        return None
    indoor_k, outdoor_k = indoor_error_k(case, record), outdoor_error_k(case, record)
    indoor, outdoor = record.indoor_degc[known], record.outdoor_degc[known]
    return Excess(
        record=record,
        hourly_pa=hourly_pa,
        indoor_degc=np.mean(indoor) + indoor_k,
        indoor_pa=mean_vapour_pa(
            indoor, record.indoor_humidity[known], indoor_k, humidity_error(case, record.room)
        ),
        outdoor_degc=np.mean(outdoor) + outdoor_k,
        outdoor_pa=mean_vapour_pa(
            outdoor, record.outdoor_humidity[known], outdoor_k, humidity_error(case, record.outdoor)
        ),
    )


def mean_vapour_pa(
    temperature_degc: FloatArray, humidity: FloatArray, error_k: FloatArray, humidity_error: FloatArray
) -> FloatArray:
    """Mean vapour pressure of many hours for each draw of a logger's errors.

    The mean changes smoothly with the two errors, so it is worked out for a few of them and read off
    between.

    Parameters
    ----------
    temperature_degc, humidity : ndarray, shape (hours,)
        As read; the humidity a fraction over water.
    error_k, humidity_error : ndarray, shape (draws,)
        What each draw adds to every hour; beyond 1 to 100 % humidity the ends count.

    Returns
    -------
    ndarray, shape (draws,)
        In Pa.
    """
    from scipy.interpolate import RegularGridInterpolator

    nodes = tuple(np.linspace(e.min() - _APART, e.max() + _APART, _NODES) for e in (error_k, humidity_error))
    table = [
        [
            np.mean(vapour_pressure_over_water_pa(temperature_degc + k, np.clip(humidity + phi, 0.01, 1.0)))
            for phi in nodes[1]
        ]
        for k in nodes[0]
    ]
    between = RegularGridInterpolator(nodes, np.array(table))
    return np.asarray(between(np.stack([error_k, humidity_error], axis=-1)), dtype=np.float64)


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
    indoor_degc = np.full(changes.size, np.median(excess.indoor_degc))
    carried = released_moisture_kg_per_day(excess.mean_pa, changes, volume, indoor_degc)
    low, high = explained_kg_per_day(lived_in.occupants)
    return Balance(
        carried_off=measured(carried, "kg/d"),
        explained_low=low,
        explained_high=high,
        volume_m3=volume,
        air_change=measured(changes, "1/h"),
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
