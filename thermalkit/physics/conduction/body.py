"""What is calculated: boxes of material on a rectilinear grid, between named environments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.domain import FloatArray, require_within

Region = Sequence[tuple[float, float] | None] | NDArray[np.bool_]
Side = Literal["low", "high"]

NOTHING = -1
_SNAP = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A homogeneous solid; only transient calculations need its heat capacity."""

    name: str
    conductivity_w_mk: float
    heat_capacity_j_m3k: float = np.nan

    def __post_init__(self) -> None:
        """Refuse numbers no solid has."""
        require_within("conductivity_w_mk", self.conductivity_w_mk, 1e-4, 1e4)
        require_within("heat_capacity_j_m3k", self.heat_capacity_j_m3k, 1.0, 1e8)


class Body:
    """A part of a building, painted box by box; what is painted later overrides.

    Cells hold a material, or belong to an environment (a room, the outside), or hold nothing.
    Faces between a solid and nothing, and the outer edges of the grid, let no heat through until
    `expose` gives an edge to an environment.

    Parameters
    ----------
    *edges_m : array_like, shape (cells + 1,)
        Increasing cell edges, one array per axis: one, two or three of them.

    Raises
    ------
    OutOfDomain
        Edges that do not increase, or more than three axes.

    Examples
    --------
    >>> wall = Body([0.0, 0.05, 0.10])
    >>> wall.paint([None], Material(name="brick", conductivity_w_mk=0.77))
    >>> wall.expose(0, "low", "inside")
    >>> wall.expose(0, "high", "outside")
    """

    def __init__(self, *edges_m: ArrayLike) -> None:
        self.edges_m = tuple(require_within("edges_m", edges, -1e4, 1e4) for edges in edges_m)
        if not 1 <= len(self.edges_m) <= 3:
            raise OutOfDomain(say("physics.axes", count=len(self.edges_m)))
        if any(e.ndim != 1 or e.size < 2 or not np.all(np.diff(e) > 0.0) for e in self.edges_m):
            raise OutOfDomain(say("physics.increasing-edges"))
        self.shape = tuple(edges.size - 1 for edges in self.edges_m)
        self.fillings: list[Material | str] = []
        self.filling = np.full(self.shape, NOTHING, dtype=np.int16)
        self.heat_w_m3 = np.zeros(self.shape)
        self.outer: dict[tuple[int, Side], str] = {}

    def paint(self, region: Region, filling: Material | str) -> None:
        """Fill a region with a material, or leave it to an environment given by its name.

        Parameters
        ----------
        region : sequence of (low, high) or None, one per axis; or bool array of the grid's shape
            A box in metres; None means the whole axis, and what lies off the grid is cut off.
        filling : Material or str

        Raises
        ------
        IllPosed
            A side of the box runs through cells, its sides are swapped, or the region has another
            shape than the grid.
        """
        if filling not in self.fillings:
            self.fillings.append(filling)
        self.filling[self.cells(region)] = self.fillings.index(filling)

    def heat(self, region: Region, power_w_m3: float) -> None:
        """Add a heat source to the solids of a region."""
        self.heat_w_m3[self.cells(region)] += power_w_m3

    def expose(self, axis: int, side: Side, environment: str) -> None:
        """Let the solids at one outer edge of the grid face an environment."""
        self.outer[(range(len(self.shape))[axis], side)] = environment

    def cells(self, region: Region) -> tuple[slice, ...] | NDArray[np.bool_]:
        """Index of the cells in a region."""
        if isinstance(region, np.ndarray):
            if region.shape != self.shape or region.dtype != np.bool_:
                raise IllPosed(say("physics.region-array", shape=str(self.shape)))
            return region
        if len(region) != len(self.shape):
            raise IllPosed(say("physics.box-sides", sides=len(self.shape), count=len(region)))
        return tuple(
            _cells_between(edges, sides, axis)
            for axis, (edges, sides) in enumerate(zip(self.edges_m, region, strict=True))
        )

    def refined(self) -> Body:
        """The same body with every cell halved along every axis."""
        fine = Body(*(_halved(edges) for edges in self.edges_m))
        fine.fillings, fine.outer = list(self.fillings), dict(self.outer)
        fine.filling, fine.heat_w_m3 = self.filling, self.heat_w_m3
        for axis in range(len(self.shape)):
            fine.filling = np.repeat(fine.filling, 2, axis)
            fine.heat_w_m3 = np.repeat(fine.heat_w_m3, 2, axis)
        return fine


def _halved(edges: FloatArray) -> FloatArray:
    return np.sort(np.concatenate([edges, 0.5 * (edges[1:] + edges[:-1])]))


def _cells_between(edges: FloatArray, sides: tuple[float, float] | None, axis: int) -> slice:
    if sides is None:
        return slice(None)
    if not sides[0] < sides[1]:
        raise IllPosed(say("physics.box-order", first=f"{sides[0]:g}", second=f"{sides[1]:g}"))
    low, high = (_edge_number(edges, min(max(x, edges[0]), edges[-1]), axis) for x in sides)
    return slice(low, high)


def _edge_number(edges: FloatArray, position: float, axis: int) -> int:
    nearest = int(np.argmin(np.abs(edges - position)))
    if abs(edges[nearest] - position) > _SNAP * (edges[-1] - edges[0]):
        raise IllPosed(say("physics.box-through-cells", position=f"{position:g}", axis=axis))
    return nearest
