"""Moisture balance of a room with the air that passes through it.

One convention throughout: released vapour raises the vapour *pressure* of the outdoor air by
Δp = Δv R_v T_i. Counting concentrations at equal volume flow instead would raise the humidity by 0.012 to
0.018 in usual winters.

Source
------
ISO 13788:2012, clause 4 and Annex A (from memory), steady state.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.envelope import moisture_excess_pa, surface_temperature_from_factor_degc
from thermalkit.physics.moist_air import saturation_pressure_pa
from thermalkit.physics.tables import row_named, table_rows

_GAS_CONSTANT_VAPOUR = 461.5  # J/(kg K), the rounding of ISO 13788
_FEWEST_READINGS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class MoistureSource:
    """What something in a room gives off while it does, as a plausible range in g/h.

    Sources known by the day are spread over its 24 hours.
    """

    name: str
    low_g_per_hour: float
    high_g_per_hour: float
    per: str
    source: str
    confidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AirChange:
    """Air changes an hour with their standard uncertainty."""

    per_hour: float
    standard_uncertainty: float


@cache
def moisture_sources() -> dict[str, MoistureSource]:
    """Sources of the shipped table, by name."""
    return {
        row["name"]: MoistureSource(
            name=row["name"],
            low_g_per_hour=float(row["g_per_hour_low"]),
            high_g_per_hour=float(row["g_per_hour_high"]),
            per=row["per"],
            source=row["source"],
            confidence=row["confidence"],
        )
        for row in table_rows("moisture_sources.csv")
    }


def moisture_source(name: str) -> MoistureSource:
    """The source of exactly that name.

    Raises
    ------
    UnknownName
        There is no such source; the message names the nearest ones.

    Examples
    --------
    >>> moisture_source("potted plant").high_g_per_hour
    15.0
    """
    return row_named("moisture source", name, moisture_sources())


def moisture_excess_from_balance_pa(
    released_kg_per_day: ArrayLike,
    air_changes_per_hour: ArrayLike,
    volume_m3: ArrayLike,
    indoor_degc: ArrayLike,
) -> FloatArray:
    """Vapour pressure by which released moisture lifts the room above outdoors.

    Parameters
    ----------
    released_kg_per_day : array_like, any shape
        G, 0 to 1000 kg a day.
    air_changes_per_hour : array_like, broadcastable
        n with outdoor air, 0.001 to 100 an hour.
    volume_m3 : array_like, broadcastable
        Air in the room, 1 to 1 000 000 m³.
    indoor_degc : array_like, broadcastable
        Room air, -20 to 60 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        Δp in Pa.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, Δv = G/(nV) and Δp = Δv R_v T_i.

    Examples
    --------
    >>> moisture_excess_from_balance_pa(10.0, 0.5, 250.0, 20.0).round(0)
    np.float64(451.0)
    """
    n = require_within("air_changes_per_hour", air_changes_per_hour, 0.001, 100.0)
    return _released_pa_per_hour(released_kg_per_day, volume_m3, indoor_degc) / n


def _released_pa_per_hour(
    released_kg_per_day: ArrayLike, volume_m3: ArrayLike, indoor_degc: ArrayLike
) -> FloatArray:
    released = require_within("released_kg_per_day", released_kg_per_day, 0.0, 1000.0)
    volume = require_within("volume_m3", volume_m3, 1.0, 1e6)
    indoor = require_within("indoor_degc", indoor_degc, -20.0, 60.0)
    return released / 24.0 / volume * _GAS_CONSTANT_VAPOUR * (indoor + 273.15)


def released_moisture_kg_per_day(
    moisture_excess_pa: ArrayLike,
    air_changes_per_hour: ArrayLike,
    volume_m3: ArrayLike,
    indoor_degc: ArrayLike,
) -> FloatArray:
    """Moisture that a measured excess stands for; negative where the room takes moisture up.

    Parameters
    ----------
    moisture_excess_pa : array_like, any shape
        Mean vapour pressure indoors less that outdoors, -5000 to 5000 Pa.
    air_changes_per_hour, volume_m3, indoor_degc : array_like, broadcastable
        See `moisture_excess_from_balance_pa`.

    Returns
    -------
    ndarray of float64, broadcast shape
        G in kg a day.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, the balance solved for its source.

    Examples
    --------
    >>> released_moisture_kg_per_day(451.0, 0.5, 250.0, 20.0).round(1)
    np.float64(10.0)
    """
    excess = require_within("moisture_excess_pa", moisture_excess_pa, -5000.0, 5000.0)
    return excess / moisture_excess_from_balance_pa(1.0, air_changes_per_hour, volume_m3, indoor_degc)


def humidity_class_of_excess(measured_excess_pa: ArrayLike, outdoor_degc: ArrayLike) -> FloatArray:
    """Humidity class whose band holds a measured moisture excess.

    Parameters
    ----------
    measured_excess_pa : array_like, any shape
        Mean vapour pressure indoors less that outdoors, -5000 to 5000 Pa.
    outdoor_degc : array_like, broadcastable
        Mean over the same time, -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        1 to 5; NaN from 15 °C outdoors on, where the bands lie too close to tell, and where an input is.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex A (from memory); the end at 15 °C is our choice.

    Examples
    --------
    >>> humidity_class_of_excess([200.0, 700.0, 2000.0], 0.0)
    array([1., 3., 5.])
    """
    excess = require_within("measured_excess_pa", measured_excess_pa, -5000.0, 5000.0)
    ends = [moisture_excess_pa(humidity_class, outdoor_degc) for humidity_class in (1, 2, 3, 4)]
    above = 1.0 + sum((excess > end).astype(np.float64) for end in ends)
    told = np.isfinite(excess) & (np.asarray(outdoor_degc, dtype=np.float64) < 15.0)
    return np.where(told, above, np.nan)[()]


def required_air_change_per_hour(
    released_kg_per_day: ArrayLike,
    volume_m3: ArrayLike,
    factor: ArrayLike,
    indoor_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    outdoor_vapour_pressure_pa: ArrayLike,
    *,
    surface_humidity: ArrayLike = 0.80,
) -> FloatArray:
    """Air change that keeps the humidity at a surface at its limit.

    Parameters
    ----------
    released_kg_per_day, volume_m3 : array_like, broadcastable
        See `moisture_excess_from_balance_pa`.
    factor : array_like, broadcastable
        f_Rsi of the coldest place, -5 to 5.
    indoor_degc, outdoor_degc : array_like, broadcastable
        Room air, -20 to 60 °C, and outdoor air, -60 to 100 °C.
    outdoor_vapour_pressure_pa : array_like, broadcastable
        1 to 10 000 Pa.
    surface_humidity : array_like, broadcastable
        Allowed humidity at the surface, 0.1 to 1: 0.8 against mould, 1 against condensation.

    Returns
    -------
    ndarray of float64, broadcast shape
        n an hour; infinite where the outdoor air itself is too moist for that surface.

    Raises
    ------
    OutOfDomain
        An input, or the surface temperature that follows, lies outside its range.

    Source
    ------
    ISO 13788:2012, clauses 4 and 5, solved for the air change.

    Examples
    --------
    >>> required_air_change_per_hour(10.0, 250.0, 0.70, 20.0, -5.0, 320.9).round(3)
    np.float64(0.269)
    """
    limit = require_within("surface_humidity", surface_humidity, 0.1, 1.0)
    outdoor = require_within("outdoor_vapour_pressure_pa", outdoor_vapour_pressure_pa, 1.0, 10_000.0)
    surface = surface_temperature_from_factor_degc(factor, indoor_degc, outdoor_degc)
    room_left = limit * saturation_pressure_pa(surface) - outdoor
    released = _released_pa_per_hour(released_kg_per_day, volume_m3, indoor_degc)
    return np.where(room_left <= 0.0, np.inf, released / np.where(room_left == 0.0, 1.0, room_left))[()]


def air_change_from_decay(times_h: ArrayLike, concentration_ppm: ArrayLike, outdoor_ppm: float) -> AirChange:
    """Air change from the way a tracer gas thins out, by a straight line through the logarithms.

    Parameters
    ----------
    times_h : array_like, shape (readings,)
        Hours, at least three different ones; the source is off and the air well mixed.
    concentration_ppm : array_like, shape (readings,)
        Of the tracer, often carbon dioxide, 0 to 100 000 ppm; readings that are not above outdoors and
        those that are NaN are left out.
    outdoor_ppm : float
        Of the air that comes in, 0 to 2000 ppm.

    Returns
    -------
    AirChange
        NaN with fewer than three readings or at one time only. The uncertainty counts the scatter about
        the line alone, not an error of `outdoor_ppm` or poor mixing.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12569, concentration decay method (from memory); regression with the residual scatter.

    Examples
    --------
    >>> air_change_from_decay([0.0, 1.0, 2.0], [1620.0, 1010.0, 690.0], 400.0).per_hour.__round__(2)
    0.72
    """
    hours = require_within("times_h", times_h, -1e6, 1e6)
    gas = require_within("concentration_ppm", concentration_ppm, 0.0, 100_000.0)
    outdoor = float(require_within("outdoor_ppm", outdoor_ppm, 0.0, 2000.0))
    usable = np.isfinite(hours) & (gas > outdoor)
    x, y = hours[usable], np.log(gas[usable] - outdoor)
    if np.unique(x).size < _FEWEST_READINGS:
        return AirChange(per_hour=float("nan"), standard_uncertainty=float("nan"))
    away = x - x.mean()
    spread = float(away @ away)
    slope = float(away @ y) / spread
    scatter = y - y.mean() - slope * away
    variance = float(scatter @ scatter) / (x.size - 2)
    return AirChange(per_hour=-slope, standard_uncertainty=float(np.sqrt(variance / spread)))
