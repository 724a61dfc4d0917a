"""What a junction loses beyond its plane parts, and the proof that its calculation may be quoted.

Source
------
ISO 10211:2017, thermal coupling coefficients, linear and point thermal transmittance, and the criteria on
heat balance and number of subdivisions (all from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import ThermalkitError
from thermalkit.language import Sentence, say
from thermalkit.physics.conduction import Body, Solution, change_between, steady
from thermalkit.physics.conduction.network import Films
from thermalkit.physics.domain import FloatArray, require_within

LARGEST_IMBALANCE = 1e-4  # sum of all heat flows over half the sum of their sizes
LARGEST_FLOW_CHANGE = 0.01  # of the heat flow, when every cell is halved
LARGEST_FACTOR_CHANGE = 0.005  # of f_Rsi at the coldest place


class NotProven(ThermalkitError):
    """A calculation does not meet the criteria under which its result may be quoted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """How well a calculation closes: its heat balance, and what halving every cell changed."""

    imbalance: float
    flow_change: float
    factor_change: float

    @property
    def failures(self) -> tuple[Sentence, ...]:
        """What is not met, in words; empty where the calculation may be quoted."""
        criteria = (
            ("imbalance", self.imbalance, LARGEST_IMBALANCE),
            ("flow-change", self.flow_change, LARGEST_FLOW_CHANGE),
            ("factor-change", self.factor_change, LARGEST_FACTOR_CHANGE),
        )
        return tuple(
            say(f"physics.proof.{what}", value=f"{value:.2g}", limit=f"{limit:g}")
            for what, value, limit in criteria
            if not value < limit
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Proven:
    """A solution on the finer of two grids, with what the finer grid changed."""

    solution: Solution
    proof: Proof


def proven(body: Body, films_m2k_w: Films, temperatures_degc: Mapping[str, float]) -> Proven:
    """Solve a body on its grid and on one with every cell halved, and compare.

    Parameters
    ----------
    body : Body
    films_m2k_w : mapping
        As for `steady`; a film that varies is a function of face centres.
    temperatures_degc : mapping
        Of every environment, not all alike; the criteria are looked at in this climate.

    Returns
    -------
    Proven
        The finer solution.

    Raises
    ------
    NotProven
        The balance does not close, or the grid is too coarse; the message says which and by how much.
    IllPosed
        See `steady`.

    Examples
    --------
    >>> wall = Body([0.0, 0.1, 0.2])
    >>> from thermalkit.physics.conduction import Material
    >>> wall.paint([None], Material(name="brick", conductivity_w_mk=0.77))
    >>> wall.expose(0, "low", "inside")
    >>> wall.expose(0, "high", "outside")
    >>> films, climate = {"inside": 0.13, "outside": 0.04}, {"inside": 20.0, "outside": -5.0}
    >>> round(proven(wall, films, climate).solution.coupling_w_k("inside", "outside"), 2)
    2.33
    """
    fine = steady(body.refined(), films_m2k_w)
    field = fine.at(temperatures_degc)
    change = change_between(steady(body, films_m2k_w).at(temperatures_degc), field)
    proof = Proof(
        imbalance=field.imbalance(),
        flow_change=change.heat_flow,
        factor_change=change.lowest_surface_k / float(np.ptp(field.environments_degc)),
    )
    require_proof(proof)
    return Proven(solution=fine, proof=proof)


def require_proof(proof: Proof) -> None:
    """Refuse a calculation that does not meet the criteria.

    Raises
    ------
    NotProven
        The message says what is not met.
    """
    if proof.failures:
        raise NotProven(
            say(
                "physics.not-proven",
                failures=reduce(lambda one, more: say("physics.both", one=one, more=more), proof.failures),
            )
        )


def linear_transmittance_w_mk(
    coupling_w_mk: ArrayLike, transmittances_w_m2k: ArrayLike, lengths_m: ArrayLike
) -> FloatArray:
    """Heat a junction loses beyond its plane parts, per metre of its length.

    Parameters
    ----------
    coupling_w_mk : array_like, shape ()
        L2D of the whole section between the two environments, 0 to 1000 W/(m K).
    transmittances_w_m2k : array_like, shape (parts,)
        U of each plane part with the films of the section, 0 to 100 W/(m²K).
    lengths_m : array_like, shape (parts,) or (conventions, parts)
        Of each part in the section, inner or outer, 0 to 100 m; the result belongs to that choice.

    Returns
    -------
    ndarray of float64, shape () or (conventions,)
        ψ in W/(m K); below zero where outer lengths count the corner twice.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 10211:2017: ψ = L2D - Σ U_j l_j (from memory).

    Examples
    --------
    >>> linear_transmittance_w_mk(3.080, [0.980, 0.980], [1.5, 1.5]).round(2)
    np.float64(0.14)
    """
    plane = require_within("transmittances_w_m2k", transmittances_w_m2k, 0.0, 100.0)
    lengths = require_within("lengths_m", lengths_m, 0.0, 100.0)
    coupling = require_within("coupling_w_mk", coupling_w_mk, 0.0, 1000.0)
    return np.asarray(coupling - np.sum(plane * lengths, axis=-1))[()]


def point_transmittance_w_k(
    coupling_w_k: float,
    transmittances_w_m2k: ArrayLike,
    areas_m2: ArrayLike,
    linear_w_mk: ArrayLike = (),
    lengths_m: ArrayLike = (),
) -> float:
    """Heat a point loses beyond its plane and linear parts.

    Parameters
    ----------
    coupling_w_k : float
        L3D of the whole piece between the two environments, 0 to 1000 W/K.
    transmittances_w_m2k, areas_m2 : array_like, shape (parts,)
        U of each plane part, 0 to 100 W/(m²K), and its area, 0 to 1000 m².
    linear_w_mk, lengths_m : array_like, shape (junctions,)
        ψ of each junction in the piece, -10 to 100 W/(m K), and its length, 0 to 100 m.

    Returns
    -------
    float
        χ in W/K.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 10211:2017: χ = L3D - Σ U_i A_i - Σ ψ_j l_j (from memory).

    Examples
    --------
    >>> round(point_transmittance_w_k(0.540, [0.4545], [1.0]), 3)
    0.086
    """
    plane = require_within("transmittances_w_m2k", transmittances_w_m2k, 0.0, 100.0)
    areas = require_within("areas_m2", areas_m2, 0.0, 1000.0)
    linear = require_within("linear_w_mk", linear_w_mk, -10.0, 100.0)
    lengths = require_within("lengths_m", lengths_m, 0.0, 100.0)
    coupling = float(require_within("coupling_w_k", coupling_w_k, 0.0, 1000.0))
    return coupling - float(np.sum(plane * areas)) - float(np.sum(linear * lengths))
