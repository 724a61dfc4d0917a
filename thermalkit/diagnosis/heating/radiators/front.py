"""The front of a radiator as a grid of excess temperatures, whatever the view."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.measured import FloatArray

DOWN, ACROSS = 12, 20
RIM, RIM_PX = 0.03, 3.0
_USUAL_ROWS = 120.0
_AT_EDGE_PX = 1.5
_WHOLE_FROM = 0.93  # own choice: how well a drawn outline gives length over height
Quad = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cells:
    mean: FloatArray
    pixels: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Front:
    """Cells of a front from its upper left; a cell without a pixel is NaN.

    `excess_k` (down, across) is the mean of its pixels above the room, `pixels` how many there are.
    `along` and `down` are the middles of the cells, 0 to 1 over the whole front: where a part lies outside
    the picture, `along` covers what is seen. `pixel_share` is the share of the height
    that one pixel of a picture of 120 rows sees.
    """

    excess_k: FloatArray
    pixels: FloatArray
    along: FloatArray
    down: FloatArray
    noise_k: float
    seen_share: float
    pixel_share: float = 0.01

    @cached_property
    def known(self) -> NDArray[np.bool_]:
        """Cells with something in them."""
        return np.isfinite(self.excess_k)


def front(
    excess_k: FloatArray,
    outline: Mark,
    hidden: tuple[Mark, ...] = (),
    *,
    noise_k: float = 0.1,
    length_over_height: float | None = None,
) -> Front:
    """The front within an outline.

    Parameters
    ----------
    excess_k : ndarray of float64, shape (rows, columns)
        Surface temperature above the room, NaN where masked.
    outline : Mark
        Patch round the front.
    hidden : tuple of Mark
        What stands in front of it.
    noise_k : float
        Of one pixel.
    length_over_height : float, optional
        Tells how much of a front that is cut off by the picture's edge can be seen.
    """
    shape = excess_k.shape
    corners = four_corners(outline.points)
    rows, columns = np.nonzero(mark_mask(outline, (shape[0], shape[1])))
    along, down = _places(corners, rows.astype(np.float64), columns.astype(np.float64))
    shown = np.isfinite(excess_k[rows, columns])
    for mark in hidden:
        shown &= ~_widened(mark_mask(mark, (shape[0], shape[1])))[rows, columns]
    rim_along, rim_down = _rims(corners, RIM_PX * max(1.0, shape[0] / _USUAL_ROWS))
    shown &= (np.minimum(along, 1.0 - along) > rim_along) & (np.minimum(down, 1.0 - down) > rim_down)
    cells = _cells(excess_k[rows, columns][shown], along[shown], down[shown])
    start, stop = _seen(corners, (shape[0], shape[1]), length_over_height)
    return Front(
        excess_k=cells.mean,
        pixels=cells.pixels,
        along=start + (stop - start) * (np.arange(ACROSS) + 0.5) / ACROSS,
        down=(np.arange(DOWN) + 0.5) / DOWN,
        noise_k=noise_k,
        seen_share=stop - start,
        pixel_share=_pixel_share(corners, shape[0]),
    )


def _widened(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Pixels of a thing and those into which it shines."""
    from scipy.ndimage import binary_dilation

    return np.asarray(binary_dilation(mask, iterations=round(RIM_PX)))


def four_corners(points: Quad) -> FloatArray:
    """The outermost corners of an outline, (row, column) from the upper left clockwise, shape (4, 2).

    Examples
    --------
    >>> four_corners(((10.0, 2.0), (40.0, 2.0), (40.0, 90.0), (25.0, 91.0), (10.0, 90.0))).tolist()
    [[10.0, 2.0], [10.0, 90.0], [40.0, 90.0], [40.0, 2.0]]
    """
    found = np.asarray(points, dtype=np.float64)
    total, difference = found.sum(axis=1), found[:, 0] - found[:, 1]
    at = [np.argmin(total), np.argmin(difference), np.argmax(total), np.argmax(difference)]
    return np.asarray(found[at])


def _rims(corners: FloatArray, rim_px: float) -> tuple[float, float]:
    """Share of length and height along the rim in which the wall shines in."""
    upper_left, upper_right, lower_right, lower_left = corners
    length = (np.hypot(*(upper_right - upper_left)) + np.hypot(*(lower_right - lower_left))) / 2.0
    height = (np.hypot(*(lower_left - upper_left)) + np.hypot(*(lower_right - upper_right))) / 2.0
    return max(RIM, rim_px / max(length, 1.0)), max(RIM, rim_px / max(height, 1.0))


def _pixel_share(corners: FloatArray, rows: int) -> float:
    height = float(np.mean(corners[[3, 2], 0] - corners[[0, 1], 0]))
    return max(1.0, rows / _USUAL_ROWS) / max(height, 1.0)


def _places(corners: FloatArray, rows: FloatArray, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Place of pixels between four corners, 0 to 1 from the left and from the top, in perspective."""
    unit = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    lines, right = [], []
    for (row, column), (x, y) in zip(corners, unit, strict=True):
        lines.append([column, row, 1.0, 0.0, 0.0, 0.0, -x * column, -x * row])
        lines.append([0.0, 0.0, 0.0, column, row, 1.0, -y * column, -y * row])
        right += [x, y]
    m, *_ = np.linalg.lstsq(np.array(lines), np.array(right), rcond=None)
    w = m[6] * columns + m[7] * rows + 1.0
    return (m[0] * columns + m[1] * rows + m[2]) / w, (m[3] * columns + m[4] * rows + m[5]) / w


def _cells(values: FloatArray, along: FloatArray, down: FloatArray) -> _Cells:
    index = np.clip((down * DOWN).astype(int), 0, DOWN - 1) * ACROSS
    index += np.clip((along * ACROSS).astype(int), 0, ACROSS - 1)
    count = np.bincount(index, minlength=DOWN * ACROSS).astype(np.float64)
    total = np.bincount(index, weights=values, minlength=DOWN * ACROSS)
    with np.errstate(invalid="ignore"):
        mean = np.where(count > 0.0, total / np.maximum(count, 1.0), np.nan)
    return _Cells(mean=mean.reshape(DOWN, ACROSS), pixels=count.reshape(DOWN, ACROSS))


def _seen(corners: FloatArray, shape: tuple[int, int], ratio: float | None) -> tuple[float, float]:
    """From where to where along the front the picture reaches."""
    left = corners[[0, 3], 1].min() <= _AT_EDGE_PX
    right = corners[[1, 2], 1].max() >= shape[1] - 1.0 - _AT_EDGE_PX
    if ratio is None or left == right:
        return 0.0, 1.0
    width = np.mean(corners[[1, 2], 1] - corners[[0, 3], 1])
    height = np.mean(corners[[2, 3], 0] - corners[[1, 0], 0])
    share = float(np.clip(width / height / ratio, 0.1, 1.0))
    if share > _WHOLE_FROM:
        return 0.0, 1.0
    return (1.0 - share, 1.0) if left else (0.0, share)
