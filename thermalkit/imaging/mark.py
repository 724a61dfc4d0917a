"""Places drawn on a frame."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Shape = Literal["pin", "patch", "trace"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A named place on one frame.

    `points` are (row, column) pixel centres: one for a pin, a closed outline for a patch (three or
    more, first not repeated), an open line for a trace (two or more).
    """

    frame: str
    id: str
    shape: Shape
    points: tuple[tuple[float, float], ...]
    role: str = "suspect"

    def as_json(self) -> dict[str, Any]:
        """Plain data, the form in site file and record."""
        return {
            "frame": self.frame,
            "id": self.id,
            "shape": self.shape,
            "points": [list(p) for p in self.points],
            "role": self.role,
        }


def mark_mask(mark: Mark, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Pixels that belong to a mark.

    Parameters
    ----------
    mark : Mark
        A pin covers the 3 x 3 pixels round it, a patch the pixels inside and its corners, a trace
        the pixels its line passes.
    shape : (rows, columns)
        Size of the frame; what lies outside is cut off.

    Returns
    -------
    ndarray of bool, shape (rows, columns)
    """
    from skimage.draw import polygon

    points = np.asarray(mark.points, dtype=np.float64)
    mask = np.zeros(shape, dtype=np.bool_)
    if mark.shape == "pin":
        row, column = np.rint(np.clip(points[0], -9, np.add(shape, 9))).astype(int)
        mask[max(row - 1, 0) : max(row + 2, 0), max(column - 1, 0) : max(column + 2, 0)] = True
    elif mark.shape == "patch":
        mask[polygon(points[:, 0], points[:, 1], shape)] = True
        near = np.rint(np.clip(points, -9, np.add(shape, 9))).astype(int)
        inside = np.all((near >= 0) & (near < shape), axis=1)
        mask[tuple(near[inside].T)] = True
    else:
        for start, end in pairwise(points):
            mask[_passed(start, end, shape)] = True
    return mask


def _passed(
    start: NDArray[np.float64], end: NDArray[np.float64], shape: tuple[int, int]
) -> tuple[NDArray[np.intp], ...]:
    """Pixels of a straight line, cut to the frame before it is divided: far ends cost nothing."""
    step = end - start
    first, last = 0.0, 1.0
    for axis in (0, 1):
        edges = np.array([-0.5, shape[axis] - 0.5]) - start[axis]
        if step[axis] == 0:
            last = last if edges[0] <= 0 <= edges[1] else -1.0
        else:
            enters, leaves = np.sort(edges / step[axis])
            first, last = max(first, enters), min(last, leaves)
    if first > last:
        return (np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp))
    count = int(np.ceil(np.max(np.abs(step)) * (last - first))) + 1
    along = np.linspace(first, last, count)[:, None]
    pixels = np.clip(np.rint(start + along * step), 0, np.subtract(shape, 1)).astype(np.intp)
    return tuple(pixels.T)
