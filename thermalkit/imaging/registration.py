"""A first map between two pictures of one plane, from their edges; said to be unsure where it is.

Edges are compared (`edges`), not values. Shift, scale and turn are searched over the whole picture
(`edge_search`); corners are then moved about at random, the same each time, while more edges meet; last,
points on the edges of the first picture are looked for in the second one along their normals
(`edge_following`), and all eight numbers of the map follow.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from thermalkit.imaging import homography
from thermalkit.imaging.alignment import Alignment, Unaligned, align, corners_of
from thermalkit.imaging.edge_following import Followed, followed
from thermalkit.imaging.edge_search import distinct, searched
from thermalkit.imaging.edges import (
    LEAST_POINTS,
    EdgePoints,
    Edges,
    edge_points,
    edges,
    part_around,
    resized,
    sampled,
    to_coarse,
    to_fine,
)
from thermalkit.imaging.homography import Units
from thermalkit.imaging.quality import filled
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray

FOLLOWED_PX = 320  # and where edges are followed
PHOTO_SCALES = np.geomspace(0.75, 2.6, 17)  # width of what the photo sees over that of the frame
FRAME_SCALES = np.geomspace(0.85, 1.18, 7)
CANDIDATES = 4
# How far corners are moved, as a share of the width, and spread of the edges, in pixels twice as wide.
SHAKEN = ((0.05, 2.0), (0.03, 2.0), (0.015, 1.4))
SHAKES = 200
LEAST_AGREEMENT = 0.62
WIDEST_CORNER_PX = 1.2
NEXT_BEST = 0.93  # of the best agreement, which no other place may reach


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Proposal:
    """A map found without a person. `reason` says why it is not to be trusted; None where it is.

    `agreement` is the share of the first picture's edges that meet one in the second, `corner_px` the
    standard uncertainty of the worst corner in pixels of the first picture, `rival` the agreement of the
    best other place over this one's.
    """

    alignment: Alignment
    agreement: float
    corner_px: float
    rival: float
    reason: Sentence | None


def proposal(
    first: FloatArray,
    second: FloatArray,
    *,
    scales: FloatArray = PHOTO_SCALES,
    least_shared: float = 0.7,
    start: Alignment | None = None,
) -> Proposal | None:
    """How a second picture lies on a first one, as far as their edges tell.

    Parameters
    ----------
    first : ndarray of float64, shape (rows, columns)
        A frame; NaN where masked.
    second : ndarray of float64, shape (rows, columns)
        A photo in grey levels, or another frame.
    scales : ndarray
        How many times as wide as the first one the second one may see.
    least_shared : float
        Share of the first picture that the second one holds at least.
    start : Alignment, optional
        Where to begin, such as the map through clicked pairs, instead of a search.

    Returns
    -------
    Proposal or None
        None where there are too few edges to begin with. Look at `reason` before it is used.
    """
    first, second = filled(first), filled(second)
    factor = max(max(first.shape) / FOLLOWED_PX, 1.0)
    near = resized(first, factor) if factor > 1 else first
    corner = corners_of(near.shape)
    if start is not None:
        begin = [start.mapped(to_fine(corner, factor))]
    else:
        begin = list(distinct(searched(first, second, scales, least_shared), CANDIDATES))
    try:
        found = [(1.0, begin[0])] if start is not None else list(_shaken_all(near, second, begin))
        found.sort(key=lambda item: -item[0])
        ends = [end for _, images in found[:3] if (end := followed(near, second, images))]
        ends.sort(key=lambda item: -item.agreement)
        return _judged(ends, first.shape, factor) if ends else None
    except np.linalg.LinAlgError:  # edges that meet nowhere, or all on one line
        return None


def between_frames(first: FloatArray, second: FloatArray, *, least_shared: float = 0.4) -> Proposal | None:
    """How two frames of one surface lie on one another: of one visit, or before and after.

    Parameters
    ----------
    first, second : ndarray of float64, shape (rows, columns)
        Taken from about the same distance; NaN where masked.
    least_shared : float
        Share of the first one that the second one holds at least.

    Returns
    -------
    Proposal or None
        Look at `reason` before it is used.
    """
    return proposal(first, second, scales=FRAME_SCALES, least_shared=least_shared)


def _judged(ends: list[Followed], shape: tuple[int, int], factor: float) -> Proposal | None:
    best = ends[0]
    width = float(np.ptp(best.images[:, 1]))
    others = [end.agreement for end in ends[1:] if np.max(np.abs(end.images - best.images)) > 0.03 * width]
    rival = max(others, default=0.0) / max(best.agreement, 1e-9)
    near = (round(shape[0] / factor), round(shape[1] / factor))
    corner_px = best.corner_px * factor
    try:
        alignment = align(
            to_fine(corners_of(near), factor), best.images, scatter_px=(max(corner_px, 0.1), 0.1), shape=shape
        )
    except Unaligned:
        return None
    reason = None
    if best.points < LEAST_POINTS or corner_px > WIDEST_CORNER_PX:
        reason = say("alignment.few-edges")
    elif best.agreement < LEAST_AGREEMENT:
        reason = say("alignment.few-meet")
    elif rival > NEXT_BEST:
        reason = say("alignment.two-places")
    return Proposal(
        alignment=alignment, agreement=best.agreement, corner_px=corner_px, rival=rival, reason=reason
    )


def _shaken_all(
    near: FloatArray, second: FloatArray, begin: list[FloatArray]
) -> Iterator[tuple[float, FloatArray]]:
    """Each place with its corners moved about while more edges meet, and how well they do then."""
    half = resized(near, 2.0)
    corner = corners_of(half.shape)
    levels = [(far, spread, edge_points(edges(half, spread), 400)) for far, spread in SHAKEN]
    units = Units.of(corner)
    for place in begin:
        rng = np.random.default_rng(7)
        images, met = place, 0.0
        part, low, pitch = part_around(second, images, corner)
        for far, spread, points in levels:
            if points is None:
                continue
            field = edges(part, spread)
            moved = to_coarse(images, pitch) - low + _moves(rng, far * half.shape[1])
            into = np.broadcast_to(units.into(corner), moved.shape)
            met_by = _met(points, field, homography.through_four(into, moved), units)
            images, met = to_fine(moved[np.argmax(met_by)] + low, pitch), float(np.max(met_by))
        yield met, images


def _moves(rng: np.random.Generator, far_px: float) -> FloatArray:
    """None, then moves of single corners together with a common one, shape (moves, 4, 2)."""
    common = rng.normal(0.0, far_px, (SHAKES, 1, 2)) + rng.normal(0.0, far_px, (SHAKES, 4, 2))
    return np.concatenate([np.zeros((1, 4, 2)), common])


def _met(points: EdgePoints, field: Edges, cores: FloatArray, units: Units) -> FloatArray:
    """How well edges meet at the images of the points, for each map."""
    into = np.broadcast_to(units.into(points.places), (len(cores), *points.places.shape))
    found = sampled(field, homography.mapped(cores, into))
    return np.asarray(np.real(found * np.conj(points.directions)) @ points.strengths / points.strengths.sum())
