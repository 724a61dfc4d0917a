"""How near a line may lie to a place on a plan: an estimate, and a bound that is seldom broken.

The bound counts everything that was not seen as if a line ran there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.imaging.plan import TAPE_MM, Plan, Rectified, position_mm
from thermalkit.imaging.ridges import Centreline, Ridges, distance_mm, pixels_of
from thermalkit.measured import FloatArray

ONE_SIDED = 3.55  # 99.9 % of Student's t with 20 degrees of freedom: few points tell the spread themselves
BETWEEN = 0.95  # of the spacing: places with lines about them that are no farther apart than lines are
CLEAR_FROM = 18.0  # strength over the noise of the nearest line: one of a third of it would still be found
DOUBLE_MM = 45.0  # half of what two lines may lie apart and look like one
_SPREAD_MM, _MOST_BENT_MM = 60.0, 45.0  # own choice: the floor's own spreading at its widest
_LINE_MM = 4.0  # own choice: centreline by bends and uneven surroundings
_LOOSE_END = 0.6  # of the spacing
_MEETS_MM, _AT_BORDER_MM = 40.0, 80.0
BoolArray = NDArray[np.bool_]
Reason = Literal["unchecked", "outside", "no-lines", "unseen", "weak"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Distance to the nearest line, its standard deviation, and the one-sided lower bound at 99.9 %, in mm.

    `why_not` says why the picture gives no answer; then only `distance_mm` may be known. `unseen_mm` is how
    far the next place lies where a line could not have been seen.
    """

    distance_mm: float | None
    deviation_mm: float | None = None
    low_mm: float | None = None
    unseen_mm: float | None = None
    why_not: Reason | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Surroundings:
    """A plan with its picture in mm, the lines found, and where nothing can be seen.

    `may_be_double` where two lines may run so close together that they look like one.
    """

    plan: Plan
    picture: Rectified
    found: Ridges
    hidden: BoolArray
    may_be_double: bool = False

    @cached_property
    def points_mm(self) -> FloatArray:
        """Points of all lines, every few mm, shape (points, 2)."""
        return np.concatenate([_dense(line) for line in self.found.lines])

    @cached_property
    def strengths(self) -> FloatArray:
        """Strength of the line at each of them."""
        parts = []
        for line in self.found.lines:
            at = np.linspace(0.0, len(line.strength) - 1.0, len(_dense(line)))
            parts.append(np.interp(at, np.arange(len(line.strength)), line.strength))
        return np.concatenate(parts)

    @cached_property
    def bend_mm(self) -> FloatArray:
        """How far a bend may lie outside the line: what spreads a line draws it inward."""
        return np.concatenate([_bent_mm(line, self.found.scale_mm) for line in self.found.lines])

    @cached_property
    def seen(self) -> BoolArray:
        """Where a line would have been seen: between lines that were, and not hidden."""
        from scipy.ndimage import distance_transform_edt

        spacing = self.found.spacing_mm
        known = np.isfinite(self.picture.values) & ~self.hidden
        if not self.found.lines or spacing is None:
            return np.zeros_like(known)
        away = distance_mm(self.found, self.picture)
        pitch = self.picture.mm_per_pixel
        reach = BETWEEN * spacing
        # What no disc of this radius reaches without touching a line.
        free = away > reach
        free[0, :] = free[-1, :] = free[:, 0] = free[:, -1] = True
        between = distance_transform_edt(~free) * pitch > reach
        return np.asarray(between & known & ~self.found.doubtful & ~self._loose_ends(known, spacing))

    def _loose_ends(self, known: BoolArray, spacing: float) -> BoolArray:
        """Round each end of a line that lies in the open: it must go on somewhere."""
        from scipy.ndimage import distance_transform_edt

        framed = np.pad(known, 1)
        to_border = distance_transform_edt(framed)[1:-1, 1:-1] * self.picture.mm_per_pixel
        ends = np.array([line.line_mm[at] for line in self.found.lines for at in (0, -1)])
        free = np.ones(known.shape, dtype=np.bool_)
        for number, end in enumerate(ends):
            others = np.linalg.norm(np.delete(ends, number, axis=0) - end, axis=1)
            pixel = np.rint(pixels_of(self.picture, end)).astype(int)
            inside = bool(np.all((pixel >= 0) & (pixel < known.shape)))
            if others.min() > _MEETS_MM and inside and to_border[tuple(pixel)] > _AT_BORDER_MM:
                free[tuple(pixel)] = False
        if free.all():
            return ~free
        away = distance_transform_edt(free) * self.picture.mm_per_pixel
        return np.asarray(away < _LOOSE_END * spacing)

    @cached_property
    def unseen_mm(self) -> FloatArray:
        """From each pixel to the next place where nothing could be seen."""
        from scipy.ndimage import distance_transform_edt

        framed = np.pad(self.seen, 1)
        away = distance_transform_edt(framed)[1:-1, 1:-1]
        return np.asarray(np.maximum(away - 1.0, 0.0) * self.picture.mm_per_pixel)


def clearance(around: Surroundings, place_mm: ArrayLike) -> Clearance:
    """How near a line may lie to a place.

    Parameters
    ----------
    around : Surroundings
    place_mm : array_like, shape (2,)
        x and y on the plan.

    Returns
    -------
    Clearance
        `why_not` is set where four points alone fix the plan, where the place or what lies round it was not
        seen, or where the nearest line hardly stands out of the noise.
    """
    place = np.asarray(place_mm, dtype=np.float64)
    pixel = np.rint(pixels_of(around.picture, place)).astype(int)
    inside = bool(np.all(pixel >= 0) and np.all(pixel < around.picture.values.shape))
    if not inside or not np.isfinite(around.picture.values[tuple(pixel)]):
        return Clearance(distance_mm=None, why_not="outside")
    if not around.found.lines:
        return Clearance(distance_mm=None, why_not="no-lines")
    away = np.linalg.norm(around.points_mm - place, axis=1)
    at = int(np.argmin(away))
    nearest, strength = around.points_mm[at], float(around.strengths[at])
    deviation = _deviation_mm(around, place, nearest, strength)
    bounds = away - around.bend_mm - ONE_SIDED * deviation
    if around.may_be_double:
        bounds -= DOUBLE_MM
    unseen = float(around.unseen_mm[tuple(pixel)])
    low = min(float(bounds.min()), unseen - ONE_SIDED * _across_mm(around, place, nearest))
    why: Reason | None = None
    if not around.plan.is_checked:
        why = "unchecked"
    elif unseen <= 0.0:
        why = "unseen"
    elif min(strength, around.found.usual) < CLEAR_FROM:
        why = "weak"
    return Clearance(
        distance_mm=float(away[at]),
        deviation_mm=deviation,
        low_mm=low,
        unseen_mm=unseen,
        why_not=why,
    )


def _dense(line: Centreline, step_mm: float = 4.0) -> FloatArray:
    count = max(2, int(line.length_mm / step_mm))
    at = np.linspace(0.0, len(line.line_mm) - 1.0, count)
    order = np.arange(len(line.line_mm))
    return np.stack([np.interp(at, order, line.line_mm[:, axis]) for axis in (0, 1)], axis=1)


def _bent_mm(line: Centreline, scale_mm: float) -> FloatArray:
    """Curvature of the smoothed line times half the spread."""
    from scipy.ndimage import gaussian_filter1d

    dense = _dense(line)
    soft = gaussian_filter1d(dense, 6.0, axis=0, mode="nearest")
    ahead = np.gradient(soft, axis=0)
    bend = np.gradient(ahead, axis=0)
    turn = np.abs(ahead[:, 0] * bend[:, 1] - ahead[:, 1] * bend[:, 0])
    curvature = turn / np.maximum(np.hypot(*ahead.T), 1e-6) ** 3
    return np.asarray(np.minimum(0.5 * curvature * (scale_mm**2 + _SPREAD_MM**2), _MOST_BENT_MM))


def _across_mm(around: Surroundings, place: FloatArray, nearest: FloatArray) -> float:
    """Standard deviation of the plan along the way to the line, and of the hole's own marking."""
    seen = around.plan.onto_frame.mapped(nearest[None])
    spread = position_mm(around.plan, seen)[1][0]
    way = nearest - place
    length = float(np.linalg.norm(way))
    size = float(way @ spread @ way) / length**2 if length > 1.0 else float(np.linalg.eigvalsh(spread)[-1])
    return float(np.sqrt(size + 2.0 * TAPE_MM**2))


def _deviation_mm(around: Surroundings, place: FloatArray, nearest: FloatArray, strength: float) -> float:
    """The same with the centreline's own: weaker lines are less sharp."""
    line = np.hypot(around.found.scale_mm / max(strength, 1.0), _LINE_MM)
    return float(np.hypot(_across_mm(around, place, nearest), line))
