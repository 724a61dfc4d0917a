"""Cell edges that are fine where temperatures bend and coarse where they do not."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within


def graded_edges_m(
    breakpoints_m: ArrayLike,
    finest_m: ArrayLike,
    growth: float = 1.5,
    *,
    coarsest_m: float = np.inf,
) -> FloatArray:
    """Edges of cells along one axis, fine at every breakpoint and growing towards the middle between.

    Parameters
    ----------
    breakpoints_m : array_like, shape (n,)
        Where materials, surfaces and corners lie, increasing; each becomes an edge.
    finest_m : float or array_like, shape (n,)
        Width of the cells next to the breakpoints, or to each of them; an upper bound, since
        widths are scaled to fill their segment. A segment has at least two cells.
    growth : float
        Width ratio of neighbouring cells, 1 to 5.
    coarsest_m : float
        No cell is wider.

    Returns
    -------
    ndarray of float64, shape (cells + 1,)

    Raises
    ------
    OutOfDomain
        Breakpoints that do not increase, or a width or growth outside its range.

    Examples
    --------
    >>> graded_edges_m([0.0, 1.0], 0.1, 2.0)
    array([0. , 0.1, 0.3, 0.7, 0.9, 1. ])
    """
    points = require_within("breakpoints_m", breakpoints_m, -1e4, 1e4)
    if points.ndim != 1 or points.size < 2 or not np.all(np.diff(points) > 0.0):
        raise OutOfDomain(say("physics.increasing-breakpoints"))
    require_within("growth", growth, 1.0, 5.0)
    finest = np.broadcast_to(require_within("finest_m", finest_m, 1e-7, 1e4), points.shape)
    pieces = [
        low + np.cumsum(_widths_m(high - low, first, last, growth, coarsest_m))
        for low, high, first, last in zip(points, points[1:], finest, finest[1:], strict=False)
    ]
    for piece, high in zip(pieces, points[1:], strict=True):
        piece[-1] = high
    return np.concatenate([points[:1], *pieces])


def _widths_m(length: float, first: float, last: float, growth: float, coarsest: float) -> FloatArray:
    """Widths growing from both ends until they fill `length`, then scaled to it."""
    ends = [[min(first, coarsest)], [min(last, coarsest)]]
    filled = ends[0][0] + ends[1][0]
    while filled < length * (1.0 - 1e-9):
        narrower = min(ends, key=lambda end: end[-1])
        narrower.append(min(narrower[-1] * growth, coarsest))
        filled += narrower[-1]
    widths = np.array(ends[0] + ends[1][::-1])
    return widths * (length / filled)
