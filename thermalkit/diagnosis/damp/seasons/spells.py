"""How often, and how long at a stretch, something is above a level; gaps end a stretch."""

from __future__ import annotations

import numpy as np

from thermalkit.measured import FloatArray


def hours_at_least(values: FloatArray, level: float) -> FloatArray:
    """Hours at or above a level, shape (draws,); a missing hour (NaN) never counts.

    Parameters
    ----------
    values : ndarray, shape (hours, draws)
    level : float
    """
    return np.asarray(np.count_nonzero(values >= level, axis=0), dtype=np.float64)


def longest_spell_h(values: FloatArray, level: float) -> FloatArray:
    """Longest stretch of hours at or above a level, shape (draws,).

    Examples
    --------
    >>> longest_spell_h(np.array([[0.8], [0.9], [np.nan], [0.9], [0.7]]), 0.8)
    array([2.])
    """
    hours = np.arange(1, len(values) + 1)[:, None]
    last_below = np.maximum.accumulate(np.where(values >= level, 0, hours), axis=0)
    return np.asarray((hours - last_below).max(axis=0, initial=0), dtype=np.float64)


def highest_mean(values: FloatArray, window: int, least: int) -> FloatArray:
    """Highest mean over any `window` hours that hold at least `least` known ones, shape (draws,).

    The mean of all known hours where the record is no longer than the window, or no window holds enough.

    Parameters
    ----------
    values : ndarray, shape (hours, draws)
        A missing hour is NaN in every draw.
    window, least : int
    """
    known = np.isfinite(values[:, :1])
    count = _running(known.astype(np.float64), window)
    if len(values) <= window or not np.any(count >= least):
        whole: FloatArray = np.nanmean(values, axis=0)
        return whole
    means = _running(np.where(known, values, 0.0), window) / np.maximum(count, 1.0)
    highest: FloatArray = np.where(count >= least, means, -np.inf).max(axis=0)
    return highest


def _running(values: FloatArray, window: int) -> FloatArray:
    total = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])
    return total[window:] - total[:-window] if len(values) > window else total[-1:]
