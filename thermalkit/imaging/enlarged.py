"""Files enlarged from a smaller detector, recognised by what interpolation leaves in them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from thermalkit.measured import FloatArray

MOST = 8  # times
PIECE_PX = 64  # of a row; those with a masked pixel are left out
WITH_STRUCTURE = 0.3  # share of the pieces that change most: elsewhere noise is all there is
MOST_PIECES = 100  # of one column of them
LEAST_BENT = 0.08  # share of places that show noise; a drawn picture changes at a few edges only
# Squared residual of shifted grids over that of the right one, which chance does not reach.
CLEAR = {"nearest": 1.6, "linear": 1.6, "cubic": 1.6}
CLEAR_AFTER_SAVING = {"nearest": 2.0, "linear": 1.6}
GRID_OF_JPEG = {4: 1.1, 8: 1.1}  # clearer still, since blocks of 8 pixels repeat at these
MARGIN = 1.1  # over the next best, where a JPEG left little


@dataclass(frozen=True, slots=True, kw_only=True)
class Enlargement:
    """How a file came from its detector's pixels.

    `factor` is file pixels per detector pixel along a side, 1 where nothing was recognised. `way` is
    nearest, linear, cubic or empty. A detector pixel begins at row and column `first`, and then after
    every `factor`.
    """

    factor: int
    way: str = ""
    first: tuple[int, int] = (0, 0)


def enlarged_from(values: FloatArray, *, is_lossy: bool = False) -> Enlargement:
    """Recognise enlargement by a whole factor: pixels repeated, linear or cubic interpolation.

    A frame enlarged from detector pixels is reproduced by an interpolation on the right grid and by
    none that is shifted. Ratios of residuals are compared, so that what a JPEG added counts alike.

    Parameters
    ----------
    values : ndarray of float64, shape (rows, columns)
        Temperatures, or brightness of a coloured picture, which saving keeps best; NaN where masked.
    is_lossy : bool
        Saved as JPEG, whose own grid of 2, 4 and 8 pixels shows as well. Linear interpolation by 2 or
        3 then drowns and is not recognised.

    Returns
    -------
    Enlargement
        Factor 2 to 8, or 1.
    """
    if not (_is_noisy(values) and _is_noisy(values.T)):
        return Enlargement(factor=1)
    least, own = (CLEAR_AFTER_SAVING, GRID_OF_JPEG) if is_lossy else (CLEAR, {})
    found = sorted(
        (
            _clear(values, factor, way) / (least[way] * (own.get(factor, 1.0) if way == "linear" else 1.0)),
            factor,
            way,
        )
        for way in least
        for factor in range(2, MOST + 1)
        if not (is_lossy and way == "linear" and factor == 2)
    )
    (beaten, _, _), (best, factor, way) = found[-2:]
    if best < 1.0 or (is_lossy and way == "linear" and best < MARGIN * beaten):
        return Enlargement(factor=1)
    if way == "nearest":  # pixels repeated six times are repeated two and three times as well
        factor = max(
            f
            for clear, f, w in found
            if w == way and f % factor == 0 and clear > (0.7 if is_lossy else 0.5) * best
        )
    first = (int(np.argmin(_residuals(v, factor, way))) for v in (values.T, values))
    return Enlargement(factor=factor, way=way, first=(next(first), next(first)))


def _is_noisy(values: FloatArray) -> bool:
    """Whether values change all over, as a detector's do."""
    bend = np.abs(np.diff(values, n=2, axis=1))
    bend = bend[np.isfinite(bend)]
    return bool(bend.size and np.mean(bend > 1e-6 * max(bend.max(), 1e-300)) >= LEAST_BENT)


def _clear(values: FloatArray, factor: int, way: str) -> float:
    """How much better the best grid is than the others, in the less clear of both directions."""
    ratios = []
    for part in (values, values.T):
        residuals = _residuals(part, factor, way)
        others = np.delete(residuals, np.argmin(residuals))
        ratios.append(float(np.median(others) / max(residuals.min(), 1e-9 * others.max() + 1e-300)))
    return min(ratios)


def _residuals(values: FloatArray, factor: int, way: str) -> FloatArray:
    """Squared distance of whole pieces of rows from what can be interpolated, for each first column."""
    found = np.zeros(factor)
    for start in range(0, max(values.shape[1] - PIECE_PX, 0) + 1, PIECE_PX):
        pieces = values[:, start : start + PIECE_PX]
        pieces = pieces[np.isfinite(pieces).all(axis=1)]
        pieces = pieces - pieces.mean(axis=1, keepdims=True)
        if not len(pieces):
            continue
        change = np.sum(np.diff(pieces, axis=1) ** 2, axis=1)
        share = min(WITH_STRUCTURE, MOST_PIECES / len(pieces))
        pieces = pieces[change >= np.quantile(change, 1.0 - share)]
        total = np.sum(pieces**2, axis=1)
        rest = np.stack(
            [
                total
                - np.sum(
                    (pieces @ _basis(pieces.shape[1], factor, (first - start) % factor, way)) ** 2, axis=1
                )
                for first in range(factor)
            ]
        )
        rest = np.maximum(rest, 1e-12 * total)
        # Each piece counts alike: the line of a marker would outweigh all others.
        found += np.sum(rest / np.maximum(rest.mean(axis=0), 1e-300), axis=1)
    return found


@cache
def _basis(count: int, factor: int, first: int, way: str) -> FloatArray:
    """Orthonormal columns that span everything interpolated on one grid, shape (count, detector pixels)."""
    places = (np.arange(count) - first + 0.5) / factor - 0.5
    nodes = np.arange(np.floor(places[0]) - 1, np.ceil(places[-1]) + 2)
    weights = _WAYS[way](np.abs(places[:, None] - nodes[None, :]))
    weights = weights[:, np.any(weights != 0, axis=0)]
    return np.linalg.qr(weights)[0]


def _nearest(apart: FloatArray) -> FloatArray:
    return (apart < 0.5).astype(np.float64)


def _linear(apart: FloatArray) -> FloatArray:
    return np.maximum(1.0 - apart, 0.0)


def _cubic(apart: FloatArray) -> FloatArray:
    """Convolution with the parameter -1/2 (R. Keys 1981, from memory)."""
    near = (1.5 * apart - 2.5) * apart**2 + 1.0
    far = ((-0.5 * apart + 2.5) * apart - 4.0) * apart + 2.0
    return np.where(apart < 1.0, near, np.where(apart < 2.0, far, 0.0))


_WAYS = {"nearest": _nearest, "linear": _linear, "cubic": _cubic}
