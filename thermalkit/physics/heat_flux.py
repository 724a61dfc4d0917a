"""Transmittance of a wall in place, from a heat flux plate and the temperatures on both sides.

The average method takes the mean of the flux over the mean of the temperature difference, once enough days
have passed for heat stored in the wall to matter little. When that is so is checked, and a result that does
not settle is not given.

Source
------
ISO 9869-1:2014, 7.1 average method, 7.2 storage effects, clause 9 accuracy (all from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within

HOURS_A_DAY = 24
SHORTEST_H = 72.0
LARGEST_CHANGE = 0.05  # of the value a day before the end, and of the first two thirds from the last
LEAST_DIFFERENCE_K = 5.0  # own choice: below it offsets of the sensors decide the result
MOST_MISSING = 0.05  # own choice: of the hours

Failure = Literal["too-short", "difference", "gaps", "sign", "day-before", "thirds"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Storage:
    """Heat a wall takes up at its inner face per kelvin that its inner and its outer face get warmer.

    Both in J/(m²K).
    """

    inner_j_m2k: float
    outer_j_m2k: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AverageMethod:
    """Result of the average method over whole days.

    `conductance_w_m2k` is None where a condition of `failures` is not met. `running_w_m2k` is the value after
    each hour used, (hours,). `reversed_plate` tells that the flux was measured with the other sign, which was
    turned round. `day_before` and `thirds` are the changes that the conditions look at, as fractions.
    """

    conductance_w_m2k: float | None
    running_w_m2k: FloatArray
    hours: float
    mean_flux_w_m2: float
    mean_difference_k: float
    reversed_plate: bool
    storage_w_m2: float
    day_before: float
    thirds: float
    failures: tuple[Failure, ...]


def storage_of_layers(
    resistance_m2k_w: Sequence[float], capacity_j_m2k: Sequence[float], inner_m2k_w: float = 0.0
) -> Storage:
    """Storage factors of a wall from its layers.

    Parameters
    ----------
    resistance_m2k_w, capacity_j_m2k : sequence of float, one for each layer from the room outwards
        Resistance, 0 to 50 m²K/W, and heat capacity per area, 0 to 1e8 J/(m²K).
    inner_m2k_w : float
        Resistance between the inner temperature that is measured and the first layer, 0 where it is the
        surface's.

    Returns
    -------
    Storage

    Raises
    ------
    OutOfDomain
        No layer, or a number outside its range.

    Notes
    -----
    With temperatures that run straight through the resistances, heat balance over the depth gives the mean
    inner flux as ΔT/R + F_i dT_i/dt + F_e dT_e/dt with F_i = Σ C_k (a² + ab + b²)/3 and
    F_e = Σ C_k ((a + b)/2 - (a² + ab + b²)/3), where a and b are the shares of the resistance that lie
    outside the inner and the outer face of layer k. Derived by hand, of the form of ISO 9869-1, 7.2.

    Examples
    --------
    A third of a homogeneous wall's capacity counts for its inner face, a sixth for its outer one:

    >>> found = storage_of_layers([0.5], [600_000.0])
    >>> round(found.inner_j_m2k), round(found.outer_j_m2k)
    (200000, 100000)
    """
    layers = require_within("resistance_m2k_w", resistance_m2k_w, 0.0, 50.0)
    capacity = require_within("capacity_j_m2k", capacity_j_m2k, 0.0, 1e8)
    before = float(require_within("inner_m2k_w", inner_m2k_w, 0.0, 5.0))
    if not layers.size or layers.shape != capacity.shape or not layers.sum() > 0.0:
        raise OutOfDomain(say("physics.layers-above-0"))
    total = before + layers.sum()
    b = 1.0 - (before + np.cumsum(layers)) / total
    a = b + layers / total
    square = (a * a + a * b + b * b) / 3.0
    return Storage(
        inner_j_m2k=float(np.sum(capacity * square)),
        outer_j_m2k=float(np.sum(capacity * ((a + b) / 2.0 - square))),
    )


def average_method(
    flux_w_m2: ArrayLike, inner_degc: ArrayLike, outer_degc: ArrayLike, *, storage: Storage | None = None
) -> AverageMethod:
    """Conductance between two temperatures from hourly means.

    Parameters
    ----------
    flux_w_m2 : array_like, shape (hours,)
        Of the plate on the inner face, either sign, -1000 to 1000; NaN where not measured.
    inner_degc, outer_degc : array_like, shape (hours,)
        Air or surface on both sides, -60 to 200 °C; NaN where not measured.
    storage : Storage, optional
        Of the wall, to allow for the heat it took up over the time of measurement.

    Returns
    -------
    AverageMethod

    Raises
    ------
    OutOfDomain
        Series of different length, or a value outside its range.

    Examples
    --------
    >>> q, inner, outer = np.full(96, 30.0), np.full(96, 20.0), np.full(96, 0.0)
    >>> average_method(-q, inner, outer).conductance_w_m2k
    1.5
    """
    flux = require_within("flux_w_m2", flux_w_m2, -1000.0, 1000.0)
    inner = require_within("inner_degc", inner_degc, -60.0, 200.0)
    outer = require_within("outer_degc", outer_degc, -60.0, 200.0)
    if not flux.ndim == 1 or not flux.shape == inner.shape == outer.shape:
        raise OutOfDomain(say("physics.same-hours"))
    days = flux.size // HOURS_A_DAY
    series = _Series(flux, inner, outer).part(0, days * HOURS_A_DAY)
    if days * HOURS_A_DAY < SHORTEST_H or not series.known.any():
        return _none(series, ("too-short",))
    if series.missing > MOST_MISSING:
        return _none(series, ("gaps",))
    if abs(series.difference_k) < LEAST_DIFFERENCE_K:
        return _none(series, ("difference",))
    return _settled(series, days, storage)


class _Series:
    """Hours with flux and both temperatures."""

    def __init__(self, flux: FloatArray, inner: FloatArray, outer: FloatArray) -> None:
        self.flux, self.inner, self.outer = flux, inner, outer
        self.known = np.isfinite(flux + inner + outer)

    def part(self, start: int, end: int) -> _Series:
        return _Series(self.flux[start:end], self.inner[start:end], self.outer[start:end])

    def turned(self) -> _Series:
        return _Series(-self.flux, self.inner, self.outer)

    @property
    def missing(self) -> float:
        return 1.0 - float(self.known.mean())

    @property
    def mean_flux_w_m2(self) -> float:
        return float(self.flux[self.known].mean())

    @property
    def difference_k(self) -> float:
        return float((self.inner - self.outer)[self.known].mean())

    def taken_up_w_m2(self, storage: Storage | None) -> float:
        """Mean flux that only warmed the wall: its faces from the first day to the last."""
        if storage is None or self.flux.size < 2 * HOURS_A_DAY:
            return 0.0
        inner_k, outer_k = (_last_less_first_day(t) for t in (self.inner, self.outer))
        time_s = 3600.0 * (self.flux.size - HOURS_A_DAY)
        return float((storage.inner_j_m2k * inner_k + storage.outer_j_m2k * outer_k) / time_s)

    def conductance(self, storage: Storage | None) -> float:
        return (self.mean_flux_w_m2 - self.taken_up_w_m2(storage)) / self.difference_k


def _last_less_first_day(values: FloatArray) -> float:
    return float(np.nanmean(values[-HOURS_A_DAY:]) - np.nanmean(values[:HOURS_A_DAY]))


def _settled(series: _Series, days: int, storage: Storage | None) -> AverageMethod:
    """The value at the end, held against that of a day before and both ends against each other."""
    is_reversed = series.mean_flux_w_m2 * series.difference_k < 0.0
    series = series.turned() if is_reversed else series
    end = series.conductance(storage)
    day_before = _change(end, series.part(0, (days - 1) * HOURS_A_DAY).conductance(storage))
    two_thirds = (2 * days) // 3 * HOURS_A_DAY
    first = series.part(0, two_thirds).conductance(storage)
    last = series.part(series.flux.size - two_thirds, series.flux.size).conductance(storage)
    thirds = _change(first, last)
    checks: tuple[tuple[Failure, bool], ...] = (
        ("sign", not end > 0.0),
        ("day-before", not day_before <= LARGEST_CHANGE),
        ("thirds", not thirds <= LARGEST_CHANGE),
    )
    failures = tuple(name for name, fails in checks if fails)
    return AverageMethod(
        conductance_w_m2k=None if failures else end,
        running_w_m2k=_running(series),
        hours=float(series.flux.size),
        mean_flux_w_m2=series.mean_flux_w_m2,
        mean_difference_k=series.difference_k,
        reversed_plate=is_reversed,
        storage_w_m2=series.taken_up_w_m2(storage),
        day_before=day_before,
        thirds=thirds,
        failures=failures,
    )


def _change(value: float, other: float) -> float:
    """How far two conductances differ, of their mean; infinite where they have different signs."""
    return abs(value - other) / abs(0.5 * (value + other)) if value * other > 0.0 else float("inf")


def _running(series: _Series) -> FloatArray:
    """Value after each hour, NaN before anything was measured."""
    flux = np.cumsum(np.where(series.known, series.flux, 0.0))
    difference = np.cumsum(np.where(series.known, series.inner - series.outer, 0.0))
    return np.asarray(flux / np.where(difference == 0.0, np.nan, difference))


def _none(series: _Series, failures: tuple[Failure, ...]) -> AverageMethod:
    has = bool(series.known.any())
    return AverageMethod(
        conductance_w_m2k=None,
        running_w_m2k=_running(series),
        hours=float(series.flux.size),
        mean_flux_w_m2=series.mean_flux_w_m2 if has else float("nan"),
        mean_difference_k=series.difference_k if has else float("nan"),
        reversed_plate=False,
        storage_w_m2=0.0,
        day_before=float("inf"),
        thirds=float("inf"),
        failures=failures,
    )
