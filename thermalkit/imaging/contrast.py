"""Suggestions: where a frame is colder or warmer than its surroundings, and where it is sound.

A suggestion is a proposal for a person to keep or change. It says where something stands out and by
how much, never what it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.frame import mask_dead_pixels
from thermalkit.imaging.outline import outline
from thermalkit.imaging.quality import filled
from thermalkit.measured import FloatArray

LEAST_DEPTH_K = 0.2
INSTRUMENT_TREND_K = 0.5  # vignetting or drift that the surroundings may follow, centre to edge
SMOOTHING_PX = 1.5
LEAST_AREA_PX = 9  # detector pixels, one measurable spot
WORK_SIDE = 320
SOUND_SHARES = (0.10, 0.07, 0.05, 0.03, 0.015, 0.007)

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """One suggested place, in file pixels.

    `outline` is a closed polygon of (row, column), `extreme` the place of its coldest (warmest)
    point. `depth_k` is how much colder (warmer) that point is than the surroundings, positive.
    """

    outline: tuple[tuple[float, float], ...]
    depth_k: float
    area_px: int
    extreme: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Relief:
    """Smoothed difference from the surroundings on a grid of detector pixels or coarser."""

    difference_k: FloatArray
    usable: BoolArray  # not masked, not at the border
    level: FloatArray  # smoothed temperature
    step: int  # file pixels per grid pixel
    least_k: float

    def file_pixels(self, points: FloatArray) -> FloatArray:
        return (points + 0.5) * self.step - 0.5


def cold_places(
    temperature_degc: FloatArray, *, noise_k: float, pixel_scale: int = 1, most: int = 5
) -> list[Suggestion]:
    """Coherent areas colder than their surroundings, the most telling first.

    Parameters
    ----------
    temperature_degc : ndarray of float64, shape (rows, columns)
        NaN where masked; at least 8 x 8.
    noise_k : float
        Pixel noise; NaN where unknown. Nothing less than three times that deep, nor less than 0.2 K,
        is suggested.
    pixel_scale : int
        File pixels per detector pixel along a side, where the file was enlarged.
    most : int
        At most so many.

    Returns
    -------
    list of Suggestion
        Each outlines the part at least half as deep as its coldest point. Empty for a flat frame.
    """
    return _places(_relief(temperature_degc, noise_k, pixel_scale), most)


def warm_places(
    temperature_degc: FloatArray, *, noise_k: float, pixel_scale: int = 1, most: int = 5
) -> list[Suggestion]:
    """Coherent areas warmer than their surroundings; as `cold_places`."""
    return _places(_relief(-temperature_degc, noise_k, pixel_scale), most)


def sound_place(
    temperature_degc: FloatArray, suspect_mask: BoolArray, *, noise_k: float, pixel_scale: int = 1
) -> Suggestion | None:
    """An even area that stands for the undisturbed surface, clear of the suspect place.

    Parameters
    ----------
    temperature_degc : ndarray of float64, shape (rows, columns)
        NaN where masked.
    suspect_mask : ndarray of bool, shape (rows, columns)
        What the area must keep away from.
    noise_k, pixel_scale
        As for `cold_places`.

    Returns
    -------
    Suggestion or None
        A rectangle, of 5 % of the frame or more where that much is even; `depth_k` is its difference
        from the surroundings' level, with its sign (positive: colder). None where nothing is even.
    """
    from scipy import ndimage

    relief = _relief(temperature_degc, noise_k, pixel_scale)
    suspect = _reduced(suspect_mask.astype(np.float64), relief.step) > 0
    gap = max(2, round(0.03 * min(relief.usable.shape)))
    for tolerance in (1.0, 2.0, 4.0):
        off = relief.usable & (np.abs(relief.difference_k) > tolerance * relief.least_k)
        away = ndimage.distance_transform_edt(~(suspect | off | ~relief.usable), sampling=1.0)
        clear = away > gap
        for share in SOUND_SHARES:
            found = _evenest(relief, clear, share)
            if found is not None:
                return found
    return None


def _evenest(relief: _Relief, clear: BoolArray, share: float) -> Suggestion | None:
    """The rectangle of a share of the grid, wholly clear, with the least variation in it."""
    from scipy import ndimage

    shape = relief.level.shape
    height, width = (max(3, round(side * share**0.5)) | 1 for side in shape)
    fits = ndimage.minimum_filter(clear, size=(height, width), mode="constant", cval=False)
    if not fits.any():
        return None
    mean = ndimage.uniform_filter(relief.difference_k, size=(height, width))
    square = ndimage.uniform_filter(relief.difference_k**2, size=(height, width))
    unevenness = np.sqrt(np.maximum(square - mean**2, 0.0)) + np.abs(mean)
    row, column = np.unravel_index(np.argmin(np.where(fits, unevenness, np.inf)), shape)
    up, left = height // 2, width // 2
    corners = np.array([(-up, -left), (-up, left), (up, left), (up, -left)], dtype=np.float64)
    points = relief.file_pixels(corners + np.array([row, column])).round(1)
    return Suggestion(
        outline=tuple((float(r), float(c)) for r, c in points),
        depth_k=-float(mean[row, column]),
        area_px=height * width * relief.step**2,
        extreme=_place(relief, row, column),
    )


def _places(relief: _Relief, most: int) -> list[Suggestion]:
    """Basins of the relief, each cut at half its depth."""
    from scipy import ndimage
    from skimage.morphology import h_minima
    from skimage.segmentation import watershed

    difference = np.where(relief.usable, relief.difference_k, 0.0)
    cold = difference < -relief.least_k
    if not cold.any():
        return []
    # A dip inside a place counts as a place of its own only where it is as deep as one.
    minima = h_minima(difference, relief.least_k)
    markers, _ = ndimage.label(minima, np.ones((3, 3)))
    basins = watershed(difference, markers, mask=cold)
    found = [
        _place_of_basin(relief, difference, basins == number) for number in range(1, int(basins.max()) + 1)
    ]
    ranked = sorted((p for p in found if p is not None), key=lambda p: (-_weight(p), p.extreme))
    return ranked[:most]


def _weight(place: Suggestion) -> float:
    """Deep first, but a wide place before a slightly deeper speck."""
    return float(place.depth_k * place.area_px**0.25)


def _place_of_basin(relief: _Relief, difference: FloatArray, basin: BoolArray) -> Suggestion | None:
    from scipy import ndimage

    if not basin.any():
        return None
    row, column = np.unravel_index(np.argmin(np.where(basin, difference, np.inf)), basin.shape)
    depth_k = -float(difference[row, column])
    parts, _ = ndimage.label(basin & (difference <= -max(depth_k / 2.0, relief.least_k)))
    region = ndimage.binary_fill_holes(parts == parts[row, column])
    area = int(np.count_nonzero(region))
    if area < LEAST_AREA_PX or _hugs_border(region):
        return None
    points = relief.file_pixels(outline(region)).round()
    return Suggestion(
        outline=tuple((float(r), float(c)) for r, c in points),
        depth_k=depth_k,
        area_px=area * relief.step**2,
        extreme=_place(relief, row, column),
    )


def _place(relief: _Relief, row: np.intp | int, column: np.intp | int) -> tuple[float, float]:
    place = relief.file_pixels(np.array([row, column], dtype=np.float64))
    return (float(place[0]), float(place[1]))


def _hugs_border(region: BoolArray) -> bool:
    """Whether all of a region lies so near one border that the optics' edge explains it."""
    near = max(4, round(0.05 * min(region.shape)))
    inner = region[near:-near, near:-near]
    return not inner.any()


def _relief(temperature_degc: FloatArray, noise_k: float, pixel_scale: int) -> _Relief:
    """Difference of a frame from its own undisturbed surface."""
    from scipy import ndimage

    step = pixel_scale
    while min(temperature_degc.shape) // (step + 1) >= 60 and max(temperature_degc.shape) > WORK_SIDE * step:
        step += 1
    alive, _ = mask_dead_pixels(temperature_degc)
    valid = _reduced(np.isfinite(alive).astype(np.float64), step) > 0.5
    level = filled(np.where(valid, _reduced(alive, step), np.nan)) if valid.any() else np.zeros(valid.shape)
    level = np.asarray(ndimage.gaussian_filter(level, SMOOTHING_PX, mode="nearest"))
    margin = max(2, round(0.02 * min(level.shape)))
    usable = np.zeros(level.shape, dtype=np.bool_)
    usable[margin:-margin, margin:-margin] = valid[margin:-margin, margin:-margin]
    return _Relief(
        difference_k=level - _surroundings(level, usable),
        usable=usable,
        level=level,
        step=step,
        least_k=float(np.fmax(3.0 * noise_k, LEAST_DEPTH_K)),
    )


def _reduced(frame: FloatArray, step: int) -> FloatArray:
    """Means over blocks of step x step pixels; rows and columns left over are dropped."""
    if step == 1:
        return frame
    rows, columns = (side // step for side in frame.shape)
    blocks = frame[: rows * step, : columns * step].reshape(rows, step, columns, step)
    count = np.isfinite(blocks).sum(axis=(1, 3))
    total = np.nansum(blocks, axis=(1, 3))
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _surroundings(level: FloatArray, usable: BoolArray) -> FloatArray:
    """The undisturbed surface as the instrument would show it: one temperature and a slight trend.

    Reweighted least squares with a redescending weight (Tukey's biweight), so that cold places,
    people and radiators drop out. Even pixels count more than pixels on a slope, so that in a wall
    corner the plateau counts and not the way down.
    """
    from scipy import ndimage

    rows, columns = (np.linspace(-1.0, 1.0, side) for side in level.shape)
    row, column = np.meshgrid(rows, columns, indexing="ij")
    terms = np.stack([row, column, (row**2 + column**2) / 2.0])[:, usable]
    values = level[usable]
    if not values.size:
        return np.zeros(level.shape)
    slope = np.hypot(*np.gradient(ndimage.gaussian_filter(level, 2.0)))[usable]
    even = 1.0 / (1.0 + (slope / (np.quantile(slope, 0.1) + 1e-6)) ** 2)
    trend = np.zeros(3)
    constant, weight = float(np.median(values)), np.ones_like(values)
    for _ in range(12):
        residual = values - constant - trend @ terms
        scale = max(4.685 * 1.4826 * _weighted_median(np.abs(residual), weight), 0.3)
        weight = even * np.maximum(1.0 - (residual / scale) ** 2, 0.0) ** 2
        design = np.vstack([np.ones_like(values), terms])
        normal = (design * weight) @ design.T + 1e-6 * np.eye(4)
        solution = np.linalg.solve(normal, (design * weight) @ values)
        trend = np.clip(solution[1:], -INSTRUMENT_TREND_K, INSTRUMENT_TREND_K)
        constant = float(np.sum(weight * (values - trend @ terms)) / np.sum(weight))
    return np.asarray(constant + trend[0] * row + trend[1] * column + trend[2] * (row**2 + column**2) / 2.0)


def _weighted_median(values: FloatArray, weights: FloatArray) -> float:
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(share, share[-1] / 2.0)])
