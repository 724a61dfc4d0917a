"""Small models of the water's path through a panel, fitted to the excess over its front.

Water is spread by the top header over upright channels and cools as it falls (or rises, where pipes are
swapped); each step gives off heat in proportion to its excess, so excess falls exponentially along the path.
Air takes heat from the top, a deposit from part of the bottom.

Source
------
Excess along a heat exchanger of constant transmittance (any textbook of heat transfer).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.heating.radiators.front import Front
from thermalkit.measured import FloatArray

# Own choices, set on invented radiators other than those of the tests.
MODEL_ERROR = 0.035  # of the excess: what so small a model leaves out
LEAST_ERROR_K = 0.25
CELLS_ALIKE = 6.0  # neighbouring cells miss together
_OUTLIER = 3.0
Parameters = FloatArray
Model = Callable[[Parameters, FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """A model fitted: its numbers, and its criterion (smaller is better)."""

    name: str
    numbers: FloatArray
    criterion: float


def falling(p: Parameters, along: FloatArray, down: FloatArray) -> FloatArray:
    """Water spread over the top that cools as it falls: excess, loss along, loss down, unevenness."""
    share = np.exp(-p[3] * (along - 0.5))
    return np.asarray(p[0] * np.exp(-p[1] * (along - 0.5) - p[2] * down / (share / _mean_share(p[3]))))


def _mean_share(skew: float) -> float:
    return float(np.sinh(skew / 2.0) / (skew / 2.0)) if abs(skew) > 1e-6 else 1.0


def rising(p: Parameters, along: FloatArray, down: FloatArray) -> FloatArray:
    """Water that rises at one end, crosses the top and falls.

    Excess, loss along, loss down, width of the end, loss there, mixing, its blur, bottom header, side.
    """
    beside = along if p[8] > 0.0 else 1.0 - along
    at_end = 1.0 / (1.0 + np.exp((beside - p[3]) / p[6]))
    end = np.exp(-p[4] * (1.0 - down))
    rest = p[5] * np.exp(-p[4] - p[1] * beside - p[2] * down)
    header = p[7] * np.exp(-p[1] * beside - (1.0 - down) / 0.12)
    return np.asarray(p[0] * (at_end * end + (1.0 - at_end) * np.maximum(rest, header)))


def air(p: Parameters, along: FloatArray, down: FloatArray) -> FloatArray:
    """As falling, without most of the heat above a level: ..., share lost, level, its slope."""
    dry = 1.0 / (1.0 + np.exp((down - p[5] - p[6] * (along - 0.5)) / 0.035))
    return np.asarray(falling(p, along, down) * (1.0 - p[4] * dry))


def air_at_end(p: Parameters, along: FloatArray, down: FloatArray) -> FloatArray:
    """Water that falls at one end below air while the rest is warmed in layers.

    Excess, width of the end, its blur, excess of the rest, its loss down and along, share lost, level, side.
    """
    beside = along if p[8] > 0.0 else 1.0 - along
    at_end = 1.0 / (1.0 + np.exp((beside - p[1]) / p[2]))
    rest = p[3] * np.exp(-p[4] * (down - 0.5) - p[5] * beside)
    dry = 1.0 / (1.0 + np.exp((down - p[7]) / 0.035))
    return np.asarray(p[0] * (at_end + (1.0 - at_end) * rest) * (1.0 - p[6] * dry))


def deposit(p: Parameters, along: FloatArray, down: FloatArray) -> FloatArray:
    """As falling, without most of the heat in part of the bottom: ..., share lost, middle, width, top."""
    heap = np.exp(-(((along - p[5]) / p[6]) ** 4)) / (1.0 + np.exp((p[7] - down) / 0.09))
    return np.asarray(falling(p, along, down) * (1.0 - p[4] * heap))


@dataclass(frozen=True, slots=True)
class _Kind:
    model: Model
    low: tuple[float, ...]
    high: tuple[float, ...]
    starts: tuple[tuple[float, ...], ...]
    fixed: int = 0


_FALLING = ((0.3, -0.9, 0.0, -2.5), (1.6, 0.9, 4.0, 2.5))
MODELS: Mapping[str, _Kind] = {
    "falling": _Kind(falling, *_FALLING, ((1.0, 0.05, 0.3, 0.1), (1.1, 0.1, 1.5, 0.1))),
    "rising": _Kind(
        rising,
        (0.5, -0.3, 0.0, 0.04, 0.04, 0.5, 0.03, 0.0),
        (1.8, 1.5, 3.0, 0.8, 0.8, 1.02, 0.3, 1.0),
        (
            (1.05, 0.2, 0.4, 0.2, 0.1, 0.9, 0.05, 0.5),
            (1.05, 0.2, 0.4, 0.5, 0.1, 0.9, 0.2, 0.8),
        ),
        fixed=1,
    ),
    "air": _Kind(
        air,
        (0.3, -0.9, -1.2, -2.5, 0.1, 0.02, -0.35),
        (2.0, 0.9, 2.0, 2.5, 1.0, 0.6, 0.35),
        ((1.0, 0.05, 0.2, 0.1, 0.6, 0.15, 0.0), (1.0, 0.05, 0.0, 0.1, 0.8, 0.3, 0.0)),
    ),
    "air-at-end": _Kind(
        air_at_end,
        (0.5, 0.02, 0.03, 0.1, -1.5, -0.2, 0.1, 0.02),
        (1.8, 0.5, 0.25, 1.0, 1.5, 0.8, 1.0, 0.6),
        ((1.05, 0.12, 0.05, 0.6, 0.0, 0.1, 0.6, 0.2),),
        fixed=1,
    ),
    "deposit": _Kind(
        deposit,
        (*_FALLING[0], 0.1, 0.05, 0.12, 0.05),
        (*_FALLING[1], 1.0, 0.95, 0.9, 0.95),
        (
            (1.0, 0.05, 0.3, 0.1, 0.6, 0.5, 0.3, 0.6),
            (1.0, 0.05, 0.3, 0.1, 0.7, 0.2, 0.5, 0.3),
            (1.0, 0.05, 0.3, 0.1, 0.7, 0.8, 0.5, 0.3),
        ),
    ),
}


def fitted(seen: Front, name: str, warm_k: float) -> Fit:
    """A model fitted to the cells of a front, robustly."""
    from scipy.optimize import least_squares

    kind = MODELS[name]
    known = seen.known
    along, down = (grid[known] for grid in np.meshgrid(seen.along, seen.down))
    wanted = seen.excess_k[known]
    error = np.sqrt((seen.noise_k**2) / seen.pixels[known] + LEAST_ERROR_K**2 + (MODEL_ERROR * warm_k) ** 2)
    found = []
    for side in (1.0, -1.0) if kind.fixed else (0.0,):
        extra = np.array([side]) if kind.fixed else np.zeros(0)

        def missed(p: FloatArray, extra: FloatArray = extra) -> FloatArray:
            numbers = np.concatenate([p, extra])
            return np.asarray((warm_k * kind.model(numbers, along, down) - wanted) / error)

        for start in kind.starts:
            done = least_squares(
                missed,
                np.clip(start, np.array(kind.low) + 1e-6, np.array(kind.high) - 1e-6),
                bounds=(kind.low, kind.high),
                loss="soft_l1",
                f_scale=_OUTLIER,
                max_nfev=25,
                x_scale=np.array(kind.high) - np.array(kind.low),
            )
            found.append((float(done.cost), np.concatenate([done.x, extra])))
    cost, numbers = min(found, key=lambda item: item[0])
    free = len(kind.low) + (1 if kind.fixed else 0)
    independent = wanted.size / CELLS_ALIKE
    return Fit(
        name=name,
        numbers=np.concatenate([[numbers[0] * warm_k], numbers[1:]]),
        criterion=2.0 * cost / CELLS_ALIKE + free * float(np.log(independent)),
    )
