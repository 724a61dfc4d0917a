"""Outlines of the visible picture blended into a thermal one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray

BoolArray = NDArray[np.bool_]
FINER_THAN_PX = 3  # an outline is one or two pixels wide
LEAST_FACTOR = 3
SURE_STEPS = 6.0  # half-widths of what a colour leaves open, which an outline exceeds
SHARE_OF_SPAN = (0.01, 0.05)
SIGMAS = 8.0
LEAST_LINES = 0.002  # share of the pixels, below which it is a speck and no outline


def outlines(temperature_degc: FloatArray, factor: float, step_k: float) -> BoolArray:
    """Lines finer than the detector can show: drawn by another camera, whatever their colour.

    A frame enlarged from detector pixels shows nothing narrower than one of them. What an opening or
    a closing by a square smaller than that takes away was added afterwards.

    Parameters
    ----------
    temperature_degc : ndarray of float64, shape (rows, columns)
        NaN where masked.
    factor : float
        File pixels per detector pixel along a side; below 3 nothing can be told.
    step_k : float
        Half-width of what a colour leaves open.

    Returns
    -------
    ndarray of bool, shape (rows, columns)
        The lines and the pixels beside them; all False where there are none.
    """
    from scipy import ndimage

    from thermalkit.imaging.quality import filled

    none = np.zeros(temperature_degc.shape, dtype=np.bool_)
    valid = np.isfinite(temperature_degc)
    if factor < LEAST_FACTOR or not valid.any():
        return none
    whole = filled(temperature_degc)
    size = (FINER_THAN_PX, FINER_THAN_PX)
    bright = whole - ndimage.grey_opening(whole, size=size)
    dark = ndimage.grey_closing(whole, size=size) - whole
    fine = np.maximum(bright, dark)
    sigma = 1.4826 * float(np.median(fine[valid]))
    least, most = (share * float(np.ptp(whole[valid])) for share in SHARE_OF_SPAN)
    found = valid & (fine > max(min(max(SIGMAS * sigma, least), most), SURE_STEPS * step_k))
    if np.mean(found) < LEAST_LINES:
        return none
    return np.asarray(ndimage.binary_dilation(found, np.ones((3, 3), dtype=np.bool_)))
