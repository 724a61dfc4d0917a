"""From a painted body to its network of conductances.

Two cells are joined by the harmonic mean of their conductances, a cell and an environment by half the cell
in series with the surface resistance, so interfaces and films add no error of their own.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from thermalkit.language import say
from thermalkit.physics.conduction.body import Body, Material, Side
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.conduction.network import Faces, Films, IntArray, Network, couplings, pair
from thermalkit.physics.domain import FloatArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

SIDES: tuple[Side, ...] = ("low", "high")


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
        raise IllPosed(say("physics.no-solid"))
    number = np.full(body.shape, -1, dtype=np.int64)
    number[solid] = np.arange(np.count_nonzero(solid))
    names = tuple(dict.fromkeys([f for f in body.fillings if isinstance(f, str)] + list(body.outer.values())))
    half_cells = _half_cells_m2k_w(body)
    faces = _faces(body, number, names, half_cells)
    _require_grounded(solid, faces)
    met = tuple(name for k, name in enumerate(names) if np.any(faces.environment == k))
    if set(met) != set(films_m2k_w):
        raise IllPosed(say("physics.films", given=", ".join(sorted(films_m2k_w)), met=", ".join(sorted(met))))
    renumber = np.array([met.index(name) if name in met else -1 for name in names])
    between_w_k = _between_w_k(body, half_cells)
    volume = _outer_product([np.diff(edges) for edges in body.edges_m])
    network = Network(
        edges_m=body.edges_m,
        number=number,
        filling=body.filling.copy(),
        fillings=tuple(body.fillings),
        environments=met,
        between_w_k=between_w_k,
        inner_w_k=_inner_w_k(number, between_w_k),
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
    """Resistance of half a cell along each axis, infinite where there is no solid."""
    conductivity = _lookup(body, "conductivity_w_mk")
    return [
        np.nan_to_num(_along(axis, 0.5 * np.diff(edges), len(body.shape)) / conductivity, nan=np.inf)
        for axis, edges in enumerate(body.edges_m)
    ]


def _area_m2(body: Body, axis: int) -> FloatArray:
    """Area of the cell faces normal to an axis, broadcastable to the grid."""
    widths = [np.diff(e) if a != axis else np.ones(1) for a, e in enumerate(body.edges_m)]
    return _outer_product(widths)


def _between_w_k(body: Body, half_cells: list[FloatArray]) -> tuple[FloatArray, ...]:
    """Conductance of every pair of neighbours along each axis, 0 where one is no solid."""
    between = []
    for axis, half in enumerate(half_cells):
        low, high = pair(len(body.shape), axis)
        area = np.broadcast_to(_area_m2(body, axis), body.shape)[low]
        between.append(area / (half[low] + half[high]))
    return tuple(between)


def _inner_w_k(number: IntArray, between_w_k: tuple[FloatArray, ...]) -> csr_array:
    """The same as a matrix of the solids; every row sums to zero."""
    from scipy.sparse import coo_array, csr_array

    one, other, values = couplings(number, between_w_k)
    count = int(number.max()) + 1
    diagonal = np.bincount(one, values, minlength=count) + np.bincount(other, values, minlength=count)
    every = np.arange(count)
    rows, columns = np.concatenate([one, other, every]), np.concatenate([other, one, every])
    entries = np.concatenate([-values, -values, diagonal])
    places = (rows.astype(np.int32), columns.astype(np.int32))
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
        raise IllPosed(say("physics.loose-pieces", loose=int(count - met.size), count=int(count)))
