"""The numbers of a detail that may be quoted, each with its proof, before and after a cure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.conduction import Field
from thermalkit.physics.detail import Detail, Flank, PointsMm
from thermalkit.physics.domain import FloatArray
from thermalkit.physics.envelope import surface_temperature_from_factor_degc
from thermalkit.physics.thermal_bridge import Proof, linear_transmittance_w_mk, proven

AS_FOUND = "as-found"

_CLIMATE = {"inside": 1.0, "outside": 0.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailResult:
    """What a detail loses and how cold it gets; nothing of it depends on the climate.

    The profile runs along the judged inner surface: `along_m` (places,), `points_m` (places, 2) and
    `factors` (places,). Films are 0.13 m²K/W for heat flows, 0.25 for factors, unless the detail says
    otherwise. Each of the two calculations has its proof.
    """

    coupling_w_mk: float
    psi_inner_w_mk: float
    psi_outer_w_mk: float
    flanks: tuple[Flank, ...]
    along_m: FloatArray
    points_m: FloatArray
    factors: FloatArray
    flow_proof: Proof
    factor_proof: Proof

    @property
    def factor(self) -> float:
        """Lowest temperature factor f_Rsi along the judged surface."""
        return float(np.min(self.factors))

    @property
    def coldest_along_m(self) -> float:
        """Where along the judged surface that is."""
        return float(self.along_m[np.argmin(self.factors)])

    def surface_degc(self, indoor_degc: ArrayLike, outdoor_degc: ArrayLike) -> FloatArray:
        """Surface temperature along the profile in a steady climate, shape (places,)."""
        return surface_temperature_from_factor_degc(self.factors, indoor_degc, outdoor_degc)


@lru_cache(maxsize=128)
def detail_result(detail: Detail) -> DetailResult:
    """Calculate a detail.

    Parameters
    ----------
    detail : Detail

    Returns
    -------
    DetailResult
        The same object for the same dimensions.

    Raises
    ------
    NotProven
        A criterion of ISO 10211 is not met.

    Examples
    --------
    >>> from thermalkit.physics.details import details
    >>> corner = details()["outer-corner"]()
    >>> found = detail_result(corner)
    >>> bool(found.factor < 0.7), found.coldest_along_m
    (True, 0.0)
    """
    flow = proven(detail.body(), detail.films(), _CLIMATE)
    surface = proven(detail.body(), detail.factor_films(), _CLIMATE)
    along_m, points_m = _profile_m(surface.solution.at(_CLIMATE), detail.line_mm(), detail.origin)
    coupling = flow.solution.coupling_w_k("inside", "outside")
    flanks = detail.flanks()
    inner, outer = linear_transmittance_w_mk(
        coupling,
        [flank.transmittance_w_m2k for flank in flanks],
        [[flank.inner_m for flank in flanks], [flank.outer_m for flank in flanks]],
    )
    return DetailResult(
        coupling_w_mk=coupling,
        psi_inner_w_mk=float(inner),
        psi_outer_w_mk=float(outer),
        flanks=flanks,
        along_m=along_m,
        points_m=points_m,
        factors=surface.solution.at(_CLIMATE).temperature_degc(points_m, "inside"),
        flow_proof=flow.proof,
        factor_proof=surface.proof,
    )


def cured(detail: Detail) -> dict[str, DetailResult]:
    """The detail as found and after each of its cures, by name, to be laid side by side."""
    return {name: detail_result(kind) for name, kind in {AS_FOUND: detail, **detail.cures()}.items()}


def _profile_m(field: Field, line_mm: PointsMm, origin: int) -> tuple[FloatArray, FloatArray]:
    """Grid points along a line and their distance from one of its corners."""
    corners = np.array(line_mm) / 1000.0
    lengths = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    along = np.unique(np.concatenate([_places(field.network.edges_m, *c) for c in _legs(corners, starts)]))
    points = np.stack([np.interp(along, starts, corners[:, axis]) for axis in (0, 1)], axis=-1)
    return along - starts[origin], points


def _legs(corners: FloatArray, starts: FloatArray) -> list[tuple[FloatArray, FloatArray, float]]:
    return [
        (a, b, start)
        for a, b, start in zip(corners, corners[1:], starts, strict=False)
        if np.linalg.norm(b - a) > 0
    ]


def _places(edges_m: Sequence[FloatArray], start: FloatArray, end: FloatArray, before: float) -> FloatArray:
    """Distances along the line at which one leg, which follows an axis, meets the grid."""
    axis = int(np.argmax(np.abs(end - start)))
    low, high = sorted((start[axis], end[axis]))
    met = edges_m[axis][(edges_m[axis] > low + 1e-9) & (edges_m[axis] < high - 1e-9)]
    places: FloatArray = before + np.abs(np.array([start[axis], *met, end[axis]]) - start[axis])
    return places.round(9)
