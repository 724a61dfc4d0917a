"""Temperatures between cell centres, without smearing across a material's edge.

Within a cell the temperature runs straight from the centre to each face; a face between two cells takes the
temperature at which the heat flows of both sides agree, a face at an environment its surface temperature.
Where several cells meet in a point each counts with its conductivity over its size, as it does in their heat
balance: so edges, corners and points on a metal's edge are not smeared.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from thermalkit.physics.conduction.body import Material
from thermalkit.physics.conduction.network import IntArray, Network, pair
from thermalkit.physics.domain import FloatArray

_SNAP = 1e-9


def inside(
    network: Network, cells: FloatArray, surface: FloatArray, points_m: FloatArray, material: str | None
) -> FloatArray:
    """Temperature within solids, or within one material; NaN where there is none. Shape (points,)."""
    conductivity = np.array([_conductivity_w_mk(f, material) for f in network.fillings] + [0.0])
    planes = [_on_planes(network, cells, surface, axis) for axis in range(len(network.edges_m))]
    total, weight = np.zeros(len(points_m)), np.zeros(len(points_m))
    for index, met in _cells_touching(network, points_m):
        chosen = met & (conductivity[network.filling[tuple(index)]] > 0.0)
        place = index[:, chosen]
        widths = [np.diff(edges)[i] for edges, i in zip(network.edges_m, place, strict=True)]
        share = conductivity[network.filling[tuple(place)]] / np.prod(widths, axis=0)
        total[chosen] += share * _in_cells(network, cells, planes, place, points_m[chosen])
        weight[chosen] += share
    return np.where(weight > 0.0, total / np.where(weight > 0.0, weight, 1.0), np.nan)


def _conductivity_w_mk(filling: Material | str, wanted: str | None) -> float:
    return (
        filling.conductivity_w_mk if isinstance(filling, Material) and wanted in (None, filling.name) else 0.0
    )


def touches(network: Network, points_m: FloatArray, environment: int) -> NDArray[np.bool_]:
    """Which points lie on a surface that faces an environment. Shape (points,)."""
    found = np.zeros(len(points_m), dtype=np.bool_)
    for axis, edges in enumerate(network.edges_m):
        facing = _facing(network, axis)
        plane, on_plane = _nearest_edge(edges, points_m[:, axis])
        for index, met in _cells_touching(network, points_m, skip=axis):
            index[axis] = plane
            found |= met & on_plane & (facing[tuple(index)] == environment)
    return found


def vertices_m(network: Network, environment: int) -> FloatArray:
    """Corners of all faces that look at an environment, each once. Shape (vertices, axes)."""
    faces = network.faces
    places = []
    for corner in product((0, 1), repeat=len(network.edges_m)):
        chosen = (faces.environment == environment) & (np.array(corner)[faces.axis] == faces.side)
        places.append(faces.index[:, chosen] + np.array(corner)[:, None])
    unique = np.unique(np.concatenate(places, axis=1), axis=1)
    return np.array([edges[i] for edges, i in zip(network.edges_m, unique, strict=True)]).T


def _in_cells(
    network: Network, cells: FloatArray, planes: list[FloatArray], place: IntArray, points_m: FloatArray
) -> FloatArray:
    centre = cells[network.number[tuple(place)]]
    values: FloatArray = centre.copy()
    for axis, edges in enumerate(network.edges_m):
        low, high = edges[place[axis]], edges[place[axis] + 1]
        offset = (points_m[:, axis] - 0.5 * (low + high)) / (0.5 * (high - low))
        plane = place.copy()
        plane[axis] += offset > 0.0
        values += (planes[axis][tuple(plane)] - centre) * np.abs(offset)
    return values


def _on_planes(network: Network, cells: FloatArray, surface: FloatArray, axis: int) -> FloatArray:
    """Temperature of every cell face normal to an axis; NaN between two voids."""
    conductivity = [f.conductivity_w_mk if isinstance(f, Material) else 0.0 for f in network.fillings]
    widths = np.diff(network.edges_m[axis])
    shape = [-1 if a == axis else 1 for a in range(network.number.ndim)]
    weight = np.array([*conductivity, 0.0])[network.filling] / widths.reshape(shape)
    grid = np.where(network.number >= 0, cells[network.number], 0.0)
    ends = [(1, 1) if a == axis else (0, 0) for a in range(network.number.ndim)]
    weight, flow = np.pad(weight, ends), np.pad(weight * grid, ends)
    low, high = pair(network.number.ndim, axis)
    with np.errstate(invalid="ignore"):
        planes: FloatArray = (flow[low] + flow[high]) / (weight[low] + weight[high])
    chosen, place = network.faces.on_plane(axis)
    planes[place] = surface[chosen]
    return planes


def _facing(network: Network, axis: int) -> IntArray:
    """Environment at every cell face normal to an axis, -1 for none."""
    shape = tuple(n + (a == axis) for a, n in enumerate(network.number.shape))
    facing = np.full(shape, -1, dtype=np.int64)
    chosen, place = network.faces.on_plane(axis)
    facing[place] = network.faces.environment[chosen]
    return facing


def _nearest_edge(edges: FloatArray, positions: FloatArray) -> tuple[IntArray, NDArray[np.bool_]]:
    upper = np.clip(np.searchsorted(edges, positions), 1, edges.size - 1)
    nearest = np.where(positions - edges[upper - 1] < edges[upper] - positions, upper - 1, upper)
    return nearest, np.abs(edges[nearest] - positions) <= _SNAP * (edges[-1] - edges[0])


def _cells_touching(
    network: Network, points_m: FloatArray, skip: int | None = None
) -> list[tuple[IntArray, NDArray[np.bool_]]]:
    """Index (axes, points) of each cell that touches a point, and whether it is a cell not seen before."""
    both = []
    for axis, edges in enumerate(network.edges_m):
        positions = points_m[:, axis]
        snap = _SNAP * (edges[-1] - edges[0])
        low = np.searchsorted(edges, positions - snap, side="left") - 1
        high = np.searchsorted(edges, positions + snap, side="right") - 1
        on_grid = [(low >= 0) & (low < edges.size - 1), (high >= 0) & (high < edges.size - 1) & (high != low)]
        index = [np.clip(i, 0, edges.size - 2) for i in (low, high)]
        both.append(
            [(index[0], np.ones_like(on_grid[0]))] if axis == skip else list(zip(index, on_grid, strict=True))
        )
    return [
        (np.array([index for index, _ in combination]), np.all([met for _, met in combination], axis=0))
        for combination in product(*both)
    ]
