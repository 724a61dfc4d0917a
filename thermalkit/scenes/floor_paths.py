"""Heating pipes as they are laid: meanders, double spirals and straight feeds, as lines in mm."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from thermalkit.measured import FloatArray

STEP_MM = 5.0
Box = tuple[float, float, float, float]
"""Left, low, right and high side in mm."""


def meander(box: Box, spacing_mm: float) -> FloatArray:
    """Rows to and fro, and back along the left side, shape (points, 2).

    Examples
    --------
    >>> bool(np.all(np.ptp(meander((0.0, 0.0, 2000.0, 1500.0), 150.0), axis=0) <= (2000.0, 1500.0)))
    True
    """
    left, low, right, high = box
    rows = int((high - low) / spacing_mm) + 1
    rows -= rows % 2
    near, far = left + 1.5 * spacing_mm, right - spacing_mm / 2.0
    corners = [(left + spacing_mm / 2.0, low)]
    for row in range(rows):
        y = low + row * spacing_mm
        ends = [(near - spacing_mm / 2.0, y), (far + spacing_mm / 2.0, y)]
        corners += ends[::-1] if row % 2 else ends
    corners += [(left, low + (rows - 1) * spacing_mm), (left, low)]
    return rounded(np.array(corners), spacing_mm / 2.0)


def double_spiral(box: Box, spacing_mm: float) -> FloatArray:
    """In and out again, flow and return side by side, shape (points, 2); best where `spiral_fits`."""
    left, low, right, high = box
    if high - low > right - left:
        return double_spiral((low, left, high, right), spacing_mm)[:, ::-1]
    turns = max(1, int(_turns(box, spacing_mm)))
    arms = []
    for shift in (0.0, spacing_mm):
        corners = [(left, low + shift)]
        for turn in range(turns):
            inset = shift + 2.0 * spacing_mm * turn
            next_low = low + inset + 2.0 * spacing_mm
            corners += [(right - inset, low + inset), (right - inset, high - inset)]
            corners += [(left + inset, high - inset), (left + inset, next_low)]
        inner = right - 2.0 * spacing_mm * turns
        corners.append((inner, corners[-1][1]))
        arms.append(corners)
    return rounded(np.array(arms[0] + arms[1][::-1]), 0.48 * spacing_mm)


def spiral_fits(box: Box, spacing_mm: float) -> bool:
    """Whether whole turns fill a box, so that no wide core stays cold."""
    turns = _turns(box, spacing_mm)
    return turns >= 1.0 and turns % 1.0 < 0.3


def _turns(box: Box, spacing_mm: float) -> float:
    return (min(box[2] - box[0], box[3] - box[1]) / spacing_mm - 1.0) / 4.0


def rounded(corners: FloatArray, radius_mm: float) -> FloatArray:
    """A line through corners, each bent as far as its sides allow, in steps of `STEP_MM`."""
    keep = np.r_[True, np.linalg.norm(np.diff(corners, axis=0), axis=1) > 1e-6]
    corners = corners[keep]
    points = [corners[0]]
    for before, at, after in zip(corners[:-2], corners[1:-1], corners[2:], strict=True):
        into, out = at - before, after - at
        sides = np.linalg.norm(into), np.linalg.norm(out)
        turn = np.arccos(np.clip(into @ out / (sides[0] * sides[1]), -1.0, 1.0))
        reach = min(radius_mm * np.tan(turn / 2.0), 0.499 * min(sides)) if turn > 1e-3 else 0.0
        start, end = at - reach * into / sides[0], at + reach * out / sides[1]
        share = np.linspace(0.0, 1.0, 12)[:, None]
        points += list((1.0 - share) ** 2 * start + 2.0 * share * (1.0 - share) * at + share**2 * end)
    return stepped(np.array([*points, corners[-1]]))


def stepped(line: FloatArray, step_mm: float = STEP_MM) -> FloatArray:
    """The same line with points at even steps, its end included."""
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))]
    count = max(2, round(along[-1] / step_mm) + 1)
    at = np.linspace(0.0, along[-1], count)
    return np.stack([np.interp(at, along, line[:, axis]) for axis in (0, 1)], axis=1)


def length_mm(line: FloatArray) -> float:
    """Length of a line."""
    return float(sum(np.linalg.norm(b - a) for a, b in pairwise(line)))
