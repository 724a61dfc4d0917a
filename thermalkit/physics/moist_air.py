"""Water vapour in room air and at surfaces.

Saturation is taken over water from 0 °C upwards and over ice below. Humidity is a fraction, pressure
is in Pa, and every argument broadcasts.

Source
------
ISO 13788:2012, Annex E (saturation, and its inverse). Bias against steam tables: below 0.2 % from 0 to
40 °C, 0.7 % at 100 °C, 0.5 % at -20 °C and 2 % at -40 °C over ice.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within

COLDEST_DEGC = -60.0
WARMEST_DEGC = 100.0
STANDARD_PRESSURE_PA = 101_325.0
EVAPORATION_HEAT_J_KG = 2.45e6  # at room temperature
PSYCHROMETRIC_PA_K = 1006.0 * STANDARD_PRESSURE_PA / (0.622 * EVAPORATION_HEAT_J_KG)  # γ = c_p P/(0.622 L)

_P0_PA = 610.5
_WATER = (17.269, 237.3)
_ICE = (21.875, 265.5)
_GAS_CONSTANT_VAPOUR = 461.5  # J/(kg K), the rounding of ISO 13788
_MASS_RATIO = 0.621945  # water vapour to dry air


def saturation_pressure_pa(temperature_degc: ArrayLike) -> FloatArray:
    """Vapour pressure at which air is saturated, over ice below 0 °C.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        -60 to 100 °C.

    Returns
    -------
    ndarray of float64, same shape
        Pa; NaN where the input is NaN.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex E.

    Examples
    --------
    >>> saturation_pressure_pa([-10.0, 20.0]).round(2)
    array([ 259.33, 2336.95])
    """
    return _saturation_pressure_pa(
        require_within("temperature_degc", temperature_degc, COLDEST_DEGC, WARMEST_DEGC)
    )


def _saturation_pressure_pa(theta: FloatArray) -> FloatArray:
    slope, offset = (np.where(theta < 0.0, ice, water) for ice, water in zip(_ICE, _WATER, strict=True))
    return _P0_PA * np.exp(slope * theta / (offset + theta))


def saturation_temperature_degc(vapour_pressure_pa: ArrayLike) -> FloatArray:
    """Temperature at which a vapour pressure is saturated: dew point, or frost point below 0 °C.

    Parameters
    ----------
    vapour_pressure_pa : array_like, any shape
        0.01 to 105 000 Pa.

    Returns
    -------
    ndarray of float64, same shape
        °C; exact inverse of `saturation_pressure_pa`.

    Raises
    ------
    OutOfDomain
        A pressure lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex E.

    Examples
    --------
    >>> saturation_temperature_degc(1168.5).round(2)
    np.float64(9.27)
    """
    return _saturation_temperature_degc(
        require_within("vapour_pressure_pa", vapour_pressure_pa, 0.01, 105_000.0)
    )


def _saturation_temperature_degc(pressure: FloatArray) -> FloatArray:
    a = np.log(pressure / _P0_PA)
    slope, offset = (np.where(a < 0.0, ice, water) for ice, water in zip(_ICE, _WATER, strict=True))
    return np.asarray(offset * a / (slope - a), dtype=np.float64)[()]


def vapour_pressure_pa(air_temperature_degc: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Partial pressure of the vapour in air.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        -60 to 100 °C. Below 0 °C the humidity counts over ice; weather services give it over water.
    relative_humidity : array_like, broadcastable
        Fraction, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        Pa.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, definition of relative humidity.

    Examples
    --------
    >>> vapour_pressure_pa(20.0, 0.50).round(1)
    np.float64(1168.5)
    """
    phi = require_within("relative_humidity", relative_humidity, 0.01, 1.0)
    theta = require_within("air_temperature_degc", air_temperature_degc, COLDEST_DEGC, WARMEST_DEGC)
    return phi * _saturation_pressure_pa(theta)


def vapour_pressure_over_water_pa(
    air_temperature_degc: ArrayLike, relative_humidity: ArrayLike
) -> FloatArray:
    """Partial pressure of the vapour, from a humidity that counts over water in frost too.

    Hygrometers and weather services give humidity so.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        -60 to 100 °C.
    relative_humidity : array_like, broadcastable
        Fraction over water, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        Pa.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex E, the formula over water carried below 0 °C (0.7 % low at -20 °C).

    Examples
    --------
    >>> vapour_pressure_over_water_pa([-10.0, 20.0], 1.0).round(1)
    array([ 285.6, 2337. ])
    """
    phi = require_within("relative_humidity", relative_humidity, 0.01, 1.0)
    theta = require_within("air_temperature_degc", air_temperature_degc, COLDEST_DEGC, WARMEST_DEGC)
    slope, offset = _WATER
    return phi * _P0_PA * np.exp(slope * theta / (offset + theta))


def critical_surface_temperature_degc(
    air_temperature_degc: ArrayLike, relative_humidity: ArrayLike, *, surface_humidity: ArrayLike = 0.80
) -> FloatArray:
    """Coldest surface whose adjoining air stays below a humidity limit.

    The default limit is the mould criterion; 1 gives the dew point.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        Room air temperature θ_i, -60 to 100 °C.
    relative_humidity : array_like, broadcastable
        Room air humidity φ_i as a fraction, 0.01 to 1.
    surface_humidity : array_like, broadcastable
        Allowed humidity at the surface φ_si, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        θ_si,cr in °C; NaN where an input is NaN (masked pixel).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, clause 5 and Annex E.

    Examples
    --------
    >>> critical_surface_temperature_degc(20.0, 0.50).round(1)
    np.float64(12.6)
    """
    phi_si = require_within("surface_humidity", surface_humidity, 0.01, 1.0)
    return _saturation_temperature_degc(vapour_pressure_pa(air_temperature_degc, relative_humidity) / phi_si)


def dew_point_degc(air_temperature_degc: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Temperature at which the vapour of the air begins to condense, over ice below 0 °C.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        -60 to 100 °C.
    relative_humidity : array_like, broadcastable
        Fraction, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        °C.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex E.

    Examples
    --------
    >>> dew_point_degc(20.0, 0.50).round(2)
    np.float64(9.27)
    """
    return critical_surface_temperature_degc(air_temperature_degc, relative_humidity, surface_humidity=1.0)


def surface_humidity(vapour_pressure_pa: ArrayLike, surface_temperature_degc: ArrayLike) -> FloatArray:
    """Relative humidity of the air that touches a surface; above 1 the vapour condenses.

    Parameters
    ----------
    vapour_pressure_pa : array_like, any shape
        Of the room air, 0.01 to 105 000 Pa.
    surface_temperature_degc : array_like, broadcastable
        -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        φ_si as a fraction, not capped at 1.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, clause 5.

    Examples
    --------
    >>> surface_humidity(1168.5, [9.0, 12.6]).round(3)
    array([1.018, 0.801])
    """
    pressure = require_within("vapour_pressure_pa", vapour_pressure_pa, 0.01, 105_000.0)
    theta = require_within("surface_temperature_degc", surface_temperature_degc, COLDEST_DEGC, WARMEST_DEGC)
    return pressure / _saturation_pressure_pa(theta)


def vapour_concentration_kg_m3(vapour_pressure_pa: ArrayLike, air_temperature_degc: ArrayLike) -> FloatArray:
    """Mass of vapour in a cubic metre of air.

    Parameters
    ----------
    vapour_pressure_pa : array_like, any shape
        0.01 to 105 000 Pa.
    air_temperature_degc : array_like, broadcastable
        -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        kg/m³.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, gas law with R_v = 461.5 J/(kg K).

    Examples
    --------
    >>> float(vapour_concentration_kg_m3(1168.5, 20.0).round(5))
    0.00864
    """
    pressure = require_within("vapour_pressure_pa", vapour_pressure_pa, 0.01, 105_000.0)
    theta = require_within("air_temperature_degc", air_temperature_degc, COLDEST_DEGC, WARMEST_DEGC)
    return pressure / (_GAS_CONSTANT_VAPOUR * (theta + 273.15))


def humidity_ratio(
    vapour_pressure_pa: ArrayLike, *, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Mass of vapour carried by a mass of dry air.

    Parameters
    ----------
    vapour_pressure_pa : array_like, any shape
        0.01 to 50 000 Pa.
    pressure_pa : array_like, broadcastable
        Of the moist air, 60 000 to 110 000 Pa.

    Returns
    -------
    ndarray of float64, broadcast shape
        kg/kg.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ASHRAE Handbook of Fundamentals, chapter 1 (from memory).

    Examples
    --------
    >>> humidity_ratio(1168.5).round(5)
    np.float64(0.00726)
    """
    vapour = require_within("vapour_pressure_pa", vapour_pressure_pa, 0.01, 50_000.0)
    total = require_within("pressure_pa", pressure_pa, 60_000.0, 110_000.0)
    return _MASS_RATIO * vapour / (total - vapour)


def humidity_ratio_at_wet_bulb(
    air_temperature_degc: ArrayLike,
    wet_bulb_degc: ArrayLike,
    *,
    pressure_pa: ArrayLike = STANDARD_PRESSURE_PA,
) -> FloatArray:
    """Mass of vapour carried by a mass of dry air, from the two thermometers of a psychrometer.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        Dry bulb, -40 to 60 °C.
    wet_bulb_degc : array_like, broadcastable
        -60 to 61 °C; an iced bulb below 0 °C.
    pressure_pa : array_like, broadcastable
        60 000 to 110 000 Pa.

    Returns
    -------
    ndarray of float64, broadcast shape
        kg/kg; negative where the two temperatures cannot belong together.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ASHRAE Handbook of Fundamentals, chapter 1, adiabatic saturation (from memory).

    Examples
    --------
    >>> humidity_ratio_at_wet_bulb(40.0, 20.0).round(4)
    np.float64(0.0064)
    """
    theta = require_within("air_temperature_degc", air_temperature_degc, -40.0, 60.0)
    wet = require_within("wet_bulb_degc", wet_bulb_degc, COLDEST_DEGC, 61.0)
    saturated = humidity_ratio(_saturation_pressure_pa(wet), pressure_pa=pressure_pa)
    iced = wet < 0.0
    latent = np.where(iced, 2830.0 - 0.24 * wet, 2501.0 - 2.326 * wet)
    gained = np.where(iced, 2830.0 - 2.1 * wet, 2501.0 - 4.186 * wet) + 1.86 * theta
    return (latent * saturated - 1.006 * (theta - wet)) / gained


def wet_bulb_degc(
    air_temperature_degc: ArrayLike,
    relative_humidity: ArrayLike,
    *,
    pressure_pa: ArrayLike = STANDARD_PRESSURE_PA,
) -> FloatArray:
    """Temperature of a wetted, ventilated and radiation-shielded thermometer; solved, not fitted.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        -40 to 60 °C.
    relative_humidity : array_like, broadcastable
        Fraction, 0.01 to 1.
    pressure_pa : array_like, broadcastable
        60 000 to 110 000 Pa.

    Returns
    -------
    ndarray of float64, broadcast shape
        °C; an iced bulb below 0 °C.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Notes
    -----
    Exact inverse of `humidity_ratio_at_wet_bulb`. Just below 0 °C a bulb may hold ice or water, and both
    readings are right; one of them is returned.

    Source
    ------
    ASHRAE Handbook of Fundamentals, chapter 1, adiabatic saturation (from memory).

    Examples
    --------
    >>> wet_bulb_degc(20.0, 0.50).round(1)
    np.float64(13.8)
    """
    theta = require_within("air_temperature_degc", air_temperature_degc, -40.0, 60.0)
    vapour = vapour_pressure_pa(theta, relative_humidity)
    carried = humidity_ratio(vapour, pressure_pa=pressure_pa)

    def excess(wet: FloatArray, dry: FloatArray, ratio: FloatArray, total: FloatArray) -> FloatArray:
        return humidity_ratio_at_wet_bulb(dry, wet, pressure_pa=total) - ratio

    low = np.maximum(_saturation_temperature_degc(vapour), COLDEST_DEGC + 1.0)
    return _root(excess, low, theta, theta, carried, pressure_pa)


def wet_surface_temperature_degc(
    air_temperature_degc: ArrayLike,
    relative_humidity: ArrayLike,
    *,
    convective_w_m2k: ArrayLike,
    radiative_w_m2k: ArrayLike,
    radiant_temperature_degc: ArrayLike | None = None,
    conductance_behind_w_m2k: ArrayLike = 0.0,
    temperature_behind_degc: ArrayLike | None = None,
) -> FloatArray:
    """Temperature of a wet surface that evaporates into the room.

    With nothing cold behind it (an internal wall) evaporation cools the surface no further than this.
    On an outside wall the conductance to the cold side has to be given: there a wet surface can be
    colder than the wet bulb.

    Parameters
    ----------
    air_temperature_degc : array_like, any shape
        Room air, -40 to 60 °C.
    relative_humidity : array_like, broadcastable
        Fraction, 0.01 to 1.
    convective_w_m2k, radiative_w_m2k : array_like, broadcastable
        Heat transfer coefficients of the surface, 0.1 to 100 and 0 to 20 W/(m²K).
    radiant_temperature_degc : array_like, optional
        What the surface exchanges radiation with, -60 to 100 °C; the air temperature if left out.
    conductance_behind_w_m2k : array_like, broadcastable
        From the surface to what lies behind it, 0 to 100 W/(m²K).
    temperature_behind_degc : array_like, optional
        What lies behind, -60 to 100 °C; the air temperature if left out.

    Returns
    -------
    ndarray of float64, broadcast shape
        °C.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Heat balance h_c(θ_a-θ_s) + h_r(θ_r-θ_s) + K(θ_b-θ_s) = (h_c/γ)(p_sat(θ_s)-p_v) with the psychrometric
    constant γ = c_p P/(0.622 L) = 66.9 Pa/K (Lewis relation, from memory).

    Examples
    --------
    >>> wet_surface_temperature_degc(20.0, 0.50, convective_w_m2k=2.5, radiative_w_m2k=5.0).round(1)
    np.float64(16.5)
    """
    air = require_within("air_temperature_degc", air_temperature_degc, -40.0, 60.0)
    h_c = require_within("convective_w_m2k", convective_w_m2k, 0.1, 100.0)
    h_r = require_within("radiative_w_m2k", radiative_w_m2k, 0.0, 20.0)
    behind = require_within("conductance_behind_w_m2k", conductance_behind_w_m2k, 0.0, 100.0)
    radiant = _or_air("radiant_temperature_degc", radiant_temperature_degc, air)
    back = _or_air("temperature_behind_degc", temperature_behind_degc, air)
    vapour = vapour_pressure_pa(air, relative_humidity)

    total = h_c + h_r + behind
    mixed = (h_c * air + h_r * radiant + behind * back) / total
    transfer = h_c / PSYCHROMETRIC_PA_K

    def loss(wet: FloatArray, mix: FloatArray, h: FloatArray, k: FloatArray, pv: FloatArray) -> FloatArray:
        return k * (_saturation_pressure_pa(wet) - pv) + h * (wet - mix)

    dew = _saturation_temperature_degc(vapour)
    return _root(loss, np.minimum(dew, mixed), np.maximum(dew, mixed), mixed, total, transfer, vapour)


def _or_air(name: str, value: ArrayLike | None, air: FloatArray) -> FloatArray:
    return air if value is None else require_within(name, value, COLDEST_DEGC, WARMEST_DEGC)


def _root(
    rising: Callable[..., FloatArray], low: ArrayLike, high: ArrayLike, *others: ArrayLike
) -> FloatArray:
    """Zero of a rising function between `low` and `high`, element by element; NaN passes through."""
    from scipy.optimize import elementwise

    # A hair of room on both sides, as rounding may move a zero that lies on a bound (saturated air).
    bracket = (np.asarray(low) - 1e-6, np.asarray(high) + 1e-6)
    found = elementwise.find_root(rising, bracket, args=others)
    return np.asarray(found.x, dtype=np.float64)[()]
