"""Growth and decline of mould on a surface, hour by hour.

The index runs from 0 (none) over 1 (first microscopic growth) and 3 (visible, below a tenth of the surface)
to 6 (all of it covered). It describes untreated, clean materials in a laboratory; soiling, paint and
paste shift it. Humidity is that of the air at the surface, as a fraction.

Source
------
Hukka and Viitanen 1999 (growth on pine and spruce); Ojanen, Viitanen et al. 2010 (classes of sensitivity).
Read in two independent published codes, not in the papers.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.envelope import surface_temperature_from_factor_degc
from thermalkit.physics.moist_air import surface_humidity
from thermalkit.physics.tables import row_named, table_rows

HOTTEST_GROWTH_DEGC = 50.0

_FIRST_LEVELS = 256
_REFINEMENTS = 3
_INDEX_STEP = 0.007  # neighbouring levels come this close, but where the model itself jumps
_HOURS_PER_WEEK = 168
_COLDEST_GROWTH_DEGC = 0.01  # above 0 °C; the logarithm of the formulas needs some distance

# Lost in an hour, by hours since drying began: 0.032 a day for 6 h, nothing until 24 h, then 0.016 a day.
_LOSS = np.repeat([0.0, 0.032 / 24.0, 0.0, 0.016 / 24.0], [1, 6, 18, 1])


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldClass:
    """How readily a material grows mould.

    `growth_above_one` is None in the form of 1999, where it follows from the times to growth.
    """

    name: str
    growth_below_one: float
    growth_above_one: float | None
    a: float
    b: float
    c: float
    lowest_humidity: float
    spruce: bool = False
    kiln_dried: bool = False
    examples: str = ""
    source: str = ""
    confidence: str = ""


@cache
def mould_classes() -> dict[str, MouldClass]:
    """Classes of the shipped table, by name."""
    return {row["name"]: _mould_class(row) for row in table_rows("mould_classes.csv")}


def _mould_class(row: dict[str, str]) -> MouldClass:
    above = row["growth_above_one"]
    return MouldClass(
        name=row["name"],
        growth_below_one=float(row["growth_below_one"]),
        growth_above_one=float(above) if above else None,
        a=float(row["a"]),
        b=float(row["b"]),
        c=float(row["c"]),
        lowest_humidity=float(row["lowest_humidity"]),
        spruce=row["spruce"] == "1",
        kiln_dried=row["kiln_dried"] == "1",
        examples=row["examples"],
        source=row["source"],
        confidence=row["confidence"],
    )


def mould_class(name: str) -> MouldClass:
    """The class of exactly that name.

    Raises
    ------
    UnknownName
        There is no such class; the message names the nearest ones.

    Examples
    --------
    >>> mould_class("sensitive").examples
    'spruce, glued wooden boards, polyurethane with paper facing'
    """
    return row_named("mould class", name, mould_classes())


def critical_humidity(temperature_degc: ArrayLike, *, lowest_humidity: ArrayLike = 0.80) -> FloatArray:
    """Humidity from which mould grows.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        Of the surface, 0 to 50 °C.
    lowest_humidity : array_like, broadcastable
        Below this nothing grows at any temperature, 0.7 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        Fraction.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Notes
    -----
    The polynomial dips 0.09 % below 0.80 near 17 °C; the lowest humidity wins there too.

    Source
    ------
    Hukka and Viitanen 1999.

    Examples
    --------
    >>> critical_humidity([5.0, 10.0, 25.0]).round(4)
    array([0.8802, 0.8203, 0.8   ])
    """
    theta = require_within("temperature_degc", temperature_degc, 0.0, HOTTEST_GROWTH_DEGC)
    lowest = require_within("lowest_humidity", lowest_humidity, 0.7, 1.0)
    return _critical_humidity(theta, lowest)


def _critical_humidity(theta: FloatArray, lowest: ArrayLike) -> FloatArray:
    cool = np.minimum(theta, 20.0)
    polynomial = ((-0.00267 * cool + 0.160) * cool - 3.13) * cool + 100.0
    return np.maximum(np.where(theta > 20.0, 0.0, polynomial / 100.0), lowest)


def weeks_to_microscopic_growth(
    temperature_degc: ArrayLike,
    relative_humidity: ArrayLike,
    *,
    spruce: bool = False,
    kiln_dried: bool = False,
) -> FloatArray:
    """Time in a constant climate until growth is seen under a microscope (index 1) on sapwood.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        Of the surface, 0.01 to 50 °C.
    relative_humidity : array_like, broadcastable
        At the surface, 0.5 to 1. Below the critical humidity nothing grows, whatever the formula gives.
    spruce, kiln_dried : bool
        Else pine, and sawn.

    Returns
    -------
    ndarray of float64, broadcast shape
        t_m in weeks.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hukka and Viitanen 1999.

    Examples
    --------
    >>> weeks_to_microscopic_growth(20.0, 0.90).round(2)
    np.float64(4.2)
    """
    theta, phi = _growing_climate(temperature_degc, relative_humidity)
    return _weeks_to_microscopic_growth(theta, phi, spruce, kiln_dried)


def weeks_to_visible_growth(
    temperature_degc: ArrayLike, relative_humidity: ArrayLike, *, spruce: bool = False
) -> FloatArray:
    """Time in a constant climate until growth is seen with the naked eye (index 3) on sapwood.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        Of the surface, 0.01 to 50 °C.
    relative_humidity : array_like, broadcastable
        At the surface, 0.5 to 1.
    spruce : bool
        Else pine; how it was dried makes no difference here.

    Returns
    -------
    ndarray of float64, broadcast shape
        t_v in weeks.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hukka and Viitanen 1999.

    Examples
    --------
    >>> weeks_to_visible_growth(20.0, 0.90).round(2)
    np.float64(7.73)
    """
    theta, phi = _growing_climate(temperature_degc, relative_humidity)
    return _weeks_to_visible_growth(theta, phi, spruce)


def _growing_climate(
    temperature_degc: ArrayLike, relative_humidity: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    theta = require_within("temperature_degc", temperature_degc, _COLDEST_GROWTH_DEGC, HOTTEST_GROWTH_DEGC)
    return theta, require_within("relative_humidity", relative_humidity, 0.5, 1.0)


def _weeks_to_microscopic_growth(
    theta: FloatArray, phi: FloatArray, spruce: bool, kiln_dried: bool
) -> FloatArray:
    wood = 0.14 * spruce - 0.33 * kiln_dried
    return np.exp(66.02 + wood - 0.68 * np.log(theta) - 13.9 * np.log(100.0 * phi))


def _weeks_to_visible_growth(theta: FloatArray, phi: FloatArray, spruce: bool) -> FloatArray:
    return np.exp(61.50 + 0.06 * spruce - 0.74 * np.log(theta) - 12.72 * np.log(100.0 * phi))


def greatest_index(
    temperature_degc: ArrayLike, relative_humidity: ArrayLike, klass: MouldClass
) -> FloatArray:
    """Index that a constant climate leads to in the end.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        Of the surface, -60 to 100 °C; nothing grows outside 0 to 50 °C.
    relative_humidity : array_like, broadcastable
        At the surface, 0 to 10; counts as 1 where it condenses.
    klass : MouldClass

    Returns
    -------
    ndarray of float64, broadcast shape
        M_max, 0 where nothing grows.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hukka and Viitanen 1999; Ojanen, Viitanen et al. 2010.

    Examples
    --------
    >>> greatest_index(20.0, [0.70, 0.90, 1.20], mould_class("very sensitive")).round(2)
    array([0.  , 3.99, 6.  ])
    """
    theta, phi, idle = _surface_climate(temperature_degc, relative_humidity, klass)
    return np.where(idle, 0.0, _greatest_index(theta, phi, klass))[()]


def growth_per_day(
    index: ArrayLike, temperature_degc: ArrayLike, relative_humidity: ArrayLike, klass: MouldClass
) -> FloatArray:
    """How fast the index grows; decline is not in it.

    Parameters
    ----------
    index : array_like, any shape
        Present index M, 0 to 6.
    temperature_degc : array_like, broadcastable
        Of the surface, -60 to 100 °C; nothing grows outside 0 to 50 °C.
    relative_humidity : array_like, broadcastable
        At the surface, 0 to 10; counts as 1 where it condenses.
    klass : MouldClass

    Returns
    -------
    ndarray of float64, broadcast shape
        dM/dt a day, 0 where nothing grows or the greatest index is reached.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hukka and Viitanen 1999 (k_1 from memory); Ojanen, Viitanen et al. 2010.

    Examples
    --------
    >>> growth_per_day([0.0, 2.0], 20.0, 0.90, mould_class("very sensitive")).round(4)
    array([0.034 , 0.0673])
    """
    m = require_within("index", index, 0.0, 6.0)
    theta, phi, idle = _surface_climate(temperature_degc, relative_humidity, klass)
    below, above = _daily_rates(theta, phi, klass)
    slowing = _slowing(m, _greatest_index(theta, phi, klass))
    return np.where(idle, 0.0, np.where(m < 1.0, below, above) * slowing)[()]


def _surface_climate(
    temperature_degc: ArrayLike, relative_humidity: ArrayLike, klass: MouldClass
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Temperature and humidity within the formulas, and where nothing grows."""
    given = require_within("temperature_degc", temperature_degc, -60.0, 100.0)
    phi = np.minimum(require_within("relative_humidity", relative_humidity, 0.0, 10.0), 1.0)
    theta = np.clip(given, _COLDEST_GROWTH_DEGC, HOTTEST_GROWTH_DEGC)
    idle = (
        (given <= 0.0)
        | (given > HOTTEST_GROWTH_DEGC)
        | (phi < _critical_humidity(theta, klass.lowest_humidity))
    )
    return theta, np.maximum(phi, 0.5), idle


def _greatest_index(theta: FloatArray, phi: FloatArray, klass: MouldClass) -> FloatArray:
    critical = _critical_humidity(theta, klass.lowest_humidity)
    x = (critical - phi) / (critical - 1.0)
    return np.maximum(klass.a + (klass.b - klass.c * x) * x, 0.0)


def _daily_rates(theta: FloatArray, phi: FloatArray, klass: MouldClass) -> tuple[FloatArray, FloatArray]:
    """Growth a day far from the greatest index, for an index below and above one."""
    weeks = _weeks_to_microscopic_growth(theta, phi, klass.spruce, klass.kiln_dried)
    if klass.growth_above_one is None:
        visible = _weeks_to_visible_growth(theta, phi, klass.spruce)
        above = 2.0 / (visible / weeks - 1.0)
    else:
        above = np.full(weeks.shape, klass.growth_above_one)
    return klass.growth_below_one / (7.0 * weeks), above / (7.0 * weeks)


def _slowing(index: FloatArray, greatest: FloatArray) -> FloatArray:
    return np.maximum(1.0 - np.exp(2.3 * (index - greatest)), 0.0)


def mould_index(
    temperature_degc: ArrayLike,
    relative_humidity: ArrayLike,
    klass: MouldClass,
    *,
    decline: float = 1.0,
    start: ArrayLike = 0.0,
) -> FloatArray:
    """Index at the end of each hour.

    Parameters
    ----------
    temperature_degc : array_like, shape (hours,) or (hours, places)
        Of the surface, hour by hour without gaps, -60 to 100 °C.
    relative_humidity : array_like, broadcastable
        At the surface, 0 to 10; counts as 1 where it condenses.
    klass : MouldClass
        Sensitivity of the material, see `mould_class`.
    decline : float
        C_mat, 0 to 1: 1 wood, 0.5 significant, 0.25 low, 0.1 almost no decline (from memory).
    start : array_like, shape () or (places,)
        Index before the first hour, 0 to 6.

    Returns
    -------
    ndarray of float64, broadcast shape
        M; NaN from the first NaN of a place on.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Notes
    -----
    Frost and heat above 50 °C count as dry hours; frost is our reading of the model.

    Source
    ------
    Hukka and Viitanen 1999; Ojanen, Viitanen et al. 2010.

    Examples
    --------
    >>> import numpy as np
    >>> weeks = mould_index(np.full(4 * 168, 20.0), 0.90, mould_class("very sensitive"))
    >>> weeks[-1].round(2)
    np.float64(0.95)
    """
    share = float(require_within("decline", decline, 0.0, 1.0))
    theta, phi = np.broadcast_arrays(
        np.asarray(temperature_degc, dtype=np.float64), np.asarray(relative_humidity, dtype=np.float64)
    )
    index = np.empty(theta.shape)
    now = np.broadcast_to(require_within("start", start, 0.0, 6.0), theta.shape[1:])
    idle_hours = np.zeros(theta.shape[1:], dtype=np.int64)
    for first in range(0, len(theta), _HOURS_PER_WEEK):
        week = slice(first, first + _HOURS_PER_WEEK)
        now, idle_hours = _step_week(index[week], now, idle_hours, theta[week], phi[week], klass, share)
    return index


def _step_week(
    index: FloatArray,
    now: FloatArray,
    idle_hours: NDArray[np.int64],
    temperature_degc: FloatArray,
    relative_humidity: FloatArray,
    klass: MouldClass,
    decline: float,
) -> tuple[FloatArray, NDArray[np.int64]]:
    """Fill `index` for some hours; what they hold in common is worked out at once."""
    theta, phi, idle = _surface_climate(temperature_degc, relative_humidity, klass)
    below, above = (np.where(idle, 0.0, rate / 24.0) for rate in _daily_rates(theta, phi, klass))
    greatest = _greatest_index(theta, phi, klass)
    loss = decline * _LOSS
    for hour in range(len(index)):
        idle_hours = np.minimum(idle_hours + 1, len(loss) - 1) * idle[hour]
        rate = np.where(now < 1.0, below[hour], above[hour])
        now = np.maximum(now + rate * _slowing(now, greatest[hour]) - loss[idle_hours], 0.0)
        index[hour] = now
    return now, idle_hours


def mould_map(
    factor: ArrayLike,
    indoor_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    vapour_pressure_pa: ArrayLike,
    klass: MouldClass,
    *,
    decline: float = 1.0,
    start: float = 0.0,
) -> FloatArray:
    """Greatest index that each pixel of a frame reaches.

    Surfaces of one room differ in their temperature factor alone, so some hundred factors are stepped,
    most where the index changes fast, and the pixels interpolated between them. Where the model itself
    jumps, a rare pixel may lie more than 0.01 from its own stepping.

    Parameters
    ----------
    factor : array_like, any shape
        f_Rsi with the film to judge by, -5 to 5.
    indoor_degc, outdoor_degc, vapour_pressure_pa : array_like, shape (hours,)
        Room air, outdoor air and vapour pressure of the room, hour by hour.
    klass : MouldClass
    decline : float
        See `mould_index`.
    start : float
        Index before the first hour, 0 to 6.

    Returns
    -------
    ndarray of float64, shape of `factor`
        M; NaN where the factor is.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hukka and Viitanen 1999; Ojanen, Viitanen et al. 2010.
    """
    f = require_within("factor", factor, -5.0, 5.0)
    seen = f[np.isfinite(f)]
    if seen.size == 0:
        return np.full(f.shape, np.nan)
    indoor, outdoor, pressure = (
        np.asarray(each, dtype=np.float64)[:, None]
        for each in (indoor_degc, outdoor_degc, vapour_pressure_pa)
    )

    def reached(levels: FloatArray) -> FloatArray:
        surface = surface_temperature_from_factor_degc(levels, indoor, outdoor)
        humidity = surface_humidity(pressure, surface)
        index = mould_index(surface, humidity, klass, decline=decline, start=start)
        return np.asarray(index.max(axis=0), dtype=np.float64)

    return np.interp(f, *_sampled(reached, float(seen.min()), float(seen.max())))


def _sampled(
    function: Callable[[FloatArray], FloatArray], low: float, high: float
) -> tuple[FloatArray, FloatArray]:
    """Levels and their values, refined where neighbouring values lie far apart."""
    levels = np.unique(np.linspace(low, high, _FIRST_LEVELS))
    values = function(levels)
    for _ in range(_REFINEMENTS):
        parts = np.nan_to_num(np.ceil(np.abs(np.diff(values)) / _INDEX_STEP)).astype(int)
        gaps = np.flatnonzero(parts > 1)
        if gaps.size == 0:
            break
        between = [np.linspace(levels[g], levels[g + 1], parts[g] + 1)[1:-1] for g in gaps]
        levels, first = np.unique(np.concatenate([levels, *between]), return_index=True)
        values = np.concatenate([values, function(np.concatenate(between))])[first]
    return levels, values
