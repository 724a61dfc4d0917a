"""Places drawn on a frame."""

from __future__ import annotations

from dataclasses import dataclass
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
        A pin covers the 3 x 3 pixels round it, a trace the pixels its line passes.
    shape : (rows, columns)
        Size of the frame; what lies outside is cut off.

    Returns
    -------
    ndarray of bool, shape (rows, columns)
    """
    from skimage.draw import line, polygon2mask

    points = np.asarray(mark.points, dtype=np.float64)
    mask = np.zeros(shape, dtype=np.bool_)
    if mark.shape == "pin":
        row, column = np.rint(points[0]).astype(int)
        mask[max(row - 1, 0) : max(row + 2, 0), max(column - 1, 0) : max(column + 2, 0)] = True
    elif mark.shape == "patch":
        mask = np.asarray(polygon2mask(shape, points), dtype=np.bool_)
        corners = np.rint(points).astype(int)
        inside = np.all((corners >= 0) & (corners < shape), axis=1)
        mask[tuple(corners[inside].T)] = True
    else:
        for start, end in zip(points[:-1], points[1:], strict=True):
            rows, columns = line(*np.rint(start).astype(int), *np.rint(end).astype(int))
            keep = (rows >= 0) & (rows < shape[0]) & (columns >= 0) & (columns < shape[1])
            mask[rows[keep], columns[keep]] = True
    return mask
