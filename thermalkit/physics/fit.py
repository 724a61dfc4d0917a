"""One unknown inside a wall from what was measured on its surface, with the interval that holds it.

Before measuring, the unknown may lie anywhere between two bounds with equal chance. Readings differ from a
model by an error of their own each, and by one that they share, such as the offset of a camera. Many
readings lessen the former, never the latter.

Source
------
Bayes' theorem on a grid; the interval is the one of highest density, as in JCGM 101:2008 5.3.4 (shortest
coverage interval, from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.measured import COVERAGE
from thermalkit.physics.domain import FloatArray, require_within

WIDEST_SHARE = 0.75  # of the range between the bounds; an interval beyond it says next to nothing, our choice
LEAST_CHANCE = 0.01  # of a misfit as large as the one found; below it the model is doubted, our choice

_PLACES = 4001


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The likeliest value of the unknown and its 95 % interval.

    `is_identifiable` is false where the interval is nearly as wide as what was possible before: then value
    and interval are not to be reported. `chance_of_misfit` is how often readings would lie as far from the
    model as these do, were the model and the stated errors true.
    """

    value: float
    low: float
    high: float
    is_identifiable: bool
    chance_of_misfit: float

    @property
    def is_explained(self) -> bool:
        """Whether the model can have made the readings."""
        return self.chance_of_misfit >= LEAST_CHANCE


def fit_one_unknown(
    model: Callable[[float], ArrayLike],
    measured: ArrayLike,
    standard_uncertainty: ArrayLike,
    low: float,
    high: float,
    *,
    shared_half_width: float = 0.0,
    solves: int = 13,
) -> Fit:
    """Find one unknown of a model from readings.

    Parameters
    ----------
    model : callable
        Readings to be expected for a value of the unknown, shape (readings,); smooth in it.
    measured : array_like, shape (readings,)
        Surface temperatures or temperature factors. Masked ones (NaN) are left out.
    standard_uncertainty : array_like, shape () or (readings,)
        Of each reading's own error, with what the model does not know; above 0, in the readings' unit.
    low, high : float
        Bounds of the unknown.
    shared_half_width : float
        Largest error that all readings share (rectangular), in their unit.
    solves : int
        How often the model is calculated between the bounds, 4 to 1000; it is interpolated between.

    Returns
    -------
    Fit

    Raises
    ------
    OutOfDomain
        Bounds out of order, an uncertainty that is not above 0, no reading, or a number outside its range.

    Examples
    --------
    A 240 mm brick wall with an unknown thickness of insulation outside, factor 0.90 ± 0.01:

    >>> def factor(insulation_mm):
    ...     resistance = 0.24 / 0.77 + insulation_mm / 1000 / 0.035 + 0.04
    ...     return [resistance / (resistance + 0.13)]
    >>> found = fit_one_unknown(factor, [0.90], 0.01, 0.0, 200.0)
    >>> round(found.value), round(found.low), round(found.high), found.is_identifiable
    (29, 21, 40, True)
    """
    readings = np.atleast_1d(require_within("measured", measured, -1e6, 1e6))
    own = np.broadcast_to(np.asarray(standard_uncertainty, dtype=np.float64), readings.shape)
    seen = ~np.isnan(readings)
    if not low < high or not np.all(own[seen] > 0.0) or not seen.any():
        raise OutOfDomain(say("physics.fit"))
    require_within("solves", solves, 4, 1000)
    half = float(require_within("shared_half_width", shared_half_width, 0.0, 1e6))
    values, expected = _expected(model, low, high, int(solves))
    log_likelihood, misfit = _log_likelihood(readings[seen] - expected[:, seen], own[seen], half)
    best, first, last = _highest_density(log_likelihood)
    return Fit(
        value=float(values[best]),
        low=float(values[first]),
        high=float(values[last]),
        is_identifiable=bool(values[last] - values[first] <= WIDEST_SHARE * (high - low)),
        chance_of_misfit=_chance(float(misfit[best]), int(seen.sum()) - 1),
    )


def _expected(
    model: Callable[[float], ArrayLike], low: float, high: float, solves: int
) -> tuple[FloatArray, FloatArray]:
    """The model on a fine grid of the unknown, from few solves, shape (places, readings)."""
    from scipy.interpolate import CubicSpline

    # Denser towards both bounds, where a response such as that to the first insulation bends most.
    nodes = low + (high - low) * 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, solves)))
    calculated = np.array([np.atleast_1d(np.asarray(model(float(x)), dtype=np.float64)) for x in nodes])
    values = np.linspace(low, high, _PLACES)
    return values, np.asarray(CubicSpline(nodes, calculated)(values))


def _log_likelihood(residuals: FloatArray, own: FloatArray, half: float) -> tuple[FloatArray, FloatArray]:
    """Logarithm of the likelihood with the shared error averaged over, and the squared misfit left."""
    weights = own**-2.0
    total = float(weights.sum())
    mean = residuals @ weights / total
    spread = np.sum(weights * (residuals - mean[:, None]) ** 2, axis=1)
    beyond = mean - np.clip(mean, -half, half)
    misfit = spread + total * beyond**2
    if half == 0.0:
        return -0.5 * misfit, misfit
    root = np.sqrt(total)
    return -0.5 * spread + _log_between(root * (-half - mean), root * (half - mean)), misfit


def _log_between(low: FloatArray, high: FloatArray) -> FloatArray:
    """Logarithm of the chance that a standard normal number lies between, exact far out as well."""
    from scipy.special import log_ndtr

    flipped = low > 0.0
    low, high = np.where(flipped, -high, low), np.where(flipped, -low, high)
    upper = log_ndtr(high)
    return np.asarray(upper + np.log1p(-np.exp(log_ndtr(low) - upper)))


def _highest_density(log_density: FloatArray) -> tuple[int, int, int]:
    """Places of the likeliest value and of both ends of the shortest region that holds 95 %."""
    density = np.exp(log_density - log_density.max())
    order = np.argsort(density)[::-1]
    share = np.cumsum(density[order]) / density.sum()
    held = order[: int(np.searchsorted(share, COVERAGE)) + 1]
    return int(order[0]), int(held.min()), int(held.max())


def _chance(misfit: float, freedom: int) -> float:
    from scipy.special import chdtrc

    return float(chdtrc(freedom, misfit)) if freedom > 0 else 1.0
