"""Steady conduction, solved once for each environment and superposed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.language import say
from thermalkit.physics.conduction.assembly import assemble
from thermalkit.physics.conduction.body import Body
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.conduction.field import Field
from thermalkit.physics.conduction.network import Films, Network
from thermalkit.physics.conduction.solver import solver
from thermalkit.physics.domain import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """All steady states of a body at once.

    `shares` (environments, solids) is the temperature of each cell with one environment at 1 and the
    others at 0; `excess_k` (solids,) what the painted sources add.
    """

    network: Network
    shares: FloatArray
    excess_k: FloatArray

    def at(self, temperatures_degc: Mapping[str, float], heating: float = 1.0) -> Field:
        """Steady temperatures.

        Parameters
        ----------
        temperatures_degc : mapping
            Temperature of every environment by its name.
        heating : float
            Factor on the painted sources.

        Raises
        ------
        IllPosed
            The names are not those of the environments.
        """
        if set(temperatures_degc) != set(self.network.environments):
            raise IllPosed(say("physics.temperature-for-each", names=", ".join(self.network.environments)))
        values = np.array([temperatures_degc[name] for name in self.network.environments], dtype=np.float64)
        solids = values @ self.shares + heating * self.excess_k
        return Field(network=self.network, solids_degc=solids, environments_degc=values, heating=heating)

    def coupling_w_k(self, one: str, other: str) -> float:
        """Coupling coefficient L between two environments: W/K, per metre of depth in two dimensions."""
        return -self._alone(one).heat_flow_w(other)

    def weights(self, point_m: ArrayLike, within: str | None = None) -> dict[str, float]:
        """Weight g of each environment in the temperature at one point; see `Field.temperature_degc`."""
        return {
            name: float(self._alone(name).temperature_degc(point_m, within))
            for name in self.network.environments
        }

    def _alone(self, name: str) -> Field:
        self.network.environment_number(name)
        return self.at({n: float(n == name) for n in self.network.environments}, heating=0.0)


def steady(body: Body, films_m2k_w: Films) -> Solution:
    """Solve a body for all temperatures it may meet.

    Parameters
    ----------
    body : Body
    films_m2k_w : mapping
        Surface resistance of each environment: a number (0 fixes the surface temperature), an array with one
        value per face, or a function of face centres, shape (faces, axes), in metres.

    Returns
    -------
    Solution

    Raises
    ------
    IllPosed
        See `assemble`.
    NotConverged
        The iteration in three dimensions did not close the heat balance.

    Source
    ------
    ISO 10211, superposition by coupling coefficients and weighting factors (from memory).
    """
    network = assemble(body, films_m2k_w)
    solve = solver(network, network.outward_w_k())
    units = np.eye(len(network.environments))
    # Weights of one point add to one, which spares the last of the solutions.
    shares = [solve(network.inflow_w(unit)) for unit in units[:-1]]
    shares.append(1.0 - np.sum(shares, axis=0) if shares else np.ones(network.source_w.size))
    heated = np.any(network.source_w != 0.0)
    excess_k = solve(network.source_w) if heated else np.zeros(network.source_w.size)
    return Solution(network=network, shares=np.array(shares), excess_k=excess_k)


@dataclass(frozen=True, slots=True, kw_only=True)
class RefinementChange:
    """What halving every cell changes: heat flow as a fraction, lowest surface temperature in K."""

    heat_flow: float
    lowest_surface_k: float


def refinement_change(
    body: Body, films_m2k_w: Films, temperatures_degc: Mapping[str, float]
) -> RefinementChange:
    """How fine the grid is: the largest change over all environments when every cell is halved.

    Films given face by face do not fit the finer grid; give a function of face centres.

    Source
    ------
    ISO 10211, criteria on the number of subdivisions (from memory): 1 % of heat flow, 0.005 of f_Rsi.
    """
    coarse, fine = (steady(b, films_m2k_w).at(temperatures_degc) for b in (body, body.refined()))
    return change_between(coarse, fine)


def change_between(coarse: Field, fine: Field) -> RefinementChange:
    """The largest change over all environments from one field to another of the same body."""
    names = coarse.network.environments
    flows = np.array([[f.heat_flow_w(n) for n in names] for f in (coarse, fine)])
    lowest = np.array([[f.lowest_surface(n).temperature_degc for n in names] for f in (coarse, fine)])
    return RefinementChange(
        heat_flow=float(np.max(np.abs(flows[1] - flows[0])) / np.max(np.abs(flows))),
        lowest_surface_k=float(np.max(np.abs(lowest[1] - lowest[0]))),
    )
