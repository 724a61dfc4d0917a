"""How noisy a frame is, told from the frame alone."""

from __future__ import annotations

import numpy as np

from thermalkit.measured import FloatArray

# Standard deviation of the residual for unit white noise: the root of the sum of squared weights.
_WEIGHTS = np.array([[1.0, -2.0, 1.0], [-2.0, 4.0, -2.0], [1.0, -2.0, 1.0]])


def noise_k(frame: FloatArray) -> float:
    """Standard deviation of pixel-to-pixel noise.

    The mask cancels planes and straight edges along rows or columns; the median leaves out the rest.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)
        Temperatures in °C, NaN where masked; at least 3 x 3.

    Returns
    -------
    float
        In K; NaN where no 3 x 3 neighbourhood is whole. Noise that the camera has smoothed, or a
        file that was enlarged, gives less than the detector's.

    Source
    ------
    J. Immerkaer, Fast noise variance estimation, Computer Vision and Image Understanding 64 (1996)
    300-302 (the mask, from memory), with the median absolute deviation instead of the mean.
    """
    rows, columns = frame.shape
    residual = sum(
        _WEIGHTS[r, c] * frame[r : rows - 2 + r, c : columns - 2 + c] for r in range(3) for c in range(3)
    )
    residual = np.asarray(residual)
    whole = residual[np.isfinite(residual)]
    if not whole.size:
        return float("nan")
    spread = 1.4826 * np.median(np.abs(whole))
    return float(spread / np.sqrt(np.sum(_WEIGHTS**2)))


def filled(frame: FloatArray) -> FloatArray:
    """A copy in which each masked pixel takes the value of the nearest one that is not.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)
        At least one value is not NaN.
    """
    from scipy import ndimage

    masked = np.isnan(frame)
    if not masked.any():
        return frame.copy()
    rows, columns = ndimage.distance_transform_edt(masked, return_distances=False, return_indices=True)
    return np.asarray(frame[rows, columns])
