"""Long records for a chart: by day, week or month where hours would be too many to draw."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray

MOST_POINTS = 1000
_STEPS_H = (1, 24, 168, 720, 8760)

Cells = tuple[float | None, ...]


def step_h(hours: int) -> int:
    """Hours that one point of a chart stands for."""
    return next(step for step in _STEPS_H if hours / step <= MOST_POINTS or step == _STEPS_H[-1])


def moments(time: NDArray[np.datetime64], step: int) -> tuple[str, ...]:
    """Start of every point, ISO 8601 in UTC."""
    starts = time[::step].astype("datetime64[m]")
    return tuple(f"{text}+00:00" for text in np.datetime_as_string(starts))


def means(values: FloatArray, step: int) -> FloatArray:
    """Means over each point's known hours, shape (points, draws); NaN without any."""
    blocks = _blocks(values, step)
    known = np.isfinite(blocks)
    count = known.sum(axis=1)
    total = np.where(known, blocks, 0.0).sum(axis=1)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def maxima(values: FloatArray, step: int) -> FloatArray:
    """Highest of each point's known hours, shape (points, draws); NaN without any."""
    blocks = _blocks(values, step)
    highest = np.where(np.isfinite(blocks), blocks, -np.inf).max(axis=1)
    return np.where(np.isfinite(highest), highest, np.nan)


def band(draws: FloatArray, digits: int) -> tuple[Cells, Cells, Cells]:
    """Low end, middle and high end of each point, rounded, None where nothing is known."""
    low, middle, high = (np.quantile(draws, q, axis=1, method="hazen") for q in (0.025, 0.5, 0.975))
    return cells(low, digits), cells(middle, digits), cells(high, digits)


def cells(values: FloatArray, digits: int) -> Cells:
    """Rounded numbers, None where nothing is known."""
    return tuple(round(v, digits) + 0.0 if np.isfinite(v) else None for v in values.tolist())


def _blocks(values: FloatArray, step: int) -> FloatArray:
    points = -(-len(values) // step)
    padded = np.full((points * step, values.shape[1]), np.nan)
    padded[: len(values)] = values
    return padded.reshape(points, step, values.shape[1])
