"""A body as a network of conductances between cells and to environments.

Each cell balances its heat. Two cells are joined by the harmonic mean of their conductances, a cell and an
environment by half the cell in series with the surface resistance, so interfaces and films add no error of
their own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.physics.conduction.body import Body, Material, Side
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.domain import FloatArray, require_within

if TYPE_CHECKING:
    from scipy.sparse import csr_array

IntArray = NDArray[np.int64]
Film = ArrayLike | Callable[[FloatArray], ArrayLike]
Films = Mapping[str, Film]
"""Surface resistance in m²K/W by environment: a number, one per face, or a function of face centres."""

SIDES: tuple[Side, ...] = ("low", "high")


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

    Per metre of depth in two dimensions, per square metre in one.
    """

    edges_m: tuple[FloatArray, ...]
    number: IntArray
    filling: NDArray[np.int16]
    fillings: tuple[Material | str, ...]
    environments: tuple[str, ...]
    inner_w_k: csr_array
    faces: Faces
    film_m2k_w: FloatArray
    capacity_j_k: FloatArray
    source_w: FloatArray

    @property
    def conductance_w_k(self) -> FloatArray:
        """From each boundary face's environment to the cell behind it."""
        return self.faces.area_m2 / (self.faces.half_cell_m2k_w + self.film_m2k_w)

    def matrix_w_k(self) -> csr_array:
        """Heat leaving each cell per kelvin of each cell, environments at zero."""
        from scipy.sparse import csr_array, diags_array

        outward = np.bincount(self.faces.cell, self.conductance_w_k, minlength=self.source_w.size)
        return csr_array(self.inner_w_k + diags_array(outward))

    def inflow_w(self, environments_degc: FloatArray) -> FloatArray:
        """Heat entering each cell from environments at these temperatures."""
        values = environments_degc[self.faces.environment] * self.conductance_w_k
        inflow = np.bincount(self.faces.cell, values, minlength=self.source_w.size)
        return np.asarray(inflow, dtype=np.float64)

    def environment_number(self, name: str) -> int:
        """Place of an environment in `environments`."""
        if name not in self.environments:
            raise IllPosed(f"no environment {name!r}; this body faces {', '.join(self.environments)}")
        return self.environments.index(name)

    def with_films(self, films: Films) -> Network:
        """The same network behind other surface resistances; environments not named keep theirs."""
        film_m2k_w = self.film_m2k_w.copy()
        for name, film in films.items():
            chosen = self.faces.environment == self.environment_number(name)
            film_m2k_w[chosen] = _film_m2k_w(name, film, self.faces.centres_m[chosen])
        return replace(self, film_m2k_w=film_m2k_w)


def assemble(body: Body, films_m2k_w: Films) -> Network:
    """Network of a body.

    Raises
    ------
    IllPosed
        No solid; a solid piece that faces no environment; an environment without film, or a film
        without environment.
    OutOfDomain
        A surface resistance outside 0 to 100 m²K/W.
    """
    solid = np.array([isinstance(f, Material) for f in body.fillings] + [False])[body.filling]
    if not solid.any():
        raise IllPosed("the body has no solid; paint a material first")
    number = np.full(body.shape, -1, dtype=np.int64)
    number[solid] = np.arange(np.count_nonzero(solid))
    names = tuple(dict.fromkeys([f for f in body.fillings if isinstance(f, str)] + list(body.outer.values())))
    half_cells = _half_cells_m2k_w(body)
    faces = _faces(body, number, names, half_cells)
    _require_grounded(solid, faces)
    met = tuple(name for k, name in enumerate(names) if np.any(faces.environment == k))
    if set(met) != set(films_m2k_w):
        raise IllPosed(f"films are given for {sorted(films_m2k_w)}, the body faces {sorted(met)}")
    renumber = np.array([met.index(name) if name in met else -1 for name in names])
    volume = _outer_product([np.diff(edges) for edges in body.edges_m])
    network = Network(
        edges_m=body.edges_m,
        number=number,
        filling=body.filling.copy(),
        fillings=tuple(body.fillings),
        environments=met,
        inner_w_k=_inner_w_k(body, number, half_cells),
        faces=replace(faces, environment=renumber[faces.environment]),
        film_m2k_w=np.full(faces.cell.size, np.nan),
        capacity_j_k=(_lookup(body, "heat_capacity_j_m3k") * volume)[solid],
        source_w=(body.heat_w_m3 * volume)[solid],
    )
    return network.with_films(films_m2k_w)


def _lookup(body: Body, quantity: str) -> FloatArray:
    """A material property cell by cell; NaN where there is no solid."""
    values = [getattr(f, quantity) if isinstance(f, Material) else np.nan for f in body.fillings]
    return np.array([*values, np.nan])[body.filling]


def _along(axis: int, values: FloatArray, dimensions: int) -> FloatArray:
    return values.reshape([-1 if a == axis else 1 for a in range(dimensions)])


def _outer_product(factors: list[FloatArray]) -> FloatArray:
    product = np.ones([1] * len(factors))
    for axis, factor in enumerate(factors):
        product = product * _along(axis, factor, len(factors))
    return product


def _half_cells_m2k_w(body: Body) -> list[FloatArray]:
    """Resistance of half a cell along each axis."""
    conductivity = _lookup(body, "conductivity_w_mk")
    return [
        _along(axis, 0.5 * np.diff(edges), len(body.shape)) / conductivity
        for axis, edges in enumerate(body.edges_m)
    ]


def _area_m2(body: Body, axis: int) -> FloatArray:
    """Area of the cell faces normal to an axis, broadcastable to the grid."""
    widths = [np.diff(e) if a != axis else np.ones(1) for a, e in enumerate(body.edges_m)]
    return _outer_product(widths)


def _inner_w_k(body: Body, number: IntArray, half_cells: list[FloatArray]) -> csr_array:
    """Conductances between cells; every row sums to zero."""
    from scipy.sparse import coo_array, csr_array

    count = int(number.max()) + 1
    rows, columns, values = [], [], []
    for axis, half in enumerate(half_cells):
        low = (slice(None),) * axis + (slice(None, -1),)
        high = (slice(None),) * axis + (slice(1, None),)
        joined = (number[low] >= 0) & (number[high] >= 0)
        area = np.broadcast_to(_area_m2(body, axis), body.shape)
        rows.append(number[low][joined])
        columns.append(number[high][joined])
        values.append(area[low][joined] / (half[low][joined] + half[high][joined]))
    a, b, g = (np.concatenate(parts) for parts in (rows, columns, values))
    diagonal = np.bincount(a, g, minlength=count) + np.bincount(b, g, minlength=count)
    every = np.arange(count)
    entries = np.concatenate([-g, -g, diagonal])
    places = (np.concatenate([a, b, every]).astype(np.int32), np.concatenate([b, a, every]).astype(np.int32))
    return csr_array(coo_array((entries, places), shape=(count, count)))


def _faces(body: Body, number: IntArray, names: tuple[str, ...], half_cells: list[FloatArray]) -> Faces:
    """Every face between a solid and an environment."""
    codes = [names.index(f) if isinstance(f, str) else -1 for f in body.fillings]
    environment = np.array([*codes, -1])[body.filling]
    parts: list[dict[str, NDArray[np.generic]]] = []
    for axis in range(len(body.shape)):
        for side, label in enumerate(SIDES):
            facing = _neighbour(environment, axis, side, body.outer.get((axis, label)), names)
            index = np.array(np.nonzero((number >= 0) & (facing >= 0)))
            place = tuple(index)
            centres = [0.5 * (e[i] + e[i + 1]) for e, i in zip(body.edges_m, index, strict=True)]
            centres[axis] = body.edges_m[axis][index[axis] + side]
            parts.append(
                {
                    "cell": number[place],
                    "index": index,
                    "axis": np.full(index.shape[1], axis),
                    "side": np.full(index.shape[1], side),
                    "environment": facing[place],
                    "centres_m": np.array(centres),
                    "area_m2": np.broadcast_to(_area_m2(body, axis), body.shape)[place],
                    "half_cell_m2k_w": half_cells[axis][place],
                }
            )
    joined = {key: np.concatenate([part[key] for part in parts], axis=-1) for key in parts[0]}
    joined["centres_m"] = np.ascontiguousarray(joined["centres_m"].T)
    return Faces(**joined)


def _neighbour(
    environment: IntArray, axis: int, side: int, outer: str | None, names: tuple[str, ...]
) -> IntArray:
    """Environment on one side of every cell, -1 for none."""
    edge = np.full_like(np.take(environment, [0], axis), -1 if outer is None else names.index(outer))
    inner = [slice(None)] * environment.ndim
    inner[axis] = slice(1, None) if side else slice(None, -1)
    parts = [environment[tuple(inner)], edge] if side else [edge, environment[tuple(inner)]]
    return np.concatenate(parts, axis)


def _require_grounded(solid: NDArray[np.bool_], faces: Faces) -> None:
    from scipy.ndimage import label

    pieces, count = label(solid)
    met = np.unique(pieces[tuple(faces.index)])
    if met.size < count:
        raise IllPosed(f"{count - met.size} of {count} solid pieces face no environment")


def _film_m2k_w(name: str, film: Film, centres_m: FloatArray) -> FloatArray:
    values = require_within(f"film of {name}", film(centres_m) if callable(film) else film, 0.0, 100.0)
    if np.isnan(values).any() or values.shape not in ((), (len(centres_m),)):
        raise IllPosed(f"film of {name}: give one number, or one for each of its {len(centres_m)} faces")
    return np.broadcast_to(values, (len(centres_m),))
