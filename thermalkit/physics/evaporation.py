"""A steady body with a wet surface: conduction and evaporation, each making the other.

Source
------
Heat of evaporation (h_c/γ)(p_sat(θ_s) - p_v) with the psychrometric constant γ, as for
`wet_surface_temperature_degc` (Lewis relation, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.language import say
from thermalkit.physics.conduction import Body, Field, IllPosed, NotConverged, steady
from thermalkit.physics.conduction.network import Films
from thermalkit.physics.conduction.solver import solver
from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.moist_air import (
    EVAPORATION_HEAT_J_KG,
    PSYCHROMETRIC_PA_K,
    saturation_pressure_pa,
    vapour_pressure_pa,
)

_STEP_K = 1e-3
_CLOSE_K = 1e-7
_ITERATIONS = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class WetSurface:
    """The surface that faces the room, part of it wet; every array has one entry per face.

    `dry_degc` is what the same surface has without evaporation. `evaporation_w_m2` is heat spent; below zero
    the room's vapour condenses there. `centres_m` has shape (faces, axes).
    """

    centres_m: FloatArray
    area_m2: FloatArray
    is_wet: NDArray[np.bool_]
    temperature_degc: FloatArray
    dry_degc: FloatArray
    evaporation_w_m2: FloatArray
    dry: Field

    @property
    def evaporation_kg_s(self) -> float:
        """Water leaving the whole surface; per metre of depth in two dimensions."""
        return float(np.sum(self.area_m2 * self.evaporation_w_m2)) / EVAPORATION_HEAT_J_KG


def steady_with_evaporation(
    body: Body,
    films_m2k_w: Films,
    temperatures_degc: Mapping[str, float],
    wet: Callable[[FloatArray], ArrayLike],
    *,
    room: str = "inside",
    relative_humidity: float,
    convective_w_m2k: float = 2.5,
) -> WetSurface:
    """Steady temperatures of a body whose surface is wet in places.

    Parameters
    ----------
    body : Body
    films_m2k_w : mapping
        As for `steady`; the room's films are above 0 and hold convection and radiation together.
    temperatures_degc : mapping
        Of every environment.
    wet : callable
        Which faces of the room are wet, from their centres in m, shape (faces, axes).
    room : str
        The environment that takes up the vapour.
    relative_humidity : float
        Of the room, 0.01 to 1.
    convective_w_m2k : float
        h_c, which carries vapour as it carries heat, 0.1 to 100 W/(m²K).

    Returns
    -------
    WetSurface

    Raises
    ------
    OutOfDomain
        A number lies outside its range.
    IllPosed
        See `steady`; or a wet face without film, whose temperature nothing could change.
    NotConverged
        Temperatures and evaporation did not settle.

    Examples
    --------
    >>> from thermalkit.physics.conduction import Material
    >>> wall = Body([0.0, 0.11, 0.22])
    >>> wall.paint([None], Material(name="brick", conductivity_w_mk=0.77))
    >>> wall.expose(0, "low", "inside")
    >>> wall.expose(0, "high", "outside")
    >>> films, climate = {"inside": 0.13, "outside": 0.04}, {"inside": 20.0, "outside": -5.0}
    >>> found = steady_with_evaporation(
    ...     wall, films, climate, lambda centres: centres[:, 0] == 0.0, relative_humidity=0.50
    ... )
    >>> found.dry_degc.round(1), found.temperature_degc.round(1)
    (array([12.9]), array([12.]))
    """
    h_c = float(require_within("convective_w_m2k", convective_w_m2k, 0.1, 100.0))
    air_degc = temperatures_degc.get(room, np.nan)
    vapour_pa = float(vapour_pressure_pa(air_degc, relative_humidity))
    dry = steady(body, films_m2k_w).at(temperatures_degc)
    surface = dry.surface(room)
    is_wet = np.broadcast_to(np.asarray(wet(surface.centres_m), dtype=np.bool_), surface.area_m2.shape)
    if np.any(surface.film_m2k_w[is_wet] <= 0.0):
        raise IllPosed(say("physics.wet-without-film", room=room))
    theta = _settled_degc(dry, room, is_wet, h_c / PSYCHROMETRIC_PA_K, vapour_pa)
    spent = np.where(is_wet, h_c / PSYCHROMETRIC_PA_K * (saturation_pressure_pa(theta) - vapour_pa), 0.0)
    return WetSurface(
        centres_m=surface.centres_m,
        area_m2=surface.area_m2,
        is_wet=is_wet,
        temperature_degc=theta,
        dry_degc=surface.temperature_degc,
        evaporation_w_m2=spent,
        dry=dry,
    )


def _settled_degc(
    dry: Field, room: str, is_wet: NDArray[np.bool_], transfer: float, vapour_pa: float
) -> FloatArray:
    """Surface temperatures by Newton: about each guess a wet face is a dry one with another film and air."""
    theta, air = dry.surface(room).temperature_degc, dry.environments_degc[_number(dry, room)]
    film = dry.surface(room).film_m2k_w
    for _ in range(_ITERATIONS):
        slope = transfer * (saturation_pressure_pa(theta + _STEP_K) - saturation_pressure_pa(theta)) / _STEP_K
        slope = np.where(is_wet, slope, 0.0)
        spent = np.where(is_wet, transfer * (saturation_pressure_pa(theta) - vapour_pa), 0.0)
        as_film = np.divide(film, 1.0 + film * slope)
        as_air_degc = (air + film * (slope * theta - spent)) / (1.0 + film * slope)
        found = _surface_degc(dry, room, as_film, as_air_degc)
        if np.max(np.abs(found - theta), initial=0.0) < _CLOSE_K:
            return found
        theta = found
    raise NotConverged(say("physics.not-settled", count=_ITERATIONS))


def _surface_degc(dry: Field, room: str, film_m2k_w: FloatArray, air_degc: FloatArray) -> FloatArray:
    """Surface temperatures of the room's faces behind other films, each with its own air."""
    faces = dry.network.faces
    chosen = faces.environment == _number(dry, room)
    every_film = dry.network.film_m2k_w.copy()
    every_film[chosen] = film_m2k_w
    network = replace(dry.network, film_m2k_w=every_film)
    beyond_degc = dry.environments_degc[faces.environment]
    beyond_degc[chosen] = air_degc
    load = np.bincount(faces.cell, network.conductance_w_k * beyond_degc, minlength=network.source_w.size)
    cells = solver(network, network.outward_w_k())(load + dry.heating * network.source_w)[faces.cell[chosen]]
    share = film_m2k_w / (film_m2k_w + faces.half_cell_m2k_w[chosen])
    return np.asarray(air_degc + (cells - air_degc) * share)


def _number(field: Field, room: str) -> int:
    return field.network.environment_number(room)
