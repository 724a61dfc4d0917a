"""From a place near enough to the map that edges lead to, along their normals from far to near.

Source
------
Y. Chen, G. Medioni, Object modelling by registration of multiple range images, Image and Vision
Computing 10 (1992) 145-155.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.imaging import homography
from thermalkit.imaging.alignment import corners_of
from thermalkit.imaging.edges import (
    EdgePoints,
    Edges,
    edge_points,
    edges,
    part_around,
    sampled,
    to_coarse,
    to_fine,
)
from thermalkit.imaging.homography import Units
from thermalkit.measured import FloatArray

# Spread of the edges and reach along the normals, in pixels of the followed picture, from far to near.
STAGES = ((2.0, 6.0, 8), (1.0, 3.0, 8), (1.0, 2.0, 6))
MOST_POINTS = 1500


@dataclass(frozen=True, slots=True)
class Followed:
    """The map that edges led to, by the images of the followed picture's corners in the second one."""

    agreement: float
    images: FloatArray
    corner_px: float
    points: int


def followed(near: FloatArray, second: FloatArray, images: FloatArray) -> Followed | None:
    """The map that edges of the first picture lead to."""
    corner = corners_of(near.shape)
    units = Units.of(corner)
    other, low, pitch = part_around(second, images, corner)
    core = homography.through_four(units.into(corner), to_coarse(images, pitch) - low)
    agreement, spread, count = 0.0, np.inf, 0
    for blur, reach, turns in STAGES:
        points = edge_points(edges(near, blur), MOST_POINTS)
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
    return Followed(
        agreement, to_fine(homography.mapped(core, units.into(corner)) + low, pitch), spread, count
    )


_STILL = np.array([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0])


def _missed(
    points: EdgePoints, field: Edges, core: FloatArray, units: Units, reach: float
) -> tuple[FloatArray, FloatArray, float]:
    """How far along its normal each point finds its edge, how much that counts, and the share that do.

    Where the second picture is full of edges anyway, finding one says little.
    """
    along = np.arange(-reach, reach + 0.25, 0.5)
    places = points.places[:, None] + along[None, :, None] * points.normals[:, None]
    images = homography.mapped(core, units.into(places.reshape(-1, 2))).reshape(places.shape)
    met = np.maximum(np.real(sampled(field, images) * np.conj(points.directions)[:, None]), 0.0)
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
