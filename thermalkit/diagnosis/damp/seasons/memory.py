"""What a wall still remembers of the weather: outdoor temperature as its inner surface answers to it."""

from __future__ import annotations

import numpy as np

from thermalkit.measured import FloatArray

MEMORY_H = 96
LEAST_REMEMBERED = 2.0 / 3.0  # own choice: share of the memory that has to be on record
_LEVELS = 9
_DAY_RAD_PER_H = 2.0 * np.pi / 24.0


def remembered_degc(outdoor_degc: FloatArray, lag_rad: FloatArray) -> FloatArray:
    """Outdoor temperature damped and delayed as on its way through a wall.

    A daily swing arrives by `lag_rad` later and exp(-lag_rad) times as large, slower changes arrive
    less damped. What is older than four days counts with the mean of these days.

    Parameters
    ----------
    outdoor_degc : ndarray, shape (hours,)
        Hour by hour, NaN where not logged.
    lag_rad : ndarray, shape (draws,)
        Delay of the daily swing, above 0.

    Returns
    -------
    ndarray, shape (hours, draws)
        NaN where less than two thirds of the memory of the slowest wall are on record.

    Source
    ------
    Response of a semi-infinite solid to a step, erfc(z/(2 sqrt(a t))) (Carslaw and Jaeger, Conduction of
    Heat in Solids, 2.5), with z sqrt(pi/(a 24 h)) the delay of the daily swing (2.6).
    """
    from scipy.signal import fftconvolve

    levels = np.linspace(float(lag_rad.min()), float(lag_rad.max()) + 1e-9, _LEVELS)
    weights = _weights(levels)
    logged = np.isfinite(outdoor_degc)
    hours = outdoor_degc.size
    middle = float(np.mean(outdoor_degc[logged])) if logged.any() else 0.0
    about = np.where(logged, outdoor_degc - middle, 0.0)
    remembered = fftconvolve(about[:, None], weights, axes=0)[:hours]
    share = fftconvolve(logged.astype(np.float64)[:, None], weights, axes=0)[:hours]
    enough = (share.min(axis=1) >= LEAST_REMEMBERED - 1e-9)[:, None]
    smoothed = np.where(enough, middle + remembered / np.maximum(share, 1e-9), np.nan)
    position = (lag_rad - levels[0]) / (levels[1] - levels[0])
    below = np.clip(position.astype(np.int64), 0, _LEVELS - 2)
    part = position - below
    mixed: FloatArray = smoothed[:, below] * (1.0 - part) + smoothed[:, below + 1] * part
    return mixed


def _weights(lag_rad: FloatArray) -> FloatArray:
    """Weight of the present hour and the hours before it, summing to 1, shape (hours, levels)."""
    from scipy.special import erfc

    # Means of an hour stand for its middle; a change reaches the next hours half an hour earlier.
    ends_h = np.arange(MEMORY_H + 1)[:, None]
    ends_h = np.maximum(ends_h - 0.5, 0.0)
    with np.errstate(divide="ignore"):
        arrived = erfc(lag_rad / np.sqrt(2.0 * _DAY_RAD_PER_H * ends_h))
    weights: FloatArray = np.diff(arrived, axis=0) + (1.0 - arrived[-1]) / MEMORY_H
    return weights
