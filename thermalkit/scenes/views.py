"""One plane of an invented room in a frame and in a photo, whose map onto one another is known.

What is warm or cold need not be seen, and what is seen need not be warm or cold: windows, doors, furniture
and sockets show in both, pipes in the wall and cold edges in the frame only, pictures, wallpaper and
shadows in the photo only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.imaging.camera import Camera, apparent_frame
from thermalkit.measured import FloatArray

CANVAS = (960, 1280)  # of the plane, drawn finer than either picture sees it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plane:
    """Temperatures in °C and brightness from 0 to 1 of one plane, both of shape `CANVAS`."""

    surface_degc: FloatArray
    brightness: FloatArray


def random_plane(rng: np.random.Generator) -> Plane:
    """A wall with what hangs on it, stands before it and runs in it."""
    rows, columns = CANVAS
    down, across = np.mgrid[:rows, :columns]
    wall_degc = rng.uniform(15.0, 19.0)
    surface = wall_degc + rng.uniform(0.5, 2.0) * (1.0 - down / rows)
    brightness = np.full(CANVAS, rng.uniform(0.55, 0.9))
    _cold_edges(rng, surface)
    _wallpaper(rng, brightness)
    for _ in range(rng.integers(9, 16)):  # windows, doors, furniture, sockets: in both
        box = _box(rng, rng.uniform(0.05, 0.30), rng.uniform(0.05, 0.35))
        surface[box] = wall_degc + rng.choice([-1, 1]) * rng.uniform(0.6, 4.0)
        brightness[box] = rng.uniform(0.1, 1.0)
        if rng.random() < 0.5:
            inner = tuple(slice(side.start + 12, max(side.stop - 12, side.start + 14)) for side in box)
            surface[inner] += rng.uniform(-1.5, 1.5)
            brightness[inner] = rng.uniform(0.1, 1.0)
    for _ in range(rng.integers(0, 3)):  # pipes: in the frame only
        at, half = rng.uniform(0.1, 0.9) * columns, rng.uniform(10.0, 30.0)
        surface += rng.uniform(0.5, 2.0) * np.exp(-(((across - at - 0.1 * down) / half) ** 2))
    for _ in range(rng.integers(1, 4)):  # pictures: in the photo only
        brightness[_box(rng, 0.15, 0.12)] = rng.uniform(0.1, 1.0)
    shade = 1.0 + rng.uniform(-0.25, 0.25) * across / columns + rng.uniform(-0.25, 0.25) * down / rows
    shadow = across + rng.uniform(-0.5, 0.5) * down > rng.uniform(0.6, 1.1) * columns
    brightness = np.clip(brightness * shade * np.where(shadow, 0.8, 1.0), 0.0, 1.0)
    return Plane(surface_degc=surface, brightness=brightness)


def random_camera(rng: np.random.Generator, shape: tuple[int, int]) -> Camera:
    """A hand-held camera, its errors of the usual size."""
    return Camera(
        rows=shape[0],
        columns=shape[1],
        field_of_view_deg=(32.0, 24.0),
        noise_k=rng.uniform(0.04, 0.10),
        vignetting_k=rng.uniform(-0.3, 0.1),
        drift_k=rng.uniform(-0.2, 0.2),
        blur_px=rng.uniform(0.6, 1.0),
    )


def frame_of(
    plane: Plane, to_plane: FloatArray, camera: Camera, rng: np.random.Generator, changed_k: float = 0.0
) -> FloatArray:
    """The plane as a thermal camera shows it.

    Parameters
    ----------
    plane : Plane
    to_plane : ndarray, shape (3, 3)
        Takes (row, column, 1) of the frame to the canvas.
    camera : Camera
    rng : numpy.random.Generator
        Draws the noise.
    changed_k : float
        How much warmer everything has become.

    Returns
    -------
    ndarray of float64, shape (rows, columns)
    """
    seen = _seen(plane.surface_degc, to_plane, (camera.rows, camera.columns)) + changed_k
    return apparent_frame(camera, seen, 0.94, 18.0, rng)


def photo_of(
    plane: Plane, to_plane: FloatArray, shape: tuple[int, int], rng: np.random.Generator
) -> FloatArray:
    """The plane as a photo shows it: grey levels from 0 to 255, grain and JPEG included, shape `shape`."""
    import io

    from PIL import Image

    seen = _seen(plane.brightness, to_plane, shape) + rng.normal(0.0, 0.015, shape)
    stream = io.BytesIO()
    levels = np.clip(np.rint(255.0 * seen), 0, 255).astype(np.uint8)
    Image.fromarray(levels).save(stream, "JPEG", quality=80)
    return np.asarray(Image.open(stream), dtype=np.float64)


def random_view(
    rng: np.random.Generator, shape: tuple[int, int], width: float, sway: float = 0.06
) -> FloatArray:
    """A view of the plane, not quite square on: takes (row, column, 1) of a picture to the canvas.

    Parameters
    ----------
    rng : numpy.random.Generator
    shape : (rows, columns)
        Of the picture.
    width : float
        Share of the canvas that the picture spans across.
    sway : float
        How far each corner may lie off, as a share of the width.
    """
    from skimage.transform import ProjectiveTransform

    wide = width * CANVAS[1]
    high = wide * shape[0] / shape[1]
    middle = np.array(CANVAS) / 2.0 + rng.uniform(-0.5, 0.5, 2) * np.maximum(
        np.array(CANVAS) - (high, wide), 0
    )
    at = np.array([[-0.5, -0.5], [-0.5, 0.5], [0.5, 0.5], [0.5, -0.5]]) * (high, wide)
    at = middle + at + rng.uniform(-sway, sway, (4, 2)) * wide
    corners = np.array([[0, 0], [0, 1], [1, 1], [1, 0]]) * (shape[0] - 1.0, shape[1] - 1.0)
    return np.asarray(ProjectiveTransform.from_estimate(corners, at).params, dtype=np.float64)


def through(first: FloatArray, second: FloatArray, points: FloatArray) -> FloatArray:
    """Points of one view in another, both given by their maps to the plane, shape (points, 2)."""
    homogeneous = np.c_[points, np.ones(len(points))] @ np.linalg.solve(second, first).T
    return np.asarray(homogeneous[:, :2] / homogeneous[:, 2:])


def _seen(field: FloatArray, to_plane: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """A field sampled where each pixel looks, over about the width of a pixel."""
    from scipy import ndimage

    grid = np.moveaxis(np.mgrid[: shape[0], : shape[1]], 0, -1).reshape(-1, 2)
    homogeneous = np.c_[grid, np.ones(len(grid))] @ to_plane.T
    places = (homogeneous[:, :2] / homogeneous[:, 2:]).T
    pitch = float(np.ptp(places[1])) / shape[1]
    smooth = ndimage.gaussian_filter(field, 0.35 * pitch)
    return np.asarray(ndimage.map_coordinates(smooth, places, order=1, mode="nearest").reshape(shape))


def _cold_edges(rng: np.random.Generator, surface: FloatArray) -> None:
    """Ceiling and corner, colder towards the edge and without an outline."""
    rows, columns = surface.shape
    down, across = np.mgrid[:rows, :columns]
    surface -= rng.uniform(1.0, 4.0) * np.exp(-down / rng.uniform(60.0, 200.0))
    surface -= rng.uniform(0.0, 4.0) * np.exp(-across / rng.uniform(60.0, 200.0))


def _wallpaper(rng: np.random.Generator, brightness: FloatArray) -> None:
    rows, columns = brightness.shape
    down, across = np.mgrid[:rows, :columns]
    period = rng.uniform(20.0, 80.0)
    kind = rng.integers(3)
    if kind == 1:
        brightness += 0.04 * np.sign(np.sin(2 * np.pi * across / period))
    elif kind == 2:
        brightness += 0.04 * np.sin(2 * np.pi * across / period) * np.sin(2 * np.pi * down / period)


def _box(rng: np.random.Generator, high: float, wide: float) -> tuple[slice, slice]:
    rows, columns = CANVAS
    top, left = rng.uniform(0, 1 - high) * rows, rng.uniform(0, 1 - wide) * columns
    return slice(int(top), int(top + high * rows)), slice(int(left), int(left + wide * columns))
