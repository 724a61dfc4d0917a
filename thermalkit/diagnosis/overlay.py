"""A frame of this visit laid over the same frame of the earlier one.

Pins with the role "fixed-point" and the same name on both frames (a socket, a joint, the end of a skirting)
are the pairs; four are needed, a fifth shows a slip. Without them the edges in both frames are followed, as
far as they tell for sure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from thermalkit.imaging.alignment import LEAST_PAIRS, Alignment, Unaligned, align
from thermalkit.imaging.mark import Mark

if TYPE_CHECKING:
    from thermalkit.site.survey import Site

FIXED_POINT = "fixed-point"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Overlay:
    """A map from a frame to the earlier one; `by` a person's "points", or by "edges" that nobody checked.

    `unsure_px` is how far, in pixels, the points miss one another, or how unsure the worst corner is.
    """

    alignment: Alignment
    by: Literal["points", "edges"]
    unsure_px: float


def overlay(new: Site, old: Site, frame: str) -> Overlay | None:
    """The map from a frame of this visit to the frame of that name of the earlier one.

    Returns
    -------
    Overlay or None
        None where no frame of that name was taken before, where its fixed points contradict one another,
        or where there are none and the edges do not tell for sure.
    """
    if frame not in new.frames or frame not in old.frames:
        return None
    return _by_points(new, old, frame) or _by_edges(new, old, frame)


def _by_edges(new: Site, old: Site, frame: str) -> Overlay | None:
    from thermalkit.imaging.registration import between_frames

    if set(_fixed_points(new, frame)) & set(_fixed_points(old, frame)):
        return None  # a person said where it lies, though not well enough
    found = between_frames(new.frames[frame].apparent_degc, old.frames[frame].apparent_degc)
    if found is None or found.reason is not None:
        return None
    return Overlay(alignment=found.alignment, by="edges", unsure_px=found.corner_px)


def _by_points(new: Site, old: Site, frame: str) -> Overlay | None:
    now, then = _fixed_points(new, frame), _fixed_points(old, frame)
    names = [name for name in now if name in then]
    if len(names) < LEAST_PAIRS:
        return None
    shape = new.frames[frame].apparent_degc.shape
    try:
        found = align([now[n] for n in names], [then[n] for n in names], shape=(shape[0], shape[1]))
    except Unaligned:
        return None
    return Overlay(alignment=found, by="points", unsure_px=found.rms_px) if found.is_consistent else None


def _fixed_points(site: Site, frame: str) -> dict[str, tuple[float, float]]:
    return {
        mark.id: mark.points[0]
        for mark in site.marks(frame)
        if mark.shape == "pin" and mark.role == FIXED_POINT
    }


def mapped_mark(mark: Mark, over: Overlay, shape: tuple[int, int]) -> tuple[Mark, float] | None:
    """A mark on the earlier frame, and to within how many pixels (standard deviation of its worst point).

    None where a point of it would lie outside that frame.
    """
    points = over.alignment.mapped(mark.points)
    limits = np.array(shape) - 0.5
    if not np.all(np.isfinite(points)) or np.any(points < -0.5) or np.any(points > limits):
        return None
    spread = np.trace(over.alignment.covariance_at(mark.points), axis1=-2, axis2=-1)
    unsure_px = float(np.sqrt(np.max(spread)))
    return replace(mark, points=tuple((float(r), float(c)) for r, c in points)), unsure_px
