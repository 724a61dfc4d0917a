"""A frame of this visit laid over the same frame of the earlier one.

Pins with the role "fixed-point" and the same name on both frames (a socket, a joint, the end of a skirting)
are the pairs; four are needed, a fifth shows a slip.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.imaging.alignment import LEAST_PAIRS, Alignment, Unaligned, align
from thermalkit.imaging.mark import Mark

if TYPE_CHECKING:
    from thermalkit.site.survey import Site

FIXED_POINT = "fixed-point"


def overlay(new: Site, old: Site, frame: str) -> Alignment | None:
    """The map from a frame of this visit to the frame of that name of the earlier one.

    Returns
    -------
    Alignment or None
        None where no frame of that name was taken before, where there are fewer than four pairs, or where
        they contradict one another.
    """
    if frame not in new.frames or frame not in old.frames:
        return None
    now, then = _fixed_points(new, frame), _fixed_points(old, frame)
    names = [name for name in now if name in then]
    if len(names) < LEAST_PAIRS:
        return None
    shape = new.frames[frame].apparent_degc.shape
    try:
        found = align([now[n] for n in names], [then[n] for n in names], shape=(shape[0], shape[1]))
    except Unaligned:
        return None
    return found if found.is_consistent else None


def _fixed_points(site: Site, frame: str) -> dict[str, tuple[float, float]]:
    return {
        mark.id: mark.points[0]
        for mark in site.marks(frame)
        if mark.shape == "pin" and mark.role == FIXED_POINT
    }


def mapped_mark(mark: Mark, over: Alignment, shape: tuple[int, int]) -> tuple[Mark, float] | None:
    """A mark on the earlier frame, and to within how many pixels (standard deviation of its worst point).

    None where a point of it would lie outside that frame.
    """
    points = over.mapped(mark.points)
    limits = np.array(shape) - 0.5
    if not np.all(np.isfinite(points)) or np.any(points < -0.5) or np.any(points > limits):
        return None
    spread = np.trace(over.covariance_at(mark.points), axis1=-2, axis2=-1)
    unsure_px = float(np.sqrt(np.max(spread)))
    return replace(mark, points=tuple((float(r), float(c)) for r, c in points)), unsure_px
