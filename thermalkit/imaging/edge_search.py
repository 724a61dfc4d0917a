"""Where the edges of two pictures agree best, at every shift, scale and turn."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.alignment import corners_of
from thermalkit.imaging.edges import (
    Edges,
    edges,
    resized,
    to_fine,
)
from thermalkit.measured import FloatArray

SEARCHED_PX = 64  # longer side of the first picture in the search
TURNED_DEG = (-3.0, 0.0, 3.0)


def searched(
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
                found.append((agreement, to_fine(corner, pitch)))
    return sorted(found, key=lambda item: -item[0])


def distinct(found: list[tuple[float, FloatArray]], most: int) -> Iterator[FloatArray]:
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
