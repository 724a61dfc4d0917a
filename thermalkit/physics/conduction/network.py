"""A body as a network of conductances between cells and to environments.

Each cell balances its heat with its neighbours, and at a surface with the environment it faces.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.language import say
from thermalkit.physics.conduction.body import Material
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.domain import FloatArray, require_within

if TYPE_CHECKING:
    from scipy.sparse import csr_array

IntArray = NDArray[np.int64]
Film = ArrayLike | Callable[[FloatArray], ArrayLike]
Films = Mapping[str, Film]
"""Surface resistance in m²K/W by environment: a number, one per face, or a function of face centres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Faces:
    """Where solids face environments; every array has one entry per face.

    `cell` numbers the solid cell behind, `index` (axes, faces) places it on the grid.
    """

    cell: IntArray
    index: IntArray
    axis: IntArray
    side: IntArray
    environment: IntArray
    centres_m: FloatArray
    area_m2: FloatArray
    half_cell_m2k_w: FloatArray

    def on_plane(self, axis: int) -> tuple[NDArray[np.bool_], tuple[IntArray, ...]]:
        """Which faces are normal to an axis, and their places in the array of all such cell faces."""
        chosen = self.axis == axis
        place = self.index[:, chosen].copy()
        place[axis] += self.side[chosen]
        return chosen, tuple(place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Conductances, capacities and sources; solids are numbered in grid order.

    `between_w_k` joins neighbours along each axis of the grid, 0 where one is no solid; `inner_w_k` is the
    same as a matrix of the solids, every row summing to zero. All per metre of depth in two dimensions, per
    square metre in one.
    """

    edges_m: tuple[FloatArray, ...]
    number: IntArray
    filling: NDArray[np.int16]
    fillings: tuple[Material | str, ...]
    environments: tuple[str, ...]
    between_w_k: tuple[FloatArray, ...]
    inner_w_k: csr_array
    faces: Faces
    film_m2k_w: FloatArray
    capacity_j_k: FloatArray
    source_w: FloatArray

    @property
    def conductance_w_k(self) -> FloatArray:
        """From each boundary face's environment to the cell behind it."""
        return self.faces.area_m2 / (self.faces.half_cell_m2k_w + self.film_m2k_w)

    def outward_w_k(self) -> FloatArray:
        """From each cell to all environments."""
        outward = np.bincount(self.faces.cell, self.conductance_w_k, minlength=self.source_w.size)
        return np.asarray(outward, dtype=np.float64)

    def inflow_w(self, environments_degc: FloatArray) -> FloatArray:
        """Heat entering each cell from environments at these temperatures."""
        values = environments_degc[self.faces.environment] * self.conductance_w_k
        inflow = np.bincount(self.faces.cell, values, minlength=self.source_w.size)
        return np.asarray(inflow, dtype=np.float64)

    def environment_number(self, name: str) -> int:
        """Place of an environment in `environments`."""
        if name not in self.environments:
            raise IllPosed(
                say("physics.no-such-environment", name=repr(name), known=", ".join(self.environments))
            )
        return self.environments.index(name)

    def with_films(self, films: Films) -> Network:
        """The same network behind other surface resistances; environments not named keep theirs."""
        film_m2k_w = self.film_m2k_w.copy()
        for name, film in films.items():
            chosen = self.faces.environment == self.environment_number(name)
            film_m2k_w[chosen] = _film_m2k_w(name, film, self.faces.centres_m[chosen])
        return replace(self, film_m2k_w=film_m2k_w)


def pair(axes: int, axis: int) -> tuple[tuple[slice, ...], tuple[slice, ...]]:
    """Index of all cells but the last along an axis, and of their upper neighbours."""
    low = tuple(slice(None, -1) if a == axis else slice(None) for a in range(axes))
    high = tuple(slice(1, None) if a == axis else slice(None) for a in range(axes))
    return low, high


def couplings(number: IntArray, between_w_k: tuple[FloatArray, ...]) -> tuple[IntArray, IntArray, FloatArray]:
    """Numbers of all joined neighbours and their conductance, one entry per pair."""
    one, other, values = [], [], []
    for axis, conductance in enumerate(between_w_k):
        low, high = pair(number.ndim, axis)
        joined = conductance > 0.0
        one.append(number[low][joined])
        other.append(number[high][joined])
        values.append(conductance[joined])
    return np.concatenate(one), np.concatenate(other), np.concatenate(values)


def _film_m2k_w(name: str, film: Film, centres_m: FloatArray) -> FloatArray:
    values = require_within(
        say("physics.name.film", name=name), film(centres_m) if callable(film) else film, 0.0, 100.0
    )
    if np.isnan(values).any() or values.shape not in ((), (len(centres_m),)):
        raise IllPosed(say("physics.film", name=name, count=len(centres_m)))
    return np.broadcast_to(values, (len(centres_m),))
