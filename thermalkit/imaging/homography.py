"""Projective maps between two views of one plane, eight numbers each.

A map takes (row, column) to ((a r + b c + d) / n, (e r + f c + g) / n) with n = p r + q c + 1. Both sides are
shifted and scaled first, so that points lie about one unit from the origin; all functions here work in
those units.

Source
------
R. Hartley, In defense of the eight-point algorithm, IEEE PAMI 19 (1997) 580-593 (shift and scale);
R. Hartley, A. Zisserman, Multiple View Geometry, 2nd ed. 2003, 4.1 (direct linear solution), 5.2
(covariance of a mapped point).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.measured import FloatArray

REFINEMENTS = 12


@dataclass(frozen=True, slots=True)
class Units:
    """Shift and scale of the points of one picture."""

    row: float
    column: float
    length: float

    @classmethod
    def of(cls, points: FloatArray) -> Units:
        """Mean at the origin, root mean square of each coordinate about one."""
        row, column = points.mean(axis=0)
        spread = float(np.sqrt(np.mean((points - (row, column)) ** 2)))
        return cls(float(row), float(column), spread or 1.0)

    def into(self, points: FloatArray) -> FloatArray:
        """Points in these units."""
        return np.asarray((points - (self.row, self.column)) / self.length)

    def out_of(self, points: FloatArray) -> FloatArray:
        """Points in pixels again."""
        return np.asarray(points * self.length + (self.row, self.column))


def mapped(core: FloatArray, points: FloatArray) -> FloatArray:
    """Images of points, shape (..., n, 2), under maps of shape (..., 8)."""
    first = np.concatenate([points, np.ones((*points.shape[:-1], 1))], axis=-1)
    above = np.einsum("...ij,...nj->...ni", core[..., :6].reshape(*core.shape[:-1], 2, 3), first)
    return np.asarray(above / denominator(core, points)[..., None])


def denominator(core: FloatArray, points: FloatArray) -> FloatArray:
    """What a map divides by; it changes its sign across the horizon, shape (..., n)."""
    return np.asarray(np.einsum("...k,...nk->...n", core[..., 6:], points) + 1.0)


def by_map(core: FloatArray, points: FloatArray) -> FloatArray:
    """Derivative of the images by the eight numbers, shape (..., n, 2, 8)."""
    below = denominator(core, points)[..., None]
    images = mapped(core, points)
    homogeneous = np.concatenate([points, np.ones((*points.shape[:-1], 1))], axis=-1) / below
    out = np.zeros((*images.shape, 8))
    out[..., 0, 0:3] = homogeneous
    out[..., 1, 3:6] = homogeneous
    out[..., 6:] = -images[..., :, None] * homogeneous[..., None, :2]
    return out


def by_point(core: FloatArray, points: FloatArray) -> FloatArray:
    """Derivative of the images by the points, shape (..., n, 2, 2)."""
    linear = core[..., :6].reshape(*core.shape[:-1], 2, 3)[..., None, :, :2]
    turned = mapped(core, points)[..., :, None] * core[..., None, None, 6:]
    return np.asarray((linear - turned) / denominator(core, points)[..., None, None])


def through_four(first: FloatArray, second: FloatArray) -> FloatArray:
    """The maps that take four points each to four others, shapes (..., 4, 2) to (..., 8)."""
    return np.asarray(np.linalg.solve(*_linear(first, second))[..., 0])


def _linear(first: FloatArray, second: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The direct linear equations, two a pair."""
    homogeneous = np.concatenate([first, np.ones((*first.shape[:-1], 1))], axis=-1)
    rows = np.zeros((*first.shape, 8))
    rows[..., 0, 0:3] = homogeneous
    rows[..., 1, 3:6] = homogeneous
    rows[..., 6:] = -second[..., :, None] * first[..., None, :]
    count = 2 * first.shape[-2]
    return rows.reshape(*first.shape[:-2], count, 8), second.reshape(*first.shape[:-2], count, 1)


def covariances(core: FloatArray, points: FloatArray, scatter: tuple[FloatArray, FloatArray]) -> FloatArray:
    """Covariance of what is left at each pair, when both of its points scatter, shape (..., n, 2, 2).

    `scatter` is the standard deviation of the first and of the second points, shape (n,) each.
    """
    moves = by_point(core, points)
    carried = np.einsum("...ij,...kj->...ik", moves, moves) * scatter[0][..., None, None] ** 2
    return np.asarray(carried + np.eye(2) * scatter[1][..., None, None] ** 2)


def fitted(
    first: FloatArray, second: FloatArray, scatter: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray]:
    """The map that fits pairs best, and the covariance of its eight numbers, shapes (8,) and (8, 8).

    Starts from the direct linear solution; each further turn weighs a pair by the scatter of both of its
    points (Gauss-Newton on the distance in the second picture, which to first order is the distance in
    both).
    """
    core = np.asarray(np.linalg.lstsq(*_linear(first, second), rcond=None)[0][:, 0])
    normal = np.eye(8)
    for _ in range(REFINEMENTS):
        weights = np.linalg.inv(covariances(core, first, scatter))
        slope = by_map(core, first)
        normal = np.einsum("nij,nik,nkl->jl", slope, weights, slope)
        step = np.linalg.solve(
            normal, np.einsum("nij,nik,nk->j", slope, weights, second - mapped(core, first))
        )
        core = core + step
        if np.max(np.abs(step)) < 1e-10:
            break
    return core, np.asarray(np.linalg.inv(normal))
