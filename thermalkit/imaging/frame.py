"""Dead pixels."""

from __future__ import annotations

import numpy as np

from thermalkit.measured import FloatArray

DEAD_SIGMA = 8.0
DEAD_LEAST_K = 0.5
SHARED_BY_NEIGHBOUR = 0.3


def mask_dead_pixels(frame: FloatArray) -> tuple[FloatArray, int]:
    """Single pixels that stand out and share nothing with their neighbours, as NaN.

    A true spot is blurred by the optics, so at least two neighbours of its peak take part of its
    excess; a stuck pixel stands alone, or with one other.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)
        Temperatures in °C, NaN where masked.

    Returns
    -------
    frame : ndarray of float64, shape (rows, columns)
        A copy with dead pixels masked.
    count : int
        How many.
    """
    from scipy import ndimage

    from thermalkit.imaging.quality import filled

    whole = filled(frame)
    residual = whole - ndimage.median_filter(whole, size=3, mode="nearest")
    sigma = 1.4826 * float(np.median(np.abs(residual)))
    rows, columns = np.nonzero(
        (np.abs(residual) > max(DEAD_SIGMA * sigma, DEAD_LEAST_K)) & np.isfinite(frame)
    )
    padded = np.pad(whole, 1, constant_values=np.nan)
    offsets = [(r, c) for r in range(3) for c in range(3) if (r, c) != (1, 1)]
    around = np.array([padded[rows + r, columns + c] for r, c in offsets]).reshape(8, -1)
    level = np.nanmedian(around, axis=0)
    excess = whole[rows, columns] - level
    # Between leaves, cables or bricks neighbours differ by nature: that much proves nothing.
    spread = 1.4826 * np.nanmedian(np.abs(around - level), axis=0)
    # Second largest share: a neighbour may be dead too.
    shared = np.sort(np.nan_to_num((around - level) * np.sign(excess), nan=-np.inf), axis=0)[-2]
    dead = (shared < SHARED_BY_NEIGHBOUR * np.abs(excess)) & (np.abs(excess) > DEAD_SIGMA * spread)
    masked = frame.copy()
    masked[rows[dead], columns[dead]] = np.nan
    return masked, int(np.count_nonzero(dead))
