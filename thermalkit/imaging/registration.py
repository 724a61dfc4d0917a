"""A first map between two pictures of one plane, from their edges; said to be unsure where it is.

Edges are compared, not values: what is bright may be cold or warm. Each pixel gives the direction of its
edge as a doubled angle, so that dark to bright and bright to dark count alike. Shift, scale and turn are
searched over the whole picture; corners are then moved about at random, the same each time, while more edges
meet; last, points on the edges of the first picture are looked for in the second one along their normals,
from far to near, and all eight numbers of the map follow.

Source
------
J. Bigün, G. Granlund, Optimal orientation detection of linear symmetry, ICCV 1987 (doubled angle);
Y. Chen, G. Medioni, Object modelling by registration of multiple range images, Image and Vision
Computing 10 (1992) 145-155 (distances along normals).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging import homography
from thermalkit.imaging.alignment import Alignment, Unaligned, align, corners_of
from thermalkit.imaging.homography import Units
from thermalkit.imaging.quality import filled, noise_k
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray

Edges = NDArray[np.complex128]

SEARCHED_PX = 64  # longer side of the first picture in the search
FOLLOWED_PX = 320  # and where edges are followed
TURNED_DEG = (-3.0, 0.0, 3.0)
PHOTO_SCALES = np.geomspace(0.75, 2.6, 17)  # width of what the photo sees over that of the frame
FRAME_SCALES = np.geomspace(0.85, 1.18, 7)
CANDIDATES = 4
# How far corners are moved, as a share of the width, and spread of the edges, in pixels twice as wide.
SHAKEN = ((0.05, 2.0), (0.03, 2.0), (0.015, 1.4))
SHAKES = 200
# Spread of the edges and reach along the normals, in pixels of the followed picture, from far to near.
STAGES = ((2.0, 6.0, 8), (1.0, 3.0, 8), (1.0, 2.0, 6))
MOST_POINTS = 1500
LEAST_POINTS = 40
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


@dataclass(frozen=True, slots=True)
class _Points:
    """Points on edges: places, unit normals, doubled directions, strengths."""

    places: FloatArray
    normals: FloatArray
    directions: Edges
    strengths: FloatArray


def edges(picture: FloatArray, spread_px: float) -> Edges:
    """Direction of the edge at each pixel as a doubled angle, its length between 0 and 1.

    What noise can make counts nothing; edges far stronger than most count little more than those.
    """
    from scipy import ndimage

    down = ndimage.gaussian_filter(picture, spread_px, order=(1, 0), mode="nearest")
    across = ndimage.gaussian_filter(picture, spread_px, order=(0, 1), mode="nearest")
    slope = across + 1j * down
    steep = np.abs(slope)
    noise = noise_k(picture) / (np.sqrt(8.0 * np.pi) * spread_px**2)  # of a slope taken over the spread
    firm = np.maximum(steep - 3.0 * noise, 0.0)
    usual = max(6.0 * noise, 0.25 * float(np.percentile(steep, 97)), 1e-9)
    return np.asarray((slope / (steep + 1e-12)) ** 2 * firm / (firm + usual))


def resized(picture: FloatArray, factor: float) -> FloatArray:
    """A picture with pixels `factor` times as wide: its pixel p lay at (p + 0.5) * factor - 0.5."""
    from scipy import ndimage

    rows, columns = ((np.arange(max(8, round(n / factor))) + 0.5) * factor - 0.5 for n in picture.shape)
    smooth = ndimage.gaussian_filter(picture, 0.4 * factor) if factor > 1 else picture
    grid = np.meshgrid(rows, columns, indexing="ij")
    return np.asarray(ndimage.map_coordinates(smooth, grid, order=1, mode="nearest"))


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
        begin = [start.mapped(_out(corner, factor))]
    else:
        begin = list(_distinct(_search(first, second, scales, least_shared), CANDIDATES))
    try:
        found = [(1.0, begin[0])] if start is not None else list(_shaken_all(near, second, begin))
        found.sort(key=lambda item: -item[0])
        ends = [end for _, images in found[:3] if (end := _end(near, second, images))]
        ends.sort(key=lambda item: -item.agreement)
        return _judged(ends, first.shape, factor) if ends else None
    except np.linalg.LinAlgError:  # edges that meet nowhere, or all on one line
        return None


@dataclass(frozen=True, slots=True)
class _End:
    agreement: float
    images: FloatArray  # of the corners of the followed picture, in the second one
    corner_px: float
    points: int


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


def _judged(ends: list[_End], shape: tuple[int, int], factor: float) -> Proposal | None:
    best = ends[0]
    width = float(np.ptp(best.images[:, 1]))
    others = [end.agreement for end in ends[1:] if np.max(np.abs(end.images - best.images)) > 0.03 * width]
    rival = max(others, default=0.0) / max(best.agreement, 1e-9)
    near = (round(shape[0] / factor), round(shape[1] / factor))
    corner_px = best.corner_px * factor
    try:
        alignment = align(
            _out(corners_of(near), factor), best.images, scatter_px=(max(corner_px, 0.1), 0.1), shape=shape
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


def _into(points: FloatArray, factor: float) -> FloatArray:
    return np.asarray((points + 0.5) / factor - 0.5)


def _out(points: FloatArray, factor: float) -> FloatArray:
    return np.asarray((points + 0.5) * factor - 0.5)


def _pitch(corner: FloatArray, images: FloatArray) -> float:
    """Pixels of the second picture to one of the first."""
    across, whole = (
        np.linalg.norm(points[[0, 3]] - points[[1, 2]], axis=1).mean() for points in (images, corner)
    )
    return float(across / whole)


# ---------------------------------------------------------------- search


def _search(
    first: FloatArray, second: FloatArray, scales: FloatArray, least_shared: float
) -> list[tuple[float, FloatArray]]:
    """Agreement and images of the first picture's corners at each scale and turn, best first."""
    factor = max(first.shape) / SEARCHED_PX
    small = resized(first, factor)
    turned = [_turned(small, angle) for angle in TURNED_DEG]
    found = []
    for scale in scales:
        pitch = max(second.shape) / (SEARCHED_PX * scale)
        other = edges(resized(second, pitch), 1.2)
        for turn, own, mask in turned:
            for agreement, shift in _best_shifts(own, mask, other, least_shared):
                corner = corners_of(small.shape) - (np.array(small.shape) - 1.0) / 2.0
                corner = corner @ turn.T + (np.array(own.shape) - 1.0) / 2.0 + shift
                found.append((agreement, _out(corner, pitch)))
    return sorted(found, key=lambda item: -item[0])


def _distinct(found: list[tuple[float, FloatArray]], most: int) -> Iterator[FloatArray]:
    """The best places that are not nearly the same."""
    taken: list[FloatArray] = []
    for _, images in found:
        width = np.ptp(images[:, 1])
        if len(taken) < most and all(np.abs(images - other).max() > 0.06 * width for other in taken):
            taken.append(images)
            yield images


def _turned(small: FloatArray, angle_deg: float) -> tuple[FloatArray, Edges, FloatArray]:
    """The turn as a matrix for (row, column), the turned edges, and where they are the picture's."""
    from scipy import ndimage

    angle = np.radians(angle_deg)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    pad = int(np.ceil(max(small.shape) * abs(np.sin(angle)) / 2.0)) + 1
    whole, mask = np.pad(small, pad, mode="edge"), np.pad(np.ones(small.shape), pad)
    middle = (np.array(whole.shape) - 1.0) / 2.0
    offset = middle - turn.T @ middle
    whole = ndimage.affine_transform(whole, turn.T, offset, order=1, mode="nearest")
    mask = ndimage.affine_transform(mask, turn.T, offset, order=0)
    return turn, edges(whole, 1.2) * mask, mask


def _best_shifts(
    own: Edges, mask: FloatArray, other: Edges, least_shared: float, count: int = 2
) -> Iterator[tuple[float, FloatArray]]:
    """Where edges agree best over what both pictures show, by Fourier transforms."""
    from scipy import fft

    shape = tuple(fft.next_fast_len(a + b - 1) for a, b in zip(own.shape, other.shape, strict=True))

    def real(part: FloatArray) -> NDArray[np.complex64]:
        return np.asarray(fft.rfft2(part.astype(np.float32), shape))

    def summed(mine: NDArray[np.complex64], theirs: NDArray[np.complex64]) -> FloatArray:
        return np.asarray(fft.irfft2(np.conj(mine) * theirs, shape), dtype=np.float64)

    both = fft.ifft2(
        np.conj(fft.fft2(own.astype(np.complex64), shape)) * fft.fft2(other.astype(np.complex64), shape)
    )
    seen, whole = real(mask), real(np.ones(other.shape))
    floors = [0.02 * float(np.sum(np.abs(part) ** 2)) for part in (own, other)]
    mine = summed(real(np.abs(own) ** 2), whole) + floors[0]
    theirs = summed(seen, real(np.abs(other) ** 2)) + floors[1]
    shared = np.clip(summed(seen, whole) / mask.sum(), 0.0, 1.0)
    agreement = both.real / np.sqrt(np.maximum(mine * theirs, 1e-12)) * np.sqrt(shared)
    score = np.where(shared >= least_shared, agreement, -1.0)
    for _ in range(count):
        at = np.array(np.unravel_index(np.argmax(score), score.shape))
        if score[tuple(at)] <= 0.0:
            return
        shift = np.where(at < other.shape, at, at - shape)
        yield float(score[tuple(at)]), shift.astype(np.float64)
        near = (np.arange(-4, 5)[:, None] + at) % shape
        score[np.ix_(near[:, 0], near[:, 1])] = -1.0


# ---------------------------------------------------------------- shaking


def _shaken_all(
    near: FloatArray, second: FloatArray, begin: list[FloatArray]
) -> Iterator[tuple[float, FloatArray]]:
    """Each place with its corners moved about while more edges meet, and how well they do then."""
    half = resized(near, 2.0)
    corner = corners_of(half.shape)
    levels = [(far, spread, _points(edges(half, spread), 400)) for far, spread in SHAKEN]
    units = Units.of(corner)
    for place in begin:
        rng = np.random.default_rng(7)
        images, met = place, 0.0
        part, low, pitch = _around(second, images, corner)
        for far, spread, points in levels:
            if points is None:
                continue
            field = edges(part, spread)
            moved = _into(images, pitch) - low + _moves(rng, far * half.shape[1])
            into = np.broadcast_to(units.into(corner), moved.shape)
            met_by = _met(points, field, homography.through_four(into, moved), units)
            images, met = _out(moved[np.argmax(met_by)] + low, pitch), float(np.max(met_by))
        yield met, images


def _moves(rng: np.random.Generator, far_px: float) -> FloatArray:
    """None, then moves of single corners together with a common one, shape (moves, 4, 2)."""
    common = rng.normal(0.0, far_px, (SHAKES, 1, 2)) + rng.normal(0.0, far_px, (SHAKES, 4, 2))
    return np.concatenate([np.zeros((1, 4, 2)), common])


def _around(
    second: FloatArray, images: FloatArray, corner: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """The part of the second picture that matters, at the pitch of the first; its corner and the pitch."""
    pitch = _pitch(corner, images)
    margin = 0.12 * np.ptp(images, axis=0).max()
    low = np.maximum(np.floor((images.min(axis=0) - margin) / pitch), 0.0)
    first = (low * pitch).astype(int)
    last = np.maximum((images.max(axis=0) + margin).astype(int), first + 8)
    part = second[first[0] : last[0], first[1] : last[1]]
    return resized(part, pitch), first / pitch, pitch


def _met(points: _Points, field: Edges, cores: FloatArray, units: Units) -> FloatArray:
    """How well edges meet at the images of the points, for each map."""
    into = np.broadcast_to(units.into(points.places), (len(cores), *points.places.shape))
    found = _sampled(field, homography.mapped(cores, into))
    return np.asarray(np.real(found * np.conj(points.directions)) @ points.strengths / points.strengths.sum())


def _sampled(field: Edges, places: FloatArray) -> Edges:
    """A field between its pixels; zero outside."""
    from scipy import ndimage

    flat = places.reshape(-1, 2).T
    real, imaginary = (ndimage.map_coordinates(part, flat, order=1) for part in (field.real, field.imag))
    return np.asarray((real + 1j * imaginary).reshape(places.shape[:-1]))


def _points(field: Edges, most: int) -> _Points | None:
    """Ridges of edge strength, between pixels; None where there are too few."""
    from scipy import ndimage

    strength, angle = np.abs(field), np.angle(field) / 2.0
    normal = np.stack([np.sin(angle), np.cos(angle)])
    grid = np.mgrid[: field.shape[0], : field.shape[1]]
    ahead = ndimage.map_coordinates(strength, grid + normal, order=1, mode="nearest")
    behind = ndimage.map_coordinates(strength, grid - normal, order=1, mode="nearest")
    is_ridge = (strength >= ahead) & (strength > behind) & (strength > 0.2)
    is_ridge[:3] = is_ridge[-3:] = is_ridge[:, :3] = is_ridge[:, -3:] = False
    at = np.flatnonzero(is_ridge)
    if len(at) < LEAST_POINTS // 2:
        return None
    at = at[np.linspace(0, len(at) - 1, min(most, len(at))).astype(int)]
    peak, before, after = strength.flat[at], behind.flat[at], ahead.flat[at]
    offset = np.clip(0.5 * (after - before) / np.maximum(2 * peak - after - before, 1e-9), -0.7, 0.7)
    normals = normal.reshape(2, -1).T[at]
    places = np.stack(np.unravel_index(at, field.shape), axis=1) + offset[:, None] * normals
    return _Points(places, normals, field.flat[at] / peak, peak)


# ---------------------------------------------------------------- following


def _end(near: FloatArray, second: FloatArray, images: FloatArray) -> _End | None:
    """The map that edges of the first picture lead to."""
    corner = corners_of(near.shape)
    units = Units.of(corner)
    other, low, pitch = _around(second, images, corner)
    core = homography.through_four(units.into(corner), _into(images, pitch) - low)
    agreement, spread, count = 0.0, np.inf, 0
    for blur, reach, turns in STAGES:
        points = _points(edges(near, blur), MOST_POINTS)
        if points is None:
            return None
        field = edges(other, blur)
        slope = np.einsum("ni,nik->nk", points.normals, homography.by_map(_STILL, units.into(points.places)))
        slope = slope * units.length
        for _ in range(turns):
            missed, weight, agreement = _missed(points, field, core, units, reach)
            step, spread, count = _step(slope, missed, weight, max(0.5, reach / 3.0), units)
            matrix = np.append(core, 1.0).reshape(3, 3) @ (np.append(step, 0.0).reshape(3, 3) + np.eye(3))
            core = (matrix / matrix[2, 2]).ravel()[:8]
            if np.max(np.abs(slope @ step)) < 0.02:
                break
    return _End(agreement, _out(homography.mapped(core, units.into(corner)) + low, pitch), spread, count)


_STILL = np.array([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0])


def _missed(
    points: _Points, field: Edges, core: FloatArray, units: Units, reach: float
) -> tuple[FloatArray, FloatArray, float]:
    """How far along its normal each point finds its edge, how much that counts, and the share that do.

    Where the second picture is full of edges anyway, finding one says little.
    """
    along = np.arange(-reach, reach + 0.25, 0.5)
    places = points.places[:, None] + along[None, :, None] * points.normals[:, None]
    images = homography.mapped(core, units.into(places.reshape(-1, 2))).reshape(places.shape)
    met = np.maximum(np.real(_sampled(field, images) * np.conj(points.directions)[:, None]), 0.0)
    likely = met * np.exp(-0.5 * (along / (0.6 * reach)) ** 2)
    best = np.clip(np.argmax(likely, axis=1), 1, len(along) - 2)
    row = np.arange(len(best))
    before, peak, after = likely[row, best - 1], likely[row, best], likely[row, best + 1]
    bend = 2.0 * peak - before - after
    offset = np.where(bend > 1e-9, 0.5 * (after - before) / np.maximum(bend, 1e-9), 0.0)
    missed = along[best] + 0.5 * np.clip(offset, -1.0, 1.0)
    height = met[row, best]
    weight = np.where(height > 0.15, np.maximum(height - met.mean(axis=1), 0.0), 0.0) * points.strengths
    middle = images[:, len(along) // 2]
    counted = points.strengths * np.all((middle >= 0) & (middle <= np.array(field.shape) - 1.0), axis=1)
    is_met = (height > 0.15) & (np.abs(missed) < 1.0)
    share = float(np.sum(is_met * counted) / counted.sum()) if counted.any() else 0.0
    return missed, weight, share


def _step(
    slope: FloatArray, missed: FloatArray, weight: FloatArray, usual: float, units: Units
) -> tuple[FloatArray, float, int]:
    """Change of the map, standard uncertainty of its worst corner, and how many points carry it."""
    step: FloatArray = np.zeros(8)
    normal: FloatArray = np.eye(8)
    for _ in range(4):
        left = missed - slope @ step
        robust = weight / (1.0 + (left / usual) ** 2) ** 2
        normal = slope.T @ (robust[:, None] * slope)
        held = np.array([1e-3, 1e-3, 1e-4, 1e-3, 1e-3, 1e-4, 1e-2, 1e-2]) * np.trace(normal) / 8.0
        step = np.asarray(np.linalg.solve(normal + np.diag(held), slope.T @ (robust * missed)))
    left = missed - slope @ step
    near = (weight > 0) & (np.abs(left) < 1.5)
    information = slope[near].T @ slope[near] / CORRELATED + 1e-9 * np.eye(8)
    variance = max(float(np.mean(left[near] ** 2)) if near.any() else 1.0, 0.04)
    at = homography.by_map(_STILL, np.array([[-1, -1], [-1, 1], [1, 1], [1, -1]]) * 1.2) * units.length
    spread = np.einsum("nik,kl,nil->n", at, np.linalg.inv(information), at) * variance
    return step, float(np.sqrt(spread.max())), int(near.sum())


CORRELATED = 8.0  # neighbouring points of one edge err together
