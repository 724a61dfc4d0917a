"""Edges of a picture as doubled angles, and the points on them.

Dark to bright and bright to dark count alike: what is bright may be cold or warm.

Source
------
J. Bigün, G. Granlund, Optimal orientation detection of linear symmetry, ICCV 1987.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.quality import noise_k
from thermalkit.measured import FloatArray

Edges = NDArray[np.complex128]
LEAST_POINTS = 40


@dataclass(frozen=True, slots=True)
class EdgePoints:
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


def to_coarse(points: FloatArray, factor: float) -> FloatArray:
    """Where places lie on a picture with pixels `factor` times as wide."""
    return np.asarray((points + 0.5) / factor - 0.5)


def to_fine(points: FloatArray, factor: float) -> FloatArray:
    """And back."""
    return np.asarray((points + 0.5) * factor - 0.5)


def _pitch(corner: FloatArray, images: FloatArray) -> float:
    """Pixels of the second picture to one of the first."""
    across, whole = (
        np.linalg.norm(points[[0, 3]] - points[[1, 2]], axis=1).mean() for points in (images, corner)
    )
    return float(across / whole)


def part_around(
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


def sampled(field: Edges, places: FloatArray) -> Edges:
    """A field between its pixels; zero outside."""
    from scipy import ndimage

    flat = places.reshape(-1, 2).T
    real, imaginary = (ndimage.map_coordinates(part, flat, order=1) for part in (field.real, field.imag))
    return np.asarray((real + 1j * imaginary).reshape(places.shape[:-1]))


def edge_points(field: Edges, most: int) -> EdgePoints | None:
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
    return EdgePoints(places, normals, field.flat[at] / peak, peak)
