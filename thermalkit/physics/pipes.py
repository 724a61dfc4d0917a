"""Cold pipes: when they sweat, and the insulation that stops it.

Source
------
ISO 12241, 4.3 (from memory). The thickness needs no trial: with y = ln(D_e/D_i) the condition reads
y exp(y) = 2 K/D_i, solved by the Lambert function.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.moist_air import dew_point_degc, saturation_pressure_pa

_STEFAN_BOLTZMANN = 5.670374419e-8


def sweating_humidity(pipe_degc: ArrayLike, air_degc: ArrayLike) -> FloatArray:
    """Room humidity from which a bare surface sweats.

    Parameters
    ----------
    pipe_degc, air_degc : array_like, broadcastable
        Surface and room air, -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        Fraction; above 1 for a surface warmer than the room, which stays dry.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range.

    Source
    ------
    ISO 13788:2012, Annex E: p_sat of the surface over p_sat of the air.

    Examples
    --------
    >>> sweating_humidity(10.0, 20.0).round(3)
    np.float64(0.525)
    """
    return saturation_pressure_pa(pipe_degc) / saturation_pressure_pa(air_degc)


def heat_gain_w_m(
    pipe_diameter_mm: ArrayLike,
    insulation_mm: ArrayLike,
    conductivity_w_mk: ArrayLike,
    film_w_m2k: ArrayLike,
    pipe_degc: ArrayLike,
    air_degc: ArrayLike,
) -> FloatArray:
    """Heat that a metre of insulated pipe takes up from the room.

    Parameters
    ----------
    pipe_diameter_mm : array_like, any shape
        D_i outside the pipe, 1 to 5000 mm.
    insulation_mm : array_like, broadcastable
        0 to 1000 mm.
    conductivity_w_mk : array_like, broadcastable
        Of the insulation, 0.01 to 5 W/(m K).
    film_w_m2k : array_like, broadcastable
        h of its outer face, 0.5 to 100 W/(m²K).
    pipe_degc, air_degc : array_like, broadcastable
        -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        q_l in W/m; negative for a pipe warmer than the room.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241, 4.3 (from memory).

    Examples
    --------
    >>> heat_gain_w_m(355.6, 25.0, 0.0354, 14.07, 3.0, 35.0).round(1)
    np.float64(49.4)
    """
    inner = require_within("pipe_diameter_mm", pipe_diameter_mm, 1.0, 5000.0) / 1000.0
    outer = inner + 2.0 * require_within("insulation_mm", insulation_mm, 0.0, 1000.0) / 1000.0
    conductivity = require_within("conductivity_w_mk", conductivity_w_mk, 0.01, 5.0)
    film = require_within("film_w_m2k", film_w_m2k, 0.5, 100.0)
    pipe = require_within("pipe_degc", pipe_degc, -60.0, 100.0)
    air = require_within("air_degc", air_degc, -60.0, 100.0)
    return np.pi * (air - pipe) / (np.log(outer / inner) / (2.0 * conductivity) + 1.0 / (film * outer))


def jacket_temperature_degc(
    pipe_diameter_mm: ArrayLike,
    insulation_mm: ArrayLike,
    conductivity_w_mk: ArrayLike,
    film_w_m2k: ArrayLike,
    pipe_degc: ArrayLike,
    air_degc: ArrayLike,
) -> FloatArray:
    """Temperature outside the insulation of a pipe.

    Parameters
    ----------
    pipe_diameter_mm, insulation_mm, conductivity_w_mk, film_w_m2k : array_like, broadcastable
        See `heat_gain_w_m`.
    pipe_degc, air_degc : array_like, broadcastable
        -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        θ_se in °C.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241, 4.3 (from memory): θ_a - q_l/(h π D_e).

    Examples
    --------
    >>> jacket_temperature_degc(355.6, 25.0, 0.0354, 14.07, 3.0, 35.0).round(2)
    np.float64(32.24)
    """
    gain = heat_gain_w_m(pipe_diameter_mm, insulation_mm, conductivity_w_mk, film_w_m2k, pipe_degc, air_degc)
    outer = (np.asarray(pipe_diameter_mm, float) + 2.0 * np.asarray(insulation_mm, float)) / 1000.0
    return np.asarray(air_degc, float) - gain / (np.asarray(film_w_m2k, float) * np.pi * outer)


def flat_insulation_against_sweating_mm(
    conductivity_w_mk: ArrayLike,
    film_w_m2k: ArrayLike,
    cold_degc: ArrayLike,
    air_degc: ArrayLike,
    relative_humidity: ArrayLike,
) -> FloatArray:
    """Least insulation of a cold flat surface, such as a duct or tank, that keeps its outside dry.

    Parameters
    ----------
    conductivity_w_mk, film_w_m2k : array_like, broadcastable
        See `heat_gain_w_m`; a small film is the safe guess, 5 to 6 where pipes crowd, 9 in the open.
    cold_degc, air_degc : array_like, broadcastable
        Surface to insulate, -60 to 100 °C, and room air, -40 to 60 °C.
    relative_humidity : array_like, broadcastable
        Of the room, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        mm; 0 where the bare surface stays dry, infinite in saturated air.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241, 4.3 (from memory): (λ/h)(θ_d-θ_i)/(θ_a-θ_d).

    Examples
    --------
    >>> flat_insulation_against_sweating_mm(0.040, 8.0, 6.0, 25.0, 0.70).round(1)
    np.float64(11.2)
    """
    conductivity = require_within("conductivity_w_mk", conductivity_w_mk, 0.01, 5.0)
    film = require_within("film_w_m2k", film_w_m2k, 0.5, 100.0)
    cold = require_within("cold_degc", cold_degc, -60.0, 100.0)
    air = require_within("air_degc", air_degc, -40.0, 60.0)
    dew = dew_point_degc(air, relative_humidity)
    above = np.maximum(air - dew, 0.0)
    short = np.maximum(dew - cold, 0.0)
    saturated = above < 1e-9
    thickness = 1000.0 * conductivity / film * short / np.where(saturated, 1.0, above)
    return np.where(saturated & (short > 0.0), np.inf, thickness)[()]


def insulation_against_sweating_mm(
    pipe_diameter_mm: ArrayLike,
    conductivity_w_mk: ArrayLike,
    film_w_m2k: ArrayLike,
    pipe_degc: ArrayLike,
    air_degc: ArrayLike,
    relative_humidity: ArrayLike,
) -> FloatArray:
    """Least insulation of a cold pipe that keeps its outside dry.

    Parameters
    ----------
    pipe_diameter_mm : array_like, any shape
        Outside the pipe, 1 to 5000 mm.
    conductivity_w_mk, film_w_m2k, pipe_degc, air_degc, relative_humidity : array_like, broadcastable
        See `flat_insulation_against_sweating_mm`.

    Returns
    -------
    ndarray of float64, broadcast shape
        mm; 0 where the bare pipe stays dry, infinite in saturated air.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241, 4.3 (from memory): D_e ln(D_e/D_i)/2 = (λ/h)(θ_d-θ_i)/(θ_a-θ_d).

    Examples
    --------
    >>> insulation_against_sweating_mm([22.0, 60.3], 0.036, 9.0, 6.0, 26.0, 0.80).round(1)
    array([12.3, 14.5])
    """
    from scipy.special import lambertw

    inner = require_within("pipe_diameter_mm", pipe_diameter_mm, 1.0, 5000.0)
    flat = flat_insulation_against_sweating_mm(
        conductivity_w_mk, film_w_m2k, pipe_degc, air_degc, relative_humidity
    )
    stretch = lambertw(np.where(np.isinf(flat), 0.0, 2.0 * flat / inner), 0).real
    return np.where(np.isinf(flat), np.inf, inner / 2.0 * np.expm1(stretch))[()]


def pipe_convection_w_m2k(outer_diameter_m: ArrayLike, difference_k: ArrayLike) -> FloatArray:
    """Natural convection around a horizontal pipe indoors.

    Parameters
    ----------
    outer_diameter_m : array_like, any shape
        0.001 to 10 m.
    difference_k : array_like, broadcastable
        Between surface and air, 0 to 200 K.

    Returns
    -------
    ndarray of float64, broadcast shape
        h_cv in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241 (from memory): laminar up to D³ Δθ = 10 m³K, turbulent beyond.

    Examples
    --------
    >>> pipe_convection_w_m2k(0.0603, 5.0).round(2)
    np.float64(3.77)
    """
    d = require_within("outer_diameter_m", outer_diameter_m, 0.001, 10.0)
    return _convection(1.25, 1.21, d, require_within("difference_k", difference_k, 0.0, 200.0))


def wall_convection_w_m2k(height_m: ArrayLike, difference_k: ArrayLike) -> FloatArray:
    """Natural convection along a vertical surface indoors.

    Parameters
    ----------
    height_m : array_like, any shape
        0.01 to 100 m.
    difference_k : array_like, broadcastable
        Between surface and air, 0 to 200 K.

    Returns
    -------
    ndarray of float64, broadcast shape
        h_cv in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241 (from memory): laminar up to H³ Δθ = 10 m³K, turbulent beyond.

    Examples
    --------
    >>> wall_convection_w_m2k(2.5, 8.0).round(2)
    np.float64(3.48)
    """
    h = require_within("height_m", height_m, 0.01, 100.0)
    return _convection(1.32, 1.74, h, require_within("difference_k", difference_k, 0.0, 200.0))


def _convection(laminar: float, turbulent: float, size: FloatArray, difference: FloatArray) -> FloatArray:
    smooth = laminar * (difference / size) ** 0.25
    return np.where(size**3 * difference <= 10.0, smooth, turbulent * np.cbrt(difference))[()]


def radiative_exchange_w_m2k(
    surface_degc: ArrayLike, surroundings_degc: ArrayLike, emissivity: ArrayLike
) -> FloatArray:
    """Radiative heat transfer coefficient between a surface and large surroundings.

    Parameters
    ----------
    surface_degc, surroundings_degc : array_like, broadcastable
        -120 to 1000 °C.
    emissivity : array_like, broadcastable
        Of the surface, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        h_r in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241: ε σ (T_1⁴-T_2⁴)/(T_1-T_2), written as a product so that equal temperatures do no harm.

    Examples
    --------
    >>> radiative_exchange_w_m2k(20.0, 25.0, 0.94).round(2)
    np.float64(5.51)
    """
    one = require_within("surface_degc", surface_degc, -120.0, 1000.0) + 273.15
    two = require_within("surroundings_degc", surroundings_degc, -120.0, 1000.0) + 273.15
    eps = require_within("emissivity", emissivity, 0.01, 1.0)
    return eps * _STEFAN_BOLTZMANN * (one**2 + two**2) * (one + two)
