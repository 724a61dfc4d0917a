"""Electrical conductors as fins: how far the heat of a joint reaches, how warm a current makes them.

A joint at the end of a conductor warms it by an amount that falls to 1/e over one *fin length*; a current
warms it evenly. Which of the two is seen tells a bad joint from an overload, where enough of the conductor
is in view.

Source
------
Fin equation of a rod with loss to its surroundings (Carslaw and Jaeger, Conduction of Heat in Solids, 4.3).
Resistance and insulation row by row in `conductors.csv`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.pipes import pipe_convection_w_m2k, radiative_exchange_w_m2k
from thermalkit.physics.tables import row_named, table_rows

REFERENCE_DEGC = 20.0  # of tabled resistances
INSULATION_W_MK = 0.17  # PVC, from memory; polyethylene conducts a little better
COVERED_EMISSIVITY = 0.93
EXPONENTS = (1.5, 2.0)
MOST_LOAD_RATIO = 2.5
# Heat conductivity in W/(m K) and change of resistance per K at 20 °C; from memory.
_METALS = {"copper": (391.0, 0.00393), "aluminium": (230.0, 0.00403)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """A round conductor; the diameter is that of solid metal of its area, a strand is up to 15 % thicker."""

    area_mm2: float
    material: str
    resistance_ohm_m: float
    insulation_mm: float

    @property
    def conductivity_w_mk(self) -> float:
        """Heat conductivity of the metal."""
        return _METALS[self.material][0]

    @property
    def resistance_per_k(self) -> float:
        """Relative change of its resistance per kelvin."""
        return _METALS[self.material][1]

    @property
    def diameter_m(self) -> float:
        """Of the metal."""
        return 2e-3 * float(np.sqrt(self.area_mm2 / np.pi))

    @property
    def outer_diameter_m(self) -> float:
        """Over the insulation."""
        return self.diameter_m + 2e-3 * self.insulation_mm


@cache
def conductors() -> dict[str, Conductor]:
    """Conductors of the shipped table, by "area material"."""
    return {
        f"{float(row['area_mm2']):g} {row['material']}": Conductor(
            area_mm2=float(row["area_mm2"]),
            material=row["material"],
            resistance_ohm_m=float(row["resistance_ohm_km"]) / 1000.0,
            insulation_mm=float(row["insulation_mm"]),
        )
        for row in table_rows("conductors.csv")
    }


def conductor(area_mm2: float, material: str = "copper", *, is_insulated: bool = True) -> Conductor:
    """The conductor of exactly that size.

    Raises
    ------
    UnknownName
        No such size in the table; the message names the nearest ones.

    Examples
    --------
    >>> round(1000 * conductor(2.5).outer_diameter_m, 1)
    3.4
    """
    found = row_named("conductor (area in mm² and metal)", f"{area_mm2:g} {material}", conductors())
    if is_insulated:
        return found
    return Conductor(
        area_mm2=found.area_mm2,
        material=material,
        resistance_ohm_m=found.resistance_ohm_m,
        insulation_mm=0.0,
    )


def conductor_film_w_m2k(
    outer_diameter_m: ArrayLike,
    rise_k: ArrayLike,
    air_degc: ArrayLike = 25.0,
    emissivity: ArrayLike = COVERED_EMISSIVITY,
) -> FloatArray:
    """Heat transfer coefficient of a conductor in still air, convection and radiation.

    Parameters
    ----------
    outer_diameter_m : array_like, any shape
        0.001 to 10 m.
    rise_k : array_like, broadcastable
        Of its surface over the air, 0 to 200 K.
    air_degc : array_like, broadcastable
        Air and surroundings, -60 to 100 °C.
    emissivity : array_like, broadcastable
        0.01 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        h in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 12241 (from memory) for a level cylinder; radiation to surroundings as warm as the air.

    Examples
    --------
    >>> conductor_film_w_m2k(0.0034, 20.0).round(1)
    np.float64(17.1)
    """
    air = require_within("air_degc", air_degc, -60.0, 100.0)
    surface = air + require_within("rise_k", rise_k, 0.0, 200.0)
    radiated = radiative_exchange_w_m2k(surface, air, emissivity)
    return np.asarray(pipe_convection_w_m2k(outer_diameter_m, rise_k) + radiated)[()]


def heat_loss_w_mk(wire: Conductor, film_w_m2k: ArrayLike) -> FloatArray:
    """Heat that a metre of conductor loses for each kelvin that its metal is warmer than the air.

    Parameters
    ----------
    wire : Conductor
    film_w_m2k : array_like, any shape
        h of its outside, 0.5 to 100 W/(m²K).

    Raises
    ------
    OutOfDomain
        The film lies outside its range.

    Source
    ------
    Cylindrical layer and film in series (ISO 12241, 4.1, from memory).

    Examples
    --------
    >>> heat_loss_w_mk(conductor(2.5), 14.0).round(3)
    np.float64(0.137)
    """
    film = require_within("film_w_m2k", film_w_m2k, 0.5, 100.0)
    through = np.log(wire.outer_diameter_m / wire.diameter_m) / (2.0 * np.pi * INSULATION_W_MK)
    return np.asarray(1.0 / (through + 1.0 / (np.pi * wire.outer_diameter_m * film)))[()]


def fin_length_m(wire: Conductor, film_w_m2k: ArrayLike) -> FloatArray:
    """Length over which the warmth of a joint falls to 1/e along its conductor.

    Parameters and errors are those of `heat_loss_w_mk`.

    Returns
    -------
    ndarray of float64
        sqrt(λ A / loss per metre and kelvin), in m.

    Source
    ------
    Carslaw and Jaeger, 4.3.

    Examples
    --------
    >>> fin_length_m(conductor(2.5), 14.0).round(3)
    np.float64(0.085)
    """
    area_m2 = wire.area_mm2 * 1e-6
    return np.asarray(np.sqrt(wire.conductivity_w_mk * area_m2 / heat_loss_w_mk(wire, film_w_m2k)))[()]


def surface_share(wire: Conductor, film_w_m2k: ArrayLike) -> FloatArray:
    """Rise of a conductor's outside over the air as a share of its metal's; the rest lies in the insulation.

    Parameters and errors are those of `heat_loss_w_mk`.

    Source
    ------
    Cylindrical layer and film in series (ISO 12241, 4.1, from memory).

    Examples
    --------
    >>> surface_share(conductor(2.5), 14.0).round(2)
    np.float64(0.92)
    """
    loss_w_mk = heat_loss_w_mk(wire, film_w_m2k)
    return np.asarray(loss_w_mk / (np.pi * wire.outer_diameter_m * np.asarray(film_w_m2k)))[()]


def current_rise_k(
    wire: Conductor, current_a: ArrayLike, film_w_m2k: ArrayLike, air_degc: ArrayLike = 25.0
) -> FloatArray:
    """Rise of a long conductor over the air by its current alone.

    Parameters
    ----------
    wire : Conductor
    current_a : array_like, any shape
        True effective value, 0 to 10 000 A.
    film_w_m2k : array_like, broadcastable
        See `heat_loss_w_mk`.
    air_degc : array_like, broadcastable
        -60 to 100 °C.

    Raises
    ------
    OutOfDomain
        An input lies outside its range, or so much current that no steady temperature exists.

    Source
    ------
    Loss of the conductor, its resistance growing with temperature, equal to what it gives off.

    Examples
    --------
    >>> current_rise_k(conductor(2.5), 20.0, 14.0).round(1)
    np.float64(24.2)
    """
    current = require_within("current_a", current_a, 0.0, 10_000.0)
    air = require_within("air_degc", air_degc, -60.0, 100.0)
    heat = current**2 * wire.resistance_ohm_m
    left = heat_loss_w_mk(wire, film_w_m2k) - heat * wire.resistance_per_k
    if np.any(left <= 0.0):
        current_a = f"{float(np.max(current)):g}"
        raise OutOfDomain(say("physics.runs-away", current=current_a, area=f"{wire.area_mm2:g}"))
    return np.asarray(heat * (1.0 + wire.resistance_per_k * (air - REFERENCE_DEGC)) / left)[()]


def conducted_power_w(joint_k: ArrayLike, wire: Conductor, film_w_m2k: ArrayLike) -> FloatArray:
    """Heat that enters a long conductor from a joint that adds `joint_k` to it.

    Other errors are those of `heat_loss_w_mk`.

    Source
    ------
    Carslaw and Jaeger, 4.3: joint · sqrt(λ A · loss per metre and kelvin).

    Examples
    --------
    >>> conducted_power_w(20.0, conductor(2.5), 14.0).round(2)
    np.float64(0.23)
    """
    loss_w_mk = heat_loss_w_mk(wire, film_w_m2k)
    flow_w_k = np.sqrt(wire.conductivity_w_mk * wire.area_mm2 * 1e-6 * loss_w_mk)
    return np.asarray(np.asarray(joint_k, dtype=np.float64) * flow_w_k)[()]


def contact_resistance_ohm(power_w: ArrayLike, current_a: ArrayLike) -> FloatArray:
    """Resistance of a joint that turns a current into that much heat.

    Parameters
    ----------
    power_w : array_like, any shape
    current_a : array_like, broadcastable
        0.01 to 10 000 A.

    Raises
    ------
    OutOfDomain
        The current lies outside its range.

    Source
    ------
    Joule's law.

    Examples
    --------
    >>> contact_resistance_ohm(1.0, 10.0)
    np.float64(0.01)
    """
    current = require_within("current_a", current_a, 0.01, 10_000.0)
    return np.asarray(np.asarray(power_w, dtype=np.float64) / current**2)[()]


def carried_rise_k(
    rise_k: ArrayLike, measured_a: ArrayLike, to_a: ArrayLike, exponent: ArrayLike = 2.0
) -> FloatArray:
    """A rise at one load carried to another.

    Parameters
    ----------
    rise_k : array_like, any shape
        Rise over the air at `measured_a`, in K.
    measured_a, to_a : array_like, broadcastable
        Currents, 0.01 to 10 000 A; `to_a` at most 2.5 times `measured_a`, beyond it is a guess.
    exponent : array_like, broadcastable
        1.5 (rise lost by free convection) to 2 (heat alone counts).

    Raises
    ------
    OutOfDomain
        A current or the exponent lies outside its range, or the load is carried too far.

    Source
    ------
    ΔT₂ = ΔT₁ (I₂/I₁)^n; exponents 1.5 to 1.8 empirical (from memory), 2 by Joule's law.

    Examples
    --------
    >>> carried_rise_k(20.0, 40.0, 100.0, [1.5, 2.0]).round(1)
    array([ 79.1, 125. ])
    """
    measured = require_within("measured_a", measured_a, 0.01, 10_000.0)
    to = require_within("to_a", to_a, 0.0, 10_000.0)
    ratio = require_within(say("physics.name.load-ratio"), to / measured, 0.0, MOST_LOAD_RATIO)
    power = require_within("exponent", exponent, *EXPONENTS)
    return np.asarray(np.asarray(rise_k, dtype=np.float64) * ratio**power)[()]
