"""The outline of a cold or warm place against the usual signatures of what lies behind.

What counts is the part at least half as far from the sound wall as the extreme. A shape is evidence, never
proof; what each says and how much stands in `signatures.csv`.

Source
------
Signatures and weights: common practice, without a published source, not calibrated.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.measured import FloatArray

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from thermalkit.diagnosis.decisions import Case

LONG = 3.5  # own choices, from here on
SQUARE = 0.82
RAGGED = 0.62
REPEATS = 3
LEAST_PX = 9
LEAST_DEPTH_K = 0.3
_HALF = 0.5
_PROMINENT = 0.4
_ALIKE = 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """What a shape is usual for, and how many times as likely it makes it."""

    shape: str
    weight: float
    source: str


@cache
def signatures() -> dict[str, Signature]:
    """Rows of `signatures.csv` by shape."""
    text = (files("thermalkit.diagnosis.envelope.shapes") / "signatures.csv").read_text(encoding="utf-8")
    return {
        row["shape"]: Signature(shape=row["shape"], weight=float(row["weight"]), source=row["source"])
        for row in csv.DictReader(text.splitlines())
    }


def shape_of(case: Case, mark: Mark, sound: Mark | None) -> str | None:
    """The signature that a place looks like most: grid, rectangle, streak or line; None where none fits.

    Parameters
    ----------
    case : Case
    mark : Mark
        A patch.
    sound : Mark or None
        The surface it stands out from; without it there is nothing to compare with.
    """
    if sound is None or mark.shape != "patch":
        return None
    surface = nominal_surface_degc(case, mark.frame)
    level = float(np.nanmean(surface[mark_mask(sound, surface.shape)]))
    depth = np.abs(np.nan_to_num(surface - level))
    mask = mark_mask(mark, surface.shape)
    if not mask.any() or depth[mask].max() < LEAST_DEPTH_K:
        return None
    return signature_of(depth, mask)


def signature_of(depth_k: FloatArray, mask: NDArray[np.bool_]) -> str | None:
    """The same of an array: how far each pixel is from the sound surface, and where the mark lies.

    Parameters
    ----------
    depth_k : ndarray of float64, shape (rows, columns)
        0 or more.
    mask : ndarray of bool, shape (rows, columns)

    Returns
    -------
    str or None
    """
    from scipy import ndimage

    smooth = ndimage.gaussian_filter(depth_k, 1.0)
    inside = np.where(mask, smooth, 0.0)
    if max(_repeats(depth_k, mask, axis) for axis in (0, 1)) >= REPEATS:
        return "grid"
    labels, _ = ndimage.label(smooth >= _HALF * inside.max())
    peak = np.unravel_index(int(np.argmax(inside)), inside.shape)
    region = labels == labels[peak]
    if np.count_nonzero(region) < LEAST_PX:
        return None
    length, width = _axes_px(region)
    if length >= LONG * width:
        return "line"
    filled = np.count_nonzero(region) / (length * width)
    return "rectangle" if filled >= SQUARE else "streak" if filled <= RAGGED else None


def _axes_px(region: NDArray[np.bool_]) -> tuple[float, float]:
    """Length and width of the smallest of many turned boxes round a region."""
    points = np.argwhere(region).astype(np.float64)
    best = (float("inf"), 1.0, 1.0)
    for angle in np.radians(np.arange(0.0, 90.0, 3.0)):
        turned = points @ np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        sides = np.ptp(turned, axis=0) + 1.0
        best = min(best, (float(np.prod(sides)), float(sides.max()), float(sides.min())))
    return best[1], best[2]


def _repeats(depth_k: FloatArray, mask: NDArray[np.bool_], axis: int) -> int:
    """How many alike and evenly spaced ridges cross the mark."""
    from scipy import signal

    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    part = depth_k[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    run = part.mean(axis=axis)
    span = float(np.ptp(run))
    if run.size < 3 * REPEATS or span < LEAST_DEPTH_K:
        return 0
    peaks, _ = signal.find_peaks(np.pad(run, 1, constant_values=run.min()), prominence=_PROMINENT * span)
    gaps = np.diff(peaks)
    if gaps.size < REPEATS - 1 or np.std(gaps) > _ALIKE * np.mean(gaps):
        return 0
    return int(peaks.size)
