"""A multigrid cycle for rectilinear grids with layers of very different materials and cell widths.

Three ideas make few and cheap iterations enough. Only neighbours that are both narrow are merged, axis by
axis, so a grid graded towards edges and corners first becomes even and then coarse. Nothing is merged across
a joint of materials until the layer on one side is a single cell. The conductance between merged cells
counts the way from middle to middle. The cells of one colour of a chessboard are relaxed at once.

The cycle only steers conjugate gradients, so it works in single precision.

Source
------
Red-black relaxation and semi-coarsening: Trottenberg, Oosterlee & Schüller (2001), Multigrid, chapters 2 and
5 (from memory); the rules for joints and series resistances are our own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from thermalkit.physics.conduction.network import IntArray, Network, couplings, pair
from thermalkit.physics.domain import FloatArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Single = NDArray[np.float32]
BoolArray = NDArray[np.bool_]
Cycle = Callable[[FloatArray], FloatArray]

_SWEEPS = 2
_DIRECT_UP_TO = 1500
# The widest pair that is merged first, in finest cells; each level doubles it at least.
_FIRST_PAIR = 2.5
_SHRINK = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Conductances on one level: between neighbours along each axis, and of each cell to the ground.

    `joints` marks the edges of each axis at which layers of material end.
    """

    edges_m: tuple[FloatArray, ...]
    joints: tuple[BoolArray, ...]
    solid: BoolArray
    between_w_k: tuple[FloatArray, ...]
    ground_w_k: FloatArray

    def colours(self) -> tuple[IntArray, IntArray]:
        """Places of the solid cells of either colour in the flattened grid."""
        odd = sum(np.ogrid[tuple(slice(0, n) for n in self.solid.shape)]) % 2 == 1
        return np.flatnonzero(self.solid & ~odd), np.flatnonzero(self.solid & odd)


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """What one relaxation needs, red cells before black ones, and who of the next level owns each cell."""

    reds: int
    to_red: csr_array
    to_black: csr_array
    red_k_w: Single
    black_k_w: Single
    owner: IntArray
    gather: csr_array


def multigrid(network: Network, ground_w_k: FloatArray) -> Cycle:
    """Approximate inverse of the network's matrix with `ground_w_k` (solids,) added to its diagonal."""
    grid = _finest(network, ground_w_k)
    levels, widest = [], _FIRST_PAIR * min(float(np.diff(e).min()) for e in grid.edges_m)
    first = np.concatenate(grid.colours())
    while np.count_nonzero(grid.solid) > _DIRECT_UP_TO:
        coarse, starts, widest = _merged(grid, widest)
        levels.append(_level(grid, coarse, starts))
        grid = coarse
    order, bottom = network.number.ravel()[first], _bottom(grid)

    def cycle(residual: FloatArray) -> FloatArray:
        size = float(np.abs(residual).max()) or 1.0
        correction = np.empty_like(residual)
        correction[order] = _cycle(levels, bottom, (residual[order] / size).astype(np.float32))
        return correction * size

    return cycle


def _cycle(levels: list[Level], bottom: Callable[[FloatArray], FloatArray], load: Single) -> Single:
    """One V-cycle from a guess of zero; relaxing back in reverse order keeps it symmetric."""
    if not levels:
        return bottom(load.astype(np.float64)).astype(np.float32)
    level = levels[0]
    red_load, black_load = load[: level.reds], load[level.reds :]
    red = red_load * level.red_k_w
    black = (black_load + level.to_black @ red) * level.black_k_w
    for _ in range(_SWEEPS - 1):
        red = (red_load + level.to_red @ black) * level.red_k_w
        black = (black_load + level.to_black @ red) * level.black_k_w
    # Black cells are balanced now, so only red ones leave something to the next level.
    rest = red_load + level.to_red @ black - red / level.red_k_w
    step = _cycle(levels[1:], bottom, level.gather @ rest)[level.owner]
    red, black = red + step[: level.reds], black + step[level.reds :]
    for _ in range(_SWEEPS):
        black = (black_load + level.to_black @ red) * level.black_k_w
        red = (red_load + level.to_red @ black) * level.red_k_w
    return np.concatenate([red, black])


def _finest(network: Network, ground_w_k: FloatArray) -> Grid:
    solid = network.number >= 0
    joints = []
    for axis in range(solid.ndim):
        across = tuple(a for a in range(solid.ndim) if a != axis)
        change = np.any(np.diff(network.filling, axis=axis) != 0, axis=across)
        joints.append(np.concatenate([[True], change, [True]]))
    return Grid(
        edges_m=network.edges_m,
        joints=tuple(joints),
        solid=solid,
        between_w_k=network.between_w_k,
        ground_w_k=np.where(solid, ground_w_k[network.number], 0.0),
    )


def _merged(grid: Grid, widest: float) -> tuple[Grid, list[IntArray], float]:
    """The next level, the first cell of each of its cells, and the widest pair to merge after it."""
    joints = [_without_single_cells(j) for j in grid.joints]
    while True:
        starts = [_starts(e, j, widest) for e, j in zip(grid.edges_m, joints, strict=True)]
        widest *= 2.0
        if np.prod([s.size for s in starts]) < _SHRINK * grid.solid.size:
            break
    ends = [np.append(s, n) for s, n in zip(starts, grid.solid.shape, strict=True)]
    solid, ground = grid.solid, grid.ground_w_k
    for axis, first in enumerate(starts):
        solid = np.logical_or.reduceat(solid, first, axis)
        ground = np.add.reduceat(ground, first, axis)
    coarse = Grid(
        edges_m=tuple(e[k] for e, k in zip(grid.edges_m, ends, strict=True)),
        joints=tuple(j[k] for j, k in zip(joints, ends, strict=True)),
        solid=solid,
        between_w_k=tuple(_between(grid, starts, axis) for axis in range(solid.ndim)),
        ground_w_k=ground,
    )
    return coarse, starts, widest


def _without_single_cells(joints: BoolArray) -> BoolArray:
    """A layer of one cell joins its upper neighbour, the last one its lower."""
    places = np.flatnonzero(joints)
    single = np.flatnonzero(np.diff(places) == 1)
    freed = places[np.where(single + 2 < places.size, single + 1, single)]
    kept = joints.copy()
    kept[freed] = False
    kept[[0, -1]] = True
    return kept


def _starts(edges: FloatArray, joints: BoolArray, widest: float) -> IntArray:
    """First cell of each merged cell along an axis."""
    starts, cell = [], 0
    while cell < edges.size - 1:
        starts.append(cell)
        pairs = not joints[cell + 1] and edges[cell + 2] - edges[cell] <= widest
        cell += 2 if pairs else 1
    return np.array(starts)


def _between(grid: Grid, starts: list[IntArray], axis: int) -> FloatArray:
    """Conductances of merged neighbours: half the way within either, in series with their common face."""
    first = starts[axis]
    fine = grid.between_w_k[axis]
    with np.errstate(divide="ignore"):
        resistance = 1.0 / fine
    within = np.take(resistance, first, axis, mode="clip") if fine.size else np.zeros(grid.solid.shape)
    alone = np.diff(np.append(first, grid.solid.shape[axis])) == 1
    alone = alone.reshape([-1 if a == axis else 1 for a in range(grid.solid.ndim)])
    within = np.where(alone | np.isinf(within), 0.0, 0.5 * within)
    low, high = pair(grid.solid.ndim, axis)
    merged = 1.0 / (np.take(resistance, first[1:] - 1, axis) + within[low] + within[high])
    for across, group in enumerate(starts):
        if across != axis:
            merged = np.add.reduceat(merged, group, across)
    return merged


def _chessboard(grid: Grid) -> tuple[IntArray, IntArray, csr_array, FloatArray]:
    """Red and black places, conductances from black to red cells, and the diagonal on the flattened grid."""
    from scipy.sparse import coo_array, csr_array

    red, black = grid.colours()
    number = np.full(grid.solid.size, -1)
    number[red], number[black] = np.arange(red.size), red.size + np.arange(black.size)
    one, other, values = couplings(number.reshape(grid.solid.shape), grid.between_w_k)
    places = (np.minimum(one, other).astype(np.int32), (np.maximum(one, other) - red.size).astype(np.int32))
    joined = csr_array(coo_array((values, places), shape=(red.size, black.size)))
    diagonal = grid.ground_w_k.copy()
    for axis, conductance in enumerate(grid.between_w_k):
        low, high = pair(diagonal.ndim, axis)
        diagonal[low] += conductance
        diagonal[high] += conductance
    return red, black, joined, diagonal.ravel()


def _level(grid: Grid, coarse: Grid, starts: list[IntArray]) -> Level:
    from scipy.sparse import csr_array

    red, black, joined, diagonal = _chessboard(grid)
    merged_into = np.ix_(
        *(
            np.searchsorted(s, np.arange(n), "right") - 1
            for s, n in zip(starts, grid.solid.shape, strict=True)
        )
    )
    coarse_places = np.concatenate(coarse.colours())
    coarse_number = np.full(coarse.solid.size, -1)
    coarse_number[coarse_places] = np.arange(coarse_places.size)
    owner = coarse_number.reshape(coarse.solid.shape)[merged_into].ravel()[np.concatenate([red, black])]
    ones = np.ones(red.size, dtype=np.float32)
    places = (owner[: red.size], np.arange(red.size))
    return Level(
        reds=red.size,
        to_red=joined.astype(np.float32),
        to_black=csr_array(joined.T).astype(np.float32),
        red_k_w=(1.0 / diagonal[red]).astype(np.float32),
        black_k_w=(1.0 / diagonal[black]).astype(np.float32),
        owner=owner,
        gather=csr_array((ones, places), shape=(coarse_places.size, red.size)),
    )


def _bottom(grid: Grid) -> Callable[[FloatArray], FloatArray]:
    """Direct solution on the coarsest level."""
    from scipy.sparse import block_array, diags_array
    from scipy.sparse.linalg import splu

    red, black, joined, diagonal = _chessboard(grid)
    blocks: list[list[Any]] = [
        [diags_array(diagonal[red]), -joined],
        [-joined.T, diags_array(diagonal[black])],
    ]
    solve: Callable[[FloatArray], FloatArray] = splu(block_array(blocks, format="csc")).solve
    return solve
