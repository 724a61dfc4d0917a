"""Thermal resistance of plane layers, air gaps and surfaces.

Source
------
ISO 6946:2017, 6.7 to 6.9 and Annexes C and D (tables and coefficients from memory). Formula, film values and
table agree with one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.envelope import OUTDOOR_FILM_M2K_W

HeatFlow = Literal["up", "horizontal", "down"]

INDOOR_FILM_M2K_W: dict[HeatFlow, float] = {"up": 0.10, "horizontal": 0.13, "down": 0.17}

_STEFAN_BOLTZMANN = 5.670374419e-8
_STILL_AIR_W_MK = 0.025
_LEAST_GAP_CONVECTION: dict[HeatFlow, float] = {"up": 1.95, "horizontal": 1.25}
_THICKEST_GAP_M = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class CombinedResistance:
    """Total resistance of a component that is not the same everywhere, films included."""

    upper_m2k_w: float
    lower_m2k_w: float

    @property
    def resistance_m2k_w(self) -> float:
        """Mean of both limits."""
        return (self.upper_m2k_w + self.lower_m2k_w) / 2.0

    @property
    def transmittance_w_m2k(self) -> float:
        """U of the component."""
        return 1.0 / self.resistance_m2k_w

    @property
    def largest_error(self) -> float:
        """Half the distance of the limits, relative to their mean."""
        return (self.upper_m2k_w - self.lower_m2k_w) / (2.0 * self.resistance_m2k_w)


def radiative_film_w_m2k(mean_temperature_degc: ArrayLike, emissivity: ArrayLike = 1.0) -> FloatArray:
    """Radiative heat transfer coefficient of a surface among others at nearly its temperature.

    Parameters
    ----------
    mean_temperature_degc : array_like, any shape
        Of the surface and its surroundings, -60 to 100 °C.
    emissivity : array_like, broadcastable
        Of the surface, 0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        h_r in W/(m²K); h_r0 of a black surface by default.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 6946:2017, Annex C: h_r = 4 ε σ T³.

    Examples
    --------
    >>> radiative_film_w_m2k([0.0, 20.0]).round(1)
    array([4.6, 5.7])
    """
    kelvin = require_within("mean_temperature_degc", mean_temperature_degc, -60.0, 100.0) + 273.15
    return 4.0 * require_within("emissivity", emissivity, 0.01, 1.0) * _STEFAN_BOLTZMANN * kelvin**3


def air_layer_resistance_m2k_w(
    thickness_mm: ArrayLike,
    flow: HeatFlow = "horizontal",
    *,
    emissivity: ArrayLike = 0.9,
    other_emissivity: ArrayLike = 0.9,
    mean_temperature_degc: ArrayLike = 10.0,
) -> FloatArray:
    """Resistance of an air gap that is not ventilated.

    Parameters
    ----------
    thickness_mm : array_like, any shape
        In the direction of heat flow, 1 to 300 mm.
    flow : {"up", "horizontal", "down"}
        Direction of heat.
    emissivity, other_emissivity : array_like, broadcastable
        Of both faces, 0.01 to 1.
    mean_temperature_degc : array_like, broadcastable
        Of the gap, -60 to 100 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        R in m²K/W.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 6946:2017, 6.9 and Annex D (from memory); within 0.005 of the printed table.

    Examples
    --------
    >>> air_layer_resistance_m2k_w([10.0, 25.0, 50.0]).round(2)
    array([0.15, 0.18, 0.18])
    """
    d = require_within("thickness_mm", thickness_mm, 1.0, 1000.0 * _THICKEST_GAP_M) / 1000.0
    one = require_within("emissivity", emissivity, 0.01, 1.0)
    other = require_within("other_emissivity", other_emissivity, 0.01, 1.0)
    least = 0.12 * d**-0.44 if flow == "down" else np.full_like(d, _LEAST_GAP_CONVECTION[flow])
    exchange = 1.0 / (1.0 / one + 1.0 / other - 1.0)
    h_r = exchange * radiative_film_w_m2k(mean_temperature_degc)
    return 1.0 / (np.maximum(least, _STILL_AIR_W_MK / d) + h_r)


def layer_resistance_m2k_w(thickness_mm: ArrayLike, conductivity_w_mk: ArrayLike) -> FloatArray:
    """Resistance of a solid layer.

    Parameters
    ----------
    thickness_mm : array_like, any shape
        0.01 to 10 000 mm.
    conductivity_w_mk : array_like, broadcastable
        0.01 to 500 W/(m K).

    Returns
    -------
    ndarray of float64, broadcast shape
        R in m²K/W.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 6946:2017, 6.7.1: R = d/λ.

    Examples
    --------
    >>> layer_resistance_m2k_w([220.0, 13.0], [0.77, 0.57]).sum().round(3)
    np.float64(0.309)
    """
    d = require_within("thickness_mm", thickness_mm, 0.01, 10_000.0)
    return d / 1000.0 / require_within("conductivity_w_mk", conductivity_w_mk, 0.01, 500.0)


def transmittance_w_m2k(
    resistance_m2k_w: ArrayLike,
    *,
    film_m2k_w: ArrayLike = INDOOR_FILM_M2K_W["horizontal"],
    outdoor_film_m2k_w: ArrayLike = OUTDOOR_FILM_M2K_W,
) -> FloatArray:
    """Thermal transmittance of plane layers.

    Parameters
    ----------
    resistance_m2k_w : array_like, any shape
        Sum of the layers without films, 0 to 50 m²K/W.
    film_m2k_w, outdoor_film_m2k_w : array_like, broadcastable
        R_si 0.01 to 5, R_se 0 to 5 m²K/W.

    Returns
    -------
    ndarray of float64, broadcast shape
        U in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 6946:2017, 6.5 and 6.7.

    Examples
    --------
    >>> transmittance_w_m2k(0.30852).round(2)
    np.float64(2.09)
    """
    layers = require_within("resistance_m2k_w", resistance_m2k_w, 0.0, 50.0)
    film = require_within("film_m2k_w", film_m2k_w, 0.01, 5.0)
    return 1.0 / (film + layers + require_within("outdoor_film_m2k_w", outdoor_film_m2k_w, 0.0, 5.0))


def transmittance_from_surface_w_m2k(
    surface_temperature_degc: ArrayLike,
    indoor_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    *,
    film_m2k_w: ArrayLike = INDOOR_FILM_M2K_W["horizontal"],
) -> FloatArray:
    """Transmittance that a surface temperature stands for, in a steady climate.

    Parameters
    ----------
    surface_temperature_degc, indoor_degc, outdoor_degc : array_like, broadcastable
        Inner surface, room air and outdoor air, -60 to 100 °C.
    film_m2k_w : array_like, broadcastable
        R_si that was there, 0.01 to 5 m²K/W; the result is as uncertain as this guess.

    Returns
    -------
    ndarray of float64, broadcast shape
        U in W/(m²K); NaN where indoors and outdoors are equally warm.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Heat through the film equals heat through the wall: U = (θ_i-θ_si)/(R_si (θ_i-θ_e)).

    Examples
    --------
    >>> transmittance_from_surface_w_m2k(17.4, 20.0, 0.0).round(3)
    np.float64(1.0)
    """
    surface, indoor, outdoor = (
        require_within(name, value, -60.0, 100.0)
        for name, value in (
            ("surface_temperature_degc", surface_temperature_degc),
            ("indoor_degc", indoor_degc),
            ("outdoor_degc", outdoor_degc),
        )
    )
    whole = np.where(indoor == outdoor, np.nan, indoor - outdoor)
    return (indoor - surface) / (require_within("film_m2k_w", film_m2k_w, 0.01, 5.0) * whole)


def combined_resistance(
    shares: Sequence[float],
    resistances_m2k_w: Sequence[Sequence[float]],
    *,
    film_m2k_w: float = INDOOR_FILM_M2K_W["horizontal"],
    outdoor_film_m2k_w: float = OUTDOOR_FILM_M2K_W,
) -> CombinedResistance:
    """Resistance of a component built of sections side by side, such as studs and insulation.

    Parameters
    ----------
    shares : sequence of float, length sections
        Of the area, together 1.
    resistances_m2k_w : sequence, sections by layers
        Of each layer in each section, 0.00001 to 50 m²K/W.
    film_m2k_w, outdoor_film_m2k_w : float
        R_si 0.01 to 5, R_se 0 to 5 m²K/W.

    Returns
    -------
    CombinedResistance

    Raises
    ------
    OutOfDomain
        An input lies outside its range, or the shares do not make 1.

    Notes
    -----
    Not for layers bridged by metal.

    Source
    ------
    ISO 6946:2017, 6.7.2.

    Examples
    --------
    >>> wall = combined_resistance([0.15, 0.85], [[0.05, 1.0], [0.05, 4.0]])
    >>> round(wall.transmittance_w_m2k, 3)
    0.33
    """
    area = require_within("shares", list(shares), 0.0, 1.0)
    if abs(float(area.sum()) - 1.0) > 1e-6:
        raise OutOfDomain(say("physics.shares", sum=f"{float(area.sum()):g}"))
    layers = require_within("resistances_m2k_w", [list(row) for row in resistances_m2k_w], 1e-5, 50.0)
    films = float(
        require_within("film_m2k_w", film_m2k_w, 0.01, 5.0)
        + require_within("outdoor_film_m2k_w", outdoor_film_m2k_w, 0.0, 5.0)
    )
    return CombinedResistance(
        upper_m2k_w=float(1.0 / np.sum(area / (films + layers.sum(axis=1)))),
        lower_m2k_w=float(films + np.sum(1.0 / np.sum(area[:, None] / layers, axis=0))),
    )


def temperature_profile_degc(
    resistances_m2k_w: Sequence[float],
    indoor_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    *,
    film_m2k_w: float = INDOOR_FILM_M2K_W["horizontal"],
    outdoor_film_m2k_w: float = OUTDOOR_FILM_M2K_W,
) -> FloatArray:
    """Temperatures at the inner surface, between the layers and at the outer surface.

    Parameters
    ----------
    resistances_m2k_w : sequence of float, length layers
        From inside to outside, 0 to 50 m²K/W.
    indoor_degc, outdoor_degc : array_like, shape () or (cases,)
        Room air and outdoor air, -60 to 100 °C.
    film_m2k_w, outdoor_film_m2k_w : float
        R_si 0.01 to 5, R_se 0 to 5 m²K/W.

    Returns
    -------
    ndarray of float64, shape (layers + 1,) or (cases, layers + 1)
        °C in a steady climate.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Resistances in series; ISO 13788:2012, clause 6.

    Examples
    --------
    >>> temperature_profile_degc([0.2857, 0.0228], 20.0, -5.0).round(1)
    array([13.2, -1.7, -2.9])
    """
    layers = require_within("resistances_m2k_w", list(resistances_m2k_w), 0.0, 50.0)
    film = require_within("film_m2k_w", film_m2k_w, 0.01, 5.0)
    outer = require_within("outdoor_film_m2k_w", outdoor_film_m2k_w, 0.0, 5.0)
    passed = film + np.concatenate([[0.0], np.cumsum(layers)])
    indoor = require_within("indoor_degc", indoor_degc, -60.0, 100.0)[..., None]
    outdoor = require_within("outdoor_degc", outdoor_degc, -60.0, 100.0)[..., None]
    profile: FloatArray = indoor + passed / (passed[-1] + outer) * (outdoor - indoor)
    return profile
