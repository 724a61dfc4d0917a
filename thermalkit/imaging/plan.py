"""A frame as a plan in millimetres, by points whose positions on the surface were measured.

Four points fix a plan, right or wrong. It counts as checked only where something in excess agrees: a fifth
point, taped distances, or field of view and distance of the camera.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import compress

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.imaging import homography
from thermalkit.imaging.alignment import CLICK_PX, LEAST_PAIRS, SHARE_BEYOND, Alignment, align
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import Draws, FloatArray, Measured, measured

TAPE_MM = 3.0  # standard deviation of a taped position or distance, common practice
VIEW_SPREAD = 0.03  # of a stated field of view, common practice
DISTANCE_SPREAD = 0.05  # of a distance from camera to surface, common practice
MOST_PIXELS = 4_000_000
_CAMERA_DRAWS = 2000

Taped = tuple[int, int, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """What is known of how a frame was taken; across and down as the picture lies."""

    field_of_view_deg: tuple[float, float]
    distance_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """A frame and its surface in mm.

    `why` says what agreed or what is missing; `wrong` are the points, counted from 0, that contradict the
    others. `onto_mm` maps (row, column) to (x, y), `onto_frame` back.
    """

    frame: str
    shape: tuple[int, int]
    onto_mm: Alignment
    onto_frame: Alignment
    is_checked: bool
    why: tuple[Sentence, ...]
    wrong: tuple[int, ...]
    is_upward: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rectified:
    """Values on a grid in mm; pixel (0, 0) lies at `x_mm`, `y_mm`, rows run along y by `y_step_mm`."""

    values: FloatArray
    x_mm: float
    y_mm: float
    mm_per_pixel: float
    y_step_mm: float


def plan_of(
    points: ArrayLike,
    shape: tuple[int, int],
    *,
    frame: str = "",
    taped: Sequence[Taped] = (),
    camera: Camera | None = None,
    click_px: float = CLICK_PX,
    tape_mm: float = TAPE_MM,
) -> Plan:
    """A plan from points of known position.

    Parameters
    ----------
    points : array_like, shape (points, 4)
        Row, column, x in mm, y in mm; four or more. The y axis may run up or down.
    shape : (rows, columns)
        Size of the frame.
    frame : str
        Its id: draws of two distances in one plan are shared, those of two plans are not.
    taped : sequence of (i, j, mm)
        Distances taped between points, which are counted from 0; best the two diagonals.
    camera : Camera, optional
        Field of view, and distance where known.
    click_px, tape_mm : float
        Standard deviation of a click and of a measured position.

    Raises
    ------
    Unaligned
        The points fix no plan; says why.

    Notes
    -----
    Criteria, each at 99 %: points in excess by the sum of squares of their residuals over what clicks and
    tape explain; a taped distance within 2.6 standard deviations; right angle and equal scale of the two
    axes as the camera must have seen them, and its distance.
    """
    given = np.asarray(points, dtype=np.float64).reshape(-1, 4)
    onto_mm, onto_frame = _both_ways(given, shape, click_px, tape_mm)
    named = onto_mm.left_out
    if not onto_mm.is_consistent and camera is not None:
        odd = _odd_one(given, shape, camera, click_px, tape_mm)
        if odd is not None:
            left = np.delete(given, odd, axis=0)
            onto_mm, onto_frame = _both_ways(left, shape, click_px, tape_mm)
            named = (odd,)
    agreed, contradicted = _checks(given, onto_mm, onto_frame, shape, taped, camera, tape_mm, named)
    is_checked = bool(agreed) and not contradicted
    wrong = tuple(say("plan.wrong-point", point=i + 1) for i in named)
    why = (*wrong, *contradicted, *agreed) or (say("plan.unchecked"),)
    upward = np.sign(np.linalg.det(homography.by_point(onto_mm.core, np.zeros((1, 2)))[0])) > 0
    return Plan(
        frame=frame,
        shape=shape,
        onto_mm=onto_mm,
        onto_frame=onto_frame,
        is_checked=is_checked,
        why=why,
        wrong=named,
        is_upward=bool(upward),
    )


def distance_mm(
    plan: Plan, a: ArrayLike, b: ArrayLike, draws: Draws, click_px: float = CLICK_PX
) -> FloatArray:
    """Distance on the surface between two places of the frame, shape (draws,).

    Parameters
    ----------
    plan : Plan
    a, b : array_like, shape (2,)
        (row, column).
    draws : Draws
    click_px : float
        Standard deviation of a click at `a` and at `b`; 0 where they are no clicks.
    """
    ends = np.asarray([a, b], dtype=np.float64)
    normal = np.stack([draws.normal(f"plan {plan.frame} {k}", 1.0) for k in range(8)], axis=1)
    places = plan.onto_mm.drawn(ends, normal)
    moves = homography.by_point(plan.onto_mm.core, plan.onto_mm.first.into(ends))
    moves = moves * plan.onto_mm.second.length / plan.onto_mm.first.length
    for end, (place, move) in enumerate(zip(ends, moves, strict=True)):
        name = f"click {plan.frame} {place[0]:.2f} {place[1]:.2f}"
        clicked = np.stack([draws.normal(f"{name} {axis}", click_px) for axis in (0, 1)], axis=1)
        places[:, end] += clicked @ move.T
    return np.asarray(np.linalg.norm(places[:, 0] - places[:, 1], axis=1))


def distance(plan: Plan, a: ArrayLike, b: ArrayLike) -> Measured:
    """The same as a value with its interval, in mm.

    Examples
    --------
    >>> square = [[20, 20, 0, 0], [20, 120, 1000, 0], [120, 120, 1000, 1000], [120, 20, 0, 1000]]
    >>> round(distance(plan_of(square, (140, 140)), (70, 20), (70, 120)).value, -1)
    1000.0
    """
    return measured(distance_mm(plan, a, b, Draws()), "mm")


def position_mm(plan: Plan, places: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Places of the frame as (x, y) in mm, and the covariance of each in mm², shapes (n, 2), (n, 2, 2)."""
    return plan.onto_mm.mapped(places), plan.onto_mm.covariance_at(places)


def rectified(values: ArrayLike, plan: Plan, mm_per_pixel: float | None = None) -> Rectified:
    """A picture of the frame as seen square on, the known points and what lies between them.

    Parameters
    ----------
    values : array_like, shape (rows, columns)
    plan : Plan
    mm_per_pixel : float, optional
        What a pixel of the frame sees, otherwise; never so fine that the picture grows beyond 4 million.
    """
    known = plan.onto_mm.pairs[:, 1]
    low, high = known.min(axis=0), known.max(axis=0)
    if mm_per_pixel is None:
        moves = homography.by_point(plan.onto_mm.core, np.zeros((1, 2)))[0]
        per_px = moves * plan.onto_mm.second.length / plan.onto_mm.first.length
        mm_per_pixel = float(np.sqrt(abs(np.linalg.det(per_px))))
    pitch = max(mm_per_pixel, float(np.sqrt(np.prod(high - low) / MOST_PIXELS)))
    columns, rows = (int(np.floor(n)) + 1 for n in (high - low) / pitch)
    y_mm, y_step = (float(high[1]), -pitch) if plan.is_upward else (float(low[1]), pitch)
    across, down = np.meshgrid(low[0] + pitch * np.arange(columns), y_mm + y_step * np.arange(rows))
    places = plan.onto_frame.mapped(np.stack([across.ravel(), down.ravel()], axis=1))
    return Rectified(
        values=_taken(values, places).reshape(rows, columns),
        x_mm=float(low[0]),
        y_mm=y_mm,
        mm_per_pixel=pitch,
        y_step_mm=y_step,
    )


def _taken(values: ArrayLike, places: FloatArray) -> FloatArray:
    from scipy import ndimage

    field = np.asarray(values, dtype=np.float64)
    at = np.nan_to_num(places, nan=-1e6).T
    return np.asarray(ndimage.map_coordinates(field, at, order=1, mode="constant", cval=np.nan))


def _both_ways(
    given: FloatArray, shape: tuple[int, int], click_px: float, tape_mm: float
) -> tuple[Alignment, Alignment]:
    seen, known = given[:, :2], given[:, 2:]
    onto_mm = align(seen, known, scatter_px=(click_px, tape_mm), may_mirror=True)
    used = np.setdiff1d(np.arange(len(given)), onto_mm.left_out)
    back = align(known[used], seen[used], scatter_px=(tape_mm, click_px), may_mirror=True)
    return onto_mm, back


def _checks(
    given: FloatArray,
    onto_mm: Alignment,
    onto_frame: Alignment,
    shape: tuple[int, int],
    taped: Sequence[Taped],
    camera: Camera | None,
    tape_mm: float,
    named: tuple[int, ...],
) -> tuple[tuple[Sentence, ...], tuple[Sentence, ...]]:
    """What agrees and what contradicts."""
    agreed, contradicted = [], []
    spare = len(onto_mm.pairs) - len(onto_mm.left_out) - LEAST_PAIRS
    if spare > 0 and onto_mm.is_consistent:
        agreed.append(say("plan.more-points", residual=Number(onto_mm.rms_px, "mm", 0)))
    elif spare > 0:
        contradicted.append(say("plan.points-contradict"))
    for i, j, length_mm in taped:
        if i in named or j in named:
            continue
        off_mm = float(np.linalg.norm(given[i, 2:] - given[j, 2:])) - length_mm
        # Two positions and the tape itself, each as good as the tape.
        is_near = abs(off_mm) <= 2.6 * np.sqrt(3.0) * tape_mm
        id = "plan.taped-agrees" if is_near else "plan.taped-contradicts"
        text = say(id, first=i + 1, second=j + 1, off=Number(abs(off_mm), "mm", 0))
        (agreed if is_near else contradicted).append(text)
    if camera is not None:
        is_near = _fits_camera(onto_frame, shape, camera)
        (agreed if is_near else contradicted).append(
            say("plan.camera-agrees" if is_near else "plan.camera-contradicts")
        )
    return tuple(agreed), tuple(contradicted)


def _odd_one(
    given: FloatArray, shape: tuple[int, int], camera: Camera, click_px: float, tape_mm: float
) -> int | None:
    """The point without which the others agree with the camera, where there is only one such point."""
    fits = []
    for i in range(len(given)):
        onto_mm, back = _both_ways(np.delete(given, i, axis=0), shape, click_px, tape_mm)
        fits.append(onto_mm.is_consistent and not onto_mm.left_out and _fits_camera(back, shape, camera))
    odd = list(compress(range(len(given)), fits))
    return odd[0] if len(odd) == 1 else None


def _fits_camera(onto_frame: Alignment, shape: tuple[int, int], camera: Camera) -> bool:
    """Whether a camera of this field of view, from this distance, can have seen the points so."""
    from scipy.special import chdtri

    rng = np.random.default_rng(11)
    size, turn = np.linalg.eigh(onto_frame.covariance)
    spread = (rng.normal(size=(_CAMERA_DRAWS, 8)) * np.sqrt(np.maximum(size, 0.0))) @ turn.T
    views = 1.0 + VIEW_SPREAD * rng.normal(size=_CAMERA_DRAWS)
    far = 1.0 + DISTANCE_SPREAD * rng.normal(size=_CAMERA_DRAWS)
    drawn = _camera_misfits(onto_frame.core + spread, onto_frame, shape, camera, views)
    here = _camera_misfits(onto_frame.core[None], onto_frame, shape, camera, np.ones(1))[0]
    if camera.distance_m is None:
        drawn, here = drawn[:, :2], here[:2]
    else:
        drawn[:, 2] += np.log(far)
    scatter = np.cov(drawn.T)
    return bool(here @ np.linalg.solve(scatter, here) <= chdtri(len(here), SHARE_BEYOND))


def _camera_misfits(
    cores: FloatArray, onto_frame: Alignment, shape: tuple[int, int], camera: Camera, views: FloatArray
) -> FloatArray:
    """Cosine between the axes, logarithm of their ratio and of the distance over the stated one.

    The columns of the map, seen through the camera, are the axes of the surface: at right angles and of one
    length. Source: Hartley and Zisserman (2003), 8.8, calibration from a plane.
    """
    ones = np.ones((len(cores), 1))
    into = np.array(
        [
            [1.0 / onto_frame.first.length, 0.0, -onto_frame.first.row / onto_frame.first.length],
            [0.0, 1.0 / onto_frame.first.length, -onto_frame.first.column / onto_frame.first.length],
            [0.0, 0.0, 1.0],
        ]
    )
    middle = (np.array(shape) - 1.0) / 2.0
    length = onto_frame.second.length
    out = np.array(
        [
            [length, 0.0, onto_frame.second.row - middle[0]],
            [0.0, length, onto_frame.second.column - middle[1]],
            [0.0, 0.0, 1.0],
        ]
    )
    across, down = (np.radians(angle) / 2.0 for angle in camera.field_of_view_deg)
    focal = np.array([shape[0] / 2.0 / np.tan(down), shape[1] / 2.0 / np.tan(across)])
    maps = out @ np.concatenate([cores, ones], axis=1).reshape(-1, 3, 3) @ into
    rays = maps / np.concatenate([focal[None] * views[:, None], ones], axis=1)[:, :, None]
    x, y = rays[:, :, 0], rays[:, :, 1]
    lengths = np.linalg.norm(x, axis=1), np.linalg.norm(y, axis=1)
    cosine = np.sum(x * y, axis=1) / (lengths[0] * lengths[1])
    # The place in the middle of the picture: its ray is (0, 0, 1), its depth the scale of the map.
    straight = np.linalg.solve(rays, np.broadcast_to([[0.0], [0.0], [1.0]], (len(rays), 3, 1)))[:, 2, 0]
    depth_mm = 1.0 / (straight * np.sqrt(lengths[0] * lengths[1]))
    stated_mm = 1000.0 * (camera.distance_m or 1.0)
    return np.stack([cosine, np.log(lengths[0] / lengths[1]), np.log(np.abs(depth_mm) / stated_mm)], axis=1)
