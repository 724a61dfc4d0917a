"""How well a place of the envelope keeps warm, and how warm it has to be.

The temperature factor f_Rsi = (θ_si-θ_e)/(θ_i-θ_e) is 1 for a surface as warm as the room and 0 for one
as cold as outdoors. What is missing to 1 is the *outdoor share*, the measure in a cooled building. Every
argument broadcasts; NaN passes through.

Source
------
ISO 13788:2012, clauses 4 and 5 and Annex A (humidity classes and film values from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.moist_air import (
    COLDEST_DEGC,
    WARMEST_DEGC,
    saturation_pressure_pa,
    saturation_temperature_degc,
    vapour_pressure_pa,
)

MOULD_FILM_M2K_W = 0.25  # R_si for opaque surfaces, allows for corners and furniture
GLAZING_FILM_M2K_W = 0.13  # R_si for windows and doors
OUTDOOR_FILM_M2K_W = 0.04  # R_se

_HUMIDITY_CLASS_PA = (270.0, 540.0, 810.0, 1080.0, 1360.0)


def temperature_factor(
    surface_temperature_degc: ArrayLike, indoor_degc: ArrayLike, outdoor_degc: ArrayLike
) -> FloatArray:
    """Temperature factor f_Rsi of an inner surface, with the film that was really there.

    Parameters
    ----------
    surface_temperature_degc, indoor_degc, outdoor_degc : array_like, broadcastable
        Inner surface, room air and outdoor air, -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        Not limited to 0 to 1; NaN where indoors and outdoors are equally warm.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range.

    Source
    ------
    ISO 13788:2012, definition of the temperature factor at the internal surface.

    Examples
    --------
    >>> temperature_factor(15.3, 20.0, 10.4).round(2)
    np.float64(0.51)
    """
    surface = _temperature("surface_temperature_degc", surface_temperature_degc)
    indoor = _temperature("indoor_degc", indoor_degc)
    outdoor = _temperature("outdoor_degc", outdoor_degc)
    return _ratio(surface - outdoor, indoor - outdoor)


def _temperature(name: str, value: ArrayLike) -> FloatArray:
    return require_within(name, value, COLDEST_DEGC, WARMEST_DEGC)


def _ratio(part: FloatArray, whole: FloatArray) -> FloatArray:
    return part / np.where(whole == 0.0, np.nan, whole)


def surface_temperature_from_factor_degc(
    factor: ArrayLike, indoor_degc: ArrayLike, outdoor_degc: ArrayLike
) -> FloatArray:
    """Temperature of an inner surface in another climate.

    Parameters
    ----------
    factor : array_like, any shape
        f_Rsi, -5 to 5.
    indoor_degc, outdoor_degc : array_like, broadcastable
        Room air and outdoor air, -60 to 100 °C.

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
    ISO 13788:2012, definition of the temperature factor, solved for the surface.

    Examples
    --------
    >>> surface_temperature_from_factor_degc(0.70, 20.0, -5.0).round(1)
    np.float64(12.5)
    """
    f = require_within("factor", factor, -5.0, 5.0)
    outdoor = _temperature("outdoor_degc", outdoor_degc)
    return outdoor + f * (_temperature("indoor_degc", indoor_degc) - outdoor)


def temperature_factor_at_film(
    factor: ArrayLike, film_m2k_w: ArrayLike, other_film_m2k_w: ArrayLike = MOULD_FILM_M2K_W
) -> FloatArray:
    """Temperature factor of the same place with another surface film.

    A measured factor holds for the film that was there (about 0.13 m²K/W, more behind furniture), a
    limit for its own, mostly 0.25.

    Parameters
    ----------
    factor : array_like, any shape
        f_Rsi with the first film, -5 to 5.
    film_m2k_w, other_film_m2k_w : array_like, broadcastable
        R_si that was there and R_si wanted, 0.01 to 5 m²K/W.

    Returns
    -------
    ndarray of float64, broadcast shape
        NaN for a factor so far above 1 that no wall explains it.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Notes
    -----
    Exact for heat flowing straight through a wall, an estimate at thermal bridges.

    Source
    ------
    Resistances in series: R + R_se = R_si f/(1-f) is the same with either film.

    Examples
    --------
    >>> temperature_factor_at_film(0.80, 0.13, 0.25).round(3)
    np.float64(0.675)
    """
    f = require_within("factor", factor, -5.0, 5.0)
    film = require_within("film_m2k_w", film_m2k_w, 0.01, 5.0)
    other = require_within("other_film_m2k_w", other_film_m2k_w, 0.01, 5.0)
    whole = f + (1.0 - f) * other / film
    return f / np.where(whole > 0.0, whole, np.nan)


def factor_from_resistance(
    resistance_m2k_w: ArrayLike,
    film_m2k_w: ArrayLike = MOULD_FILM_M2K_W,
    outdoor_film_m2k_w: ArrayLike = OUTDOOR_FILM_M2K_W,
) -> FloatArray:
    """Temperature factor of a plain wall.

    Parameters
    ----------
    resistance_m2k_w : array_like, any shape
        Of the layers without films, 0 to 50 m²K/W.
    film_m2k_w : array_like, broadcastable
        R_si, 0.01 to 5 m²K/W.
    outdoor_film_m2k_w : array_like, broadcastable
        R_se, 0 to 5 m²K/W.

    Returns
    -------
    ndarray of float64, broadcast shape
        f_Rsi.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13788:2012, one-dimensional case.

    Examples
    --------
    >>> factor_from_resistance(1.2).round(3)
    np.float64(0.832)
    """
    film = require_within("film_m2k_w", film_m2k_w, 0.01, 5.0)
    beyond = require_within("resistance_m2k_w", resistance_m2k_w, 0.0, 50.0) + require_within(
        "outdoor_film_m2k_w", outdoor_film_m2k_w, 0.0, 5.0
    )
    return beyond / (film + beyond)


def required_factor(
    indoor_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    vapour_pressure_pa: ArrayLike,
    *,
    surface_humidity: ArrayLike = 0.80,
) -> FloatArray:
    """Smallest temperature factor that keeps the humidity at the surface below a limit.

    Parameters
    ----------
    indoor_degc, outdoor_degc : array_like, broadcastable
        Room air and outdoor air, -60 to 100 °C.
    vapour_pressure_pa : array_like, broadcastable
        Of the room air, 1 to 10 000 Pa.
    surface_humidity : array_like, broadcastable
        Allowed humidity at the surface, 0.1 to 1: 0.8 against mould, 1 against condensation.

    Returns
    -------
    ndarray of float64, broadcast shape
        f_Rsi,min; negative in a month that asks for nothing, above 1 where no wall helps, NaN where
        indoors and outdoors are equally warm.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Notes
    -----
    Meant for a room warmer than outdoors; `required_outdoor_share` is for a cooled one.

    Source
    ------
    ISO 13788:2012, clause 5.

    Examples
    --------
    >>> required_factor(20.0, -5.0, 1168.5).round(3)
    np.float64(0.705)
    """
    pressure = require_within("vapour_pressure_pa", vapour_pressure_pa, 1.0, 10_000.0)
    phi_si = require_within("surface_humidity", surface_humidity, 0.1, 1.0)
    critical = saturation_temperature_degc(pressure / phi_si)
    indoor = _temperature("indoor_degc", indoor_degc)
    outdoor = _temperature("outdoor_degc", outdoor_degc)
    return _ratio(critical - outdoor, indoor - outdoor)


def moisture_excess_pa(humidity_class: int, outdoor_degc: ArrayLike) -> FloatArray:
    """Vapour pressure by which a kind of use keeps the room above outdoors, upper end of its class.

    Parameters
    ----------
    humidity_class : int
        1 unoccupied or dry storage, 2 offices and dwellings with normal use and ventilation, 3 unknown
        use, 4 sports halls and kitchens, 5 laundries and pools.
    outdoor_degc : array_like, any shape
        Monthly mean outdoors, -60 to 100 °C.

    Returns
    -------
    ndarray of float64, same shape
        Pa; constant up to 0 °C, then falling to nothing at 20 °C.

    Raises
    ------
    OutOfDomain
        There is no such class, or the temperature lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex A (from memory; class 5 has no upper end, 1360 Pa is customary).

    Examples
    --------
    >>> moisture_excess_pa(3, [-5.0, 10.0, 20.0])
    array([810., 405.,   0.])
    """
    require_within("humidity_class", humidity_class, 1, len(_HUMIDITY_CLASS_PA))
    outdoor = _temperature("outdoor_degc", outdoor_degc)
    return _HUMIDITY_CLASS_PA[humidity_class - 1] * np.clip((20.0 - outdoor) / 20.0, 0.0, 1.0)


def design_vapour_pressure_pa(
    humidity_class: int, outdoor_degc: ArrayLike, outdoor_relative_humidity: ArrayLike
) -> FloatArray:
    """Vapour pressure indoors to design for, with the customary margin of a tenth on the excess.

    Parameters
    ----------
    humidity_class : int
        1 to 5, see `moisture_excess_pa`.
    outdoor_degc : array_like, any shape
        Monthly mean outdoors, -60 to 100 °C.
    outdoor_relative_humidity : array_like, broadcastable
        Monthly mean outdoors, 0.01 to 1, over ice below 0 °C.

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
    ISO 13788:2012, clause 4 (margin 1.10 from memory).

    Examples
    --------
    >>> design_vapour_pressure_pa(3, 2.8, 0.88).round(0)
    np.float64(1423.0)
    """
    outdoor = vapour_pressure_pa(outdoor_degc, outdoor_relative_humidity)
    return outdoor + 1.10 * moisture_excess_pa(humidity_class, outdoor_degc)


def highest_indoor_humidity(
    factor: ArrayLike,
    indoor_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    *,
    surface_humidity: ArrayLike = 0.80,
) -> FloatArray:
    """Room humidity up to which a place stays below a humidity limit at its surface.

    Parameters
    ----------
    factor : array_like, any shape
        f_Rsi of the place, -5 to 5.
    indoor_degc, outdoor_degc : array_like, broadcastable
        Room air and outdoor air, -60 to 100 °C.
    surface_humidity : array_like, broadcastable
        Allowed humidity at the surface, 0.1 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        Fraction; above 1 where the surface is so much warmer than the room that no humidity is too high.

    Raises
    ------
    OutOfDomain
        An input, or the surface temperature that follows, lies outside its range.

    Source
    ------
    ISO 13788:2012, clause 5, solved for the room.

    Examples
    --------
    >>> highest_indoor_humidity(0.70, 20.0, [-10.0, 0.0]).round(3)
    array([0.449, 0.547])
    """
    phi_si = require_within("surface_humidity", surface_humidity, 0.1, 1.0)
    surface = surface_temperature_from_factor_degc(factor, indoor_degc, outdoor_degc)
    return phi_si * saturation_pressure_pa(surface) / saturation_pressure_pa(indoor_degc)
