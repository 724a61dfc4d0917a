"""Dead pixels, and files larger than the detector they came from."""

from __future__ import annotations

import numpy as np

from thermalkit.measured import FloatArray

DEAD_SIGMA = 8.0
DEAD_LEAST_K = 0.5
SHARED_BY_NEIGHBOUR = 0.3
MOST_ENLARGED = 8
QUIET = 0.4  # what rounding to 0.01 K leaves of a difference that should vanish


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


def enlargement(frame: FloatArray) -> int:
    """How many times a file was enlarged from a smaller detector, as far as the data show it.

    Repeated pixels and linear interpolation by a whole factor leave a pattern of that period;
    anything else (cubic interpolation, later smoothing) is not recognised and gives 1.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)

    Returns
    -------
    int
        File pixels per detector pixel along a side, 1 to 8.
    """
    if np.isnan(frame).any():
        from thermalkit.imaging.quality import filled

        frame = filled(frame)
    for factor in range(MOST_ENLARGED, 1, -1):
        if all(_is_repeated(part, factor) for part in (frame, frame.T)):
            return factor
    for factor in range(MOST_ENLARGED, 1, -1):
        if all(_is_interpolated(part, factor) for part in (frame, frame.T)):
            return factor
    return 1


def _is_repeated(frame: FloatArray, factor: int) -> bool:
    """Whether columns come in groups of equal ones."""
    columns = frame.shape[1]
    if columns % factor or columns == factor:
        return False
    steps = np.abs(np.diff(frame, axis=1))
    inside = np.arange(1, columns) % factor != 0
    return bool(np.all(steps[:, inside] == 0) and np.any(steps[:, ~inside] > 0))


def _is_interpolated(frame: FloatArray, factor: int) -> bool:
    """Whether a difference that vanishes between the kinks of linear interpolation does so."""
    bend = np.diff(frame, n=3 if factor == 2 else 2, axis=1)
    energy = np.sqrt(np.mean(bend**2, axis=0))
    phases = np.array([np.median(energy[start::factor]) for start in range(factor)])
    loud = phases >= QUIET * phases.max()
    # Kinks lie between two neighbouring pixels for an even factor, on one for an odd one.
    side_by_side = np.count_nonzero(loud & np.roll(loud, 1))
    return bool(
        np.count_nonzero(loud) == 1 if factor % 2 or factor == 2 else loud.sum() == 2 and side_by_side
    )
