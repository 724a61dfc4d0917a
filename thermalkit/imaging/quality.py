"""How noisy a frame is, told from the frame alone."""

from __future__ import annotations

import numpy as np

from thermalkit.measured import FloatArray

# Standard deviation of the residual for unit white noise: the root of the sum of squared weights.
_WEIGHTS = np.array([[1.0, -2.0, 1.0], [-2.0, 4.0, -2.0], [1.0, -2.0, 1.0]])


def noise_k(frame: FloatArray, *, pixel_scale: float = 1.0) -> float:
    """Standard deviation of pixel-to-pixel noise.

    The mask cancels planes and straight edges along rows or columns; the median leaves out the rest. Of an
    enlarged file one pixel is taken for each of the detector's, as near its middle as there is one, and
    what linear interpolation averaged away is put back.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)
        Temperatures in °C, NaN where masked; at least 3 x 3 detector pixels.
    pixel_scale : float
        File pixels per detector pixel along a side.

    Returns
    -------
    float
        In K; NaN where no 3 x 3 neighbourhood is whole. Noise that the camera has smoothed gives less than
        the detector's.

    Source
    ------
    J. Immerkaer, Fast noise variance estimation, Computer Vision and Image Understanding 64 (1996)
    300-302 (the mask, from memory), with the median absolute deviation instead of the mean.
    """
    step = max(round(pixel_scale), 1)
    parts = (frame[row::step, column::step] for row in range(step) for column in range(step))
    seen = [found for part in parts if np.isfinite(found := _noise_k(part))]
    if not seen:
        return float("nan")
    return max(seen) / (1.0 if step == 1 or _is_repeated(frame, step) else _left_by_linear(step))


def _noise_k(frame: FloatArray) -> float:
    rows, columns = frame.shape
    if min(rows, columns) < len(_WEIGHTS):
        return float("nan")
    residual = sum(
        _WEIGHTS[r, c] * frame[r : rows - 2 + r, c : columns - 2 + c] for r in range(3) for c in range(3)
    )
    residual = np.asarray(residual)
    whole = residual[np.isfinite(residual)]
    if not whole.size:
        return float("nan")
    spread = 1.4826 * np.median(np.abs(whole))
    return float(spread / np.sqrt(np.sum(_WEIGHTS**2)))


def _is_repeated(frame: FloatArray, step: int) -> bool:
    """Whether values jump once a detector pixel, as repeated ones do, instead of changing all along."""
    jumps = np.abs(np.diff(frame, axis=1))
    parts = (jumps[:, first::step] for first in range(step))
    means = [float(np.mean(part[np.isfinite(part)])) for part in parts if np.isfinite(part).any()]
    return min(means) < 0.4 * max(means)


def _left_by_linear(step: int) -> float:
    """Share of the noise that the mask still finds in pixels interpolated nearest the detector's middles."""
    other = 0.0 if step % 2 else 0.5 / step  # weight of the next detector pixel, along each axis
    left = np.convolve([1.0 - other, other], _WEIGHTS[0])
    return float(np.sum(left**2) / np.sum(_WEIGHTS[0] ** 2))


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
