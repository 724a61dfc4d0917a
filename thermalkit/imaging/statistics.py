"""What a marked place measures."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.measured import FloatArray
from thermalkit.physics.domain import require_within

SPOT_PIXELS = 3  # side of the smallest area a camera measures, in detector pixels
LEAST_VALID = 5 / 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """The mean over one measurable spot and its centre, (row, column) in file pixels."""

    temperature_degc: float
    place: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkStatistics:
    """Numbers of one mark. Mean and spread are NaN, spots None, where nothing can be measured."""

    mean_degc: float
    spread_k: float
    coldest: Spot | None
    warmest: Spot | None
    valid_pixels: int
    pixels: int
    is_smaller_than_spot: bool
    touches_edge: bool


def mark_statistics(frame: FloatArray, mask: NDArray[np.bool_], *, pixel_scale: int = 1) -> MarkStatistics:
    """Mean, spread and extremes of a marked place.

    A single pixel is no measurement: the optics spread its light over its neighbours. The extremes
    are therefore means over 3 x 3 detector pixels centred in the mark, of which five are valid and
    marked.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)
        Temperatures in °C, NaN where masked.
    mask : ndarray of bool, shape (rows, columns)
        The marked pixels.
    pixel_scale : int
        File pixels per detector pixel along a side, where the file was enlarged.

    Returns
    -------
    MarkStatistics
        `spread_k` is the standard deviation of the pixels. `is_smaller_than_spot`: no 3 x 3 detector
        pixels fit inside.

    Source
    ------
    3 x 3 detector pixels as the measurable spot: common practice.
    """
    side = SPOT_PIXELS * pixel_scale
    edge = mask[[0, -1]].any() or mask[:, [0, -1]].any()
    rows, columns = _surrounding(mask, side)
    frame, mask = frame[rows, columns], mask[rows, columns]
    corner = (rows.start, columns.start)
    valid = mask & np.isfinite(frame)
    values = frame[valid]
    means = _spot_means(frame, valid, side)
    measurable = np.isfinite(means) & mask
    return MarkStatistics(
        mean_degc=float(values.mean()) if values.size else float("nan"),
        spread_k=float(values.std()) if values.size else float("nan"),
        coldest=_spot(means, np.argmin(np.where(measurable, means, np.inf)), measurable, corner),
        warmest=_spot(means, np.argmax(np.where(measurable, means, -np.inf)), measurable, corner),
        valid_pixels=int(values.size),
        pixels=int(np.count_nonzero(mask)),
        is_smaller_than_spot=not _holds_square(mask, side),
        touches_edge=bool(edge),
    )


def _surrounding(mask: NDArray[np.bool_], margin: int) -> tuple[slice, slice]:
    """Rows and columns of a mask with a margin: the rest of a frame costs time and changes nothing."""
    spans = []
    for axis in (1, 0):
        marked = np.flatnonzero(mask.any(axis=axis))
        first, last = (int(marked[0]), int(marked[-1])) if marked.size else (0, 0)
        spans.append(slice(max(first - margin, 0), last + margin + 1))
    return spans[0], spans[1]


def _spot_means(frame: FloatArray, valid: NDArray[np.bool_], side: int) -> FloatArray:
    """Means over squares of `side` pixels, NaN where too few of them are valid."""
    from scipy import ndimage

    level = frame[valid].mean() if valid.any() else 0.0  # small numbers sum without loss
    kernel = np.ones(side)

    def summed(values: FloatArray) -> FloatArray:
        rows = ndimage.correlate1d(values, kernel, axis=0, mode="constant")
        return np.asarray(ndimage.correlate1d(rows, kernel, axis=1, mode="constant"))

    count = summed(valid.astype(np.float64))
    total = summed(np.where(valid, frame - level, 0.0))
    enough = count >= LEAST_VALID * side**2 - 1e-9
    return np.where(enough, level + total / np.maximum(count, 1.0), np.nan)


def _spot(
    means: FloatArray, flat: np.intp, measurable: NDArray[np.bool_], corner: tuple[int, int]
) -> Spot | None:
    if not measurable.any():
        return None
    row, column = np.unravel_index(flat, means.shape)
    place = (float(row + corner[0]), float(column + corner[1]))
    return Spot(temperature_degc=float(means[row, column]), place=place)


def _holds_square(mask: NDArray[np.bool_], side: int) -> bool:
    from scipy import ndimage

    return bool(ndimage.binary_erosion(mask, np.ones((side, side), dtype=np.bool_)).any())


def profile(frame: FloatArray, points: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Temperatures along a trace, about one per pixel.

    Parameters
    ----------
    frame : ndarray of float64, shape (rows, columns)
        Temperatures in °C, NaN where masked.
    points : array_like, shape (n, 2)
        (row, column) of the corners of an open line, n at least 2.

    Returns
    -------
    distance_px : ndarray of float64, shape (m,)
        Along the line from its start.
    temperature_degc : ndarray of float64, shape (m,)
        Linear between valid pixels; NaN where less than half of what surrounds a place is valid.
    """
    from scipy import ndimage

    corners = np.asarray(points, dtype=np.float64)
    places, distances, start_px = [corners[:1]], [np.zeros(1)], 0.0
    for start, end in pairwise(corners):
        length_px = float(np.hypot(*(end - start)))
        share = np.linspace(0.0, 1.0, int(np.ceil(length_px)) + 1)[1:, None]
        places.append(start + share * (end - start))
        distances.append(start_px + share[:, 0] * length_px)
        start_px += length_px
    coordinates = np.concatenate(places).T
    valid = np.isfinite(frame)
    weight = ndimage.map_coordinates(valid.astype(np.float64), coordinates, order=1, mode="constant")
    total = ndimage.map_coordinates(np.where(valid, frame, 0.0), coordinates, order=1, mode="constant")
    values = np.where(weight > 0.5, total / np.maximum(weight, 0.5), np.nan)
    return np.concatenate(distances), values


def pixel_size_m(field_of_view_deg: float, pixels: int, distance_m: ArrayLike) -> FloatArray:
    """Side of what one detector pixel sees at a distance, square to the view.

    Parameters
    ----------
    field_of_view_deg : float
        Full angle across the side of the detector, 1 to 150 degrees.
    pixels : int
        Detector pixels along that side.
    distance_m : array_like
        Up to 1000 m.

    Returns
    -------
    ndarray of float64
        In m: 2 d tan(FOV / 2) / N.

    Raises
    ------
    OutOfDomain
        An input lies outside its stated range.

    Source
    ------
    Geometry of a plane square to the view.

    Examples
    --------
    >>> (1000 * pixel_size_m(25.0, 320, 10.0)).round(2)
    np.float64(13.86)
    """
    angle = np.radians(require_within("field_of_view_deg", field_of_view_deg, 1.0, 150.0))
    count = require_within("pixels", pixels, 1, 100_000)
    distance = require_within("distance_m", distance_m, 0.0, 1000.0)
    size_m: FloatArray = 2.0 * distance * np.tan(angle / 2.0) / count
    return size_m


def spot_size_m(field_of_view_deg: float, pixels: int, distance_m: ArrayLike) -> FloatArray:
    """Side of the smallest area that is measured rather than seen: three detector pixels.

    Parameters and errors are those of `pixel_size_m`.

    Source
    ------
    Three pixels: common practice.
    """
    size_m: FloatArray = SPOT_PIXELS * pixel_size_m(field_of_view_deg, pixels, distance_m)
    return size_m


def marked_area_m2(pixels: ArrayLike, width_m: ArrayLike, height_m: ArrayLike) -> FloatArray:
    """Area of a number of pixels of `width_m` by `height_m`, on a plane square to the view."""
    area_m2: FloatArray = np.asarray(pixels, dtype=np.float64) * np.asarray(width_m) * np.asarray(height_m)
    return area_m2
