"""Where a surveyor would draw the suspect and the sound place."""

from __future__ import annotations

import numpy as np

from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray

_FIRST_ROW, _LAST_ROW = 0.12, 0.85  # clear of ceiling and skirting
_FIRST_COLUMN, _LAST_COLUMN = 0.04, 0.96
_AS_COLD_K = 0.02


def suspect_and_sound(
    wall_degc: FloatArray, along_m: FloatArray, frame: str, rng: np.random.Generator
) -> tuple[Mark, Mark]:
    """A rectangle round the coldest place, and one on the wall far away along its section.

    Parameters
    ----------
    wall_degc : ndarray of float64, shape (rows, columns)
        True temperature of the bare wall.
    along_m : ndarray of float64, broadcastable
        Position along the section, which changes across or down the picture.
    """
    shape = wall_degc.shape
    coldest = _coldest(wall_degc, rng)
    suspect = _rectangle(frame, "suspect", coldest, shape, rng.uniform(0.05, 0.10, 2), rng)
    ends = [np.array(place) * shape for place in _ends(along_m.shape[0] > 1, rng)]
    distances = [abs(_at(along_m, end) - _at(along_m, coldest)) for end in ends]
    farther = ends[int(np.argmax(distances))]
    return suspect, _rectangle(frame, "sound", farther, shape, rng.uniform(0.05, 0.08, 2), rng)


def _coldest(wall_degc: FloatArray, rng: np.random.Generator) -> FloatArray:
    """One of the places that are as cold as the coldest, clear of the picture's edges."""
    rows, columns = wall_degc.shape
    top, left = int(_FIRST_ROW * rows), int(_FIRST_COLUMN * columns)
    inner = wall_degc[top : int(_LAST_ROW * rows), left : int(_LAST_COLUMN * columns)]
    as_cold = np.argwhere(inner <= inner.min() + _AS_COLD_K)
    return np.asarray(as_cold[rng.integers(len(as_cold))] + np.array([top, left]), dtype=np.float64)


def _ends(is_level: bool, rng: np.random.Generator) -> tuple[tuple[float, float], tuple[float, float]]:
    """Places near both ends of the section, as fractions of rows and columns."""
    if is_level:
        column = rng.uniform(0.3, 0.7)
        return (_FIRST_ROW + 0.08, column), (_LAST_ROW - 0.08, column)
    row = rng.uniform(0.35, 0.65)
    return (row, 0.12), (row, 0.88)


def _at(along_m: FloatArray, place: FloatArray) -> float:
    row, column = (min(int(x), side - 1) for x, side in zip(place, along_m.shape, strict=True))
    return float(along_m[row, column])


def _rectangle(
    frame: str,
    role: str,
    centre: FloatArray,
    shape: tuple[int, ...],
    half: FloatArray,
    rng: np.random.Generator,
) -> Mark:
    """A rectangle about a place, not quite centred, inside the picture."""
    half_px = np.maximum(3.0, half * shape)
    middle = centre + rng.uniform(-0.4, 0.4, 2) * half_px
    top, left = np.clip(np.rint(middle - half_px), 2, np.array(shape) - 9).astype(int)
    below, right = np.clip(np.rint(middle + half_px), 8, np.array(shape) - 3).astype(int)
    points = ((top, left), (top, right), (below, right), (below, left))
    return Mark(
        frame=frame, id=role, shape="patch", points=tuple((float(r), float(c)) for r, c in points), role=role
    )
