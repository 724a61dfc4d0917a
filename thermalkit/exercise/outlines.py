"""Outlines of the parts of a mask, as a key holds them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.outline import outline

LEAST_PIXELS = 12
MOST_CORNERS = 40


def polygons(mask: NDArray[np.bool_]) -> list[list[list[float]]]:
    """Corners (row, column) of every part that is not tiny, the largest first."""
    from scipy import ndimage

    parts, _ = ndimage.label(mask)
    sizes = np.bincount(parts.ravel())[1:]
    order = [int(n) for n in np.argsort(-sizes, kind="stable") if sizes[n] >= LEAST_PIXELS]
    return [
        [[round(float(r), 1), round(float(c), 1)] for r, c in outline(parts == number + 1, MOST_CORNERS)]
        for number in order
    ]


def largest(mask: NDArray[np.bool_]) -> tuple[tuple[float, float], ...]:
    """Corners of the largest part."""
    return tuple((row, column) for row, column in polygons(mask)[0])
