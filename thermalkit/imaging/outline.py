"""The outline of a region as a polygon a person can drag."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray

MOST_CORNERS = 12


def outline(region: NDArray[np.bool_], most: int = MOST_CORNERS) -> FloatArray:
    """Corners of a polygon round a region.

    Parameters
    ----------
    region : ndarray of bool, shape (rows, columns)
        One connected area; holes are ignored.
    most : int
        Allowed number of corners, at least 4.

    Returns
    -------
    ndarray of float64, shape (n, 2)
        (row, column), first not repeated, 3 to `most` corners.
    """
    from skimage.measure import approximate_polygon, find_contours

    contours = find_contours(np.pad(region.astype(np.float64), 1), 0.5)
    contour = max(contours, key=len) - 1.0
    tolerance = 0.5
    while tolerance < max(region.shape):
        corners = approximate_polygon(contour, tolerance)[:-1]
        if len(corners) <= most:
            break
        tolerance *= 1.25
    if len(corners) < 3:
        low, high = contour.min(axis=0), contour.max(axis=0)
        corners = np.array([low, (low[0], high[1]), high, (high[0], low[1])])
    return np.asarray(np.clip(corners, 0, np.subtract(region.shape, 1)), dtype=np.float64)
