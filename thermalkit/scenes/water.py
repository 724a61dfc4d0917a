"""Where a wall is wet or warmed from within: shapes on its inner surface, as seen in a picture.

Positions are metres on the wall, across from the left and up from the lower edge of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.measured import FloatArray

_WAVES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Foot:
    """Everything below an edge that runs across the wall, waving by up to `raggedness_m`."""

    height_m: float
    raggedness_m: float = 0.0
    softness_m: float = 0.02
    seed: int = 0

    def share(self, across_m: FloatArray, up_m: FloatArray) -> FloatArray:
        """1 inside, 0 outside, between them where the edge is soft; shape (rows, columns)."""
        edge_m = self.height_m + self.raggedness_m * _waves(self.seed, 2.0 * np.pi * across_m)
        return _soft(edge_m - up_m, self.softness_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A blob about a centre, `stretch` times as high as wide, its edge in and out by a share `raggedness`."""

    centre_m: tuple[float, float]
    radius_m: float
    stretch: float = 1.0
    raggedness: float = 0.0
    softness_m: float = 0.02
    seed: int = 0

    def share(self, across_m: FloatArray, up_m: FloatArray) -> FloatArray:
        """1 inside, 0 outside, between them where the edge is soft; shape (rows, columns)."""
        x, y = across_m - self.centre_m[0], (up_m - self.centre_m[1]) / self.stretch
        radius_m = self.radius_m * (1.0 + self.raggedness * _waves(self.seed, np.arctan2(y, x)))
        return _soft(radius_m - np.hypot(x, y), self.softness_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A strip along a line through points, such as a pipe."""

    points_m: tuple[tuple[float, float], ...]
    width_m: float
    softness_m: float = 0.005

    def share(self, across_m: FloatArray, up_m: FloatArray) -> FloatArray:
        """1 inside, 0 outside, between them where the edge is soft; shape (rows, columns)."""
        ends = zip(self.points_m, self.points_m[1:], strict=False)
        away_m = np.min([_away_m(across_m, up_m, *pair) for pair in ends], axis=0)
        return _soft(self.width_m / 2.0 - away_m, self.softness_m)


Shape = Foot | Spot | Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Stain:
    """A place that shows on the photo; it evaporates like open water at `wetness` 1, not at all at 0."""

    name: str
    shape: Shape
    wetness: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """Heat given off (below zero: taken away) in a plane at a depth behind the surface."""

    name: str
    shape: Shape
    power_w_m2: float
    depth_m: float = 0.0


def _away_m(x: FloatArray, y: FloatArray, start: tuple[float, float], end: tuple[float, float]) -> FloatArray:
    """Distance from a straight piece of line."""
    along = np.subtract(end, start)
    share = ((x - start[0]) * along[0] + (y - start[1]) * along[1]) / float(along @ along)
    share = np.clip(share, 0.0, 1.0)
    return np.asarray(np.hypot(x - start[0] - share * along[0], y - start[1] - share * along[1]))


def _soft(inside_m: FloatArray, softness_m: float) -> FloatArray:
    return np.asarray(0.5 * (1.0 + np.tanh(inside_m / softness_m)), dtype=np.float64)


def _waves(seed: int, angle: FloatArray) -> FloatArray:
    """A wavy line between -1 and 1, the same after a whole turn."""
    rng = np.random.default_rng(seed)
    waves = np.arange(1, _WAVES + 1)
    phases = rng.uniform(0.0, 2.0 * np.pi, _WAVES)
    sizes = rng.uniform(0.5, 1.0, _WAVES) / waves
    parts = [size * np.sin(n * angle + phase) for n, size, phase in zip(waves, sizes, phases, strict=True)]
    return np.asarray(np.sum(parts, axis=0) / sizes.sum(), dtype=np.float64)
