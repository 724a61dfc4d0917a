"""The ripple of parallel warm lines in a picture in mm: its amplitude and wave, window by window.

Source
------
Least squares of one plane wave on a slowly changing ground, its wave from the largest value of the windowed
Fourier transform near the wave number expected.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.plan import Plan, Rectified
from thermalkit.measured import FloatArray

_SIDE = 3.0  # spacings
_SIZES = np.linspace(0.88, 1.14, 14)  # of the wave number expected
_TURNS = np.pi * np.arange(72) / 72.0
_FINER = np.linspace(-1.0, 1.0, 11)
_INTERPOLATED_PX2 = 1.0 / 6.0  # mean loss of linear interpolation, as the square of a spread


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ripple:
    """A wave in one window.

    `wave_per_mm` is its wave number along x and y, `place_mm` the window's middle, `mean` that of the window;
    `uneven` is how far the wave differs between the window's quarters, as a share of it.
    """

    amplitude: float
    mean: float
    wave_per_mm: FloatArray
    place_mm: FloatArray
    uneven: float

    @property
    def spacing_mm(self) -> float:
        """From crest to crest."""
        return float(2.0 * np.pi / np.linalg.norm(self.wave_per_mm))


def ripples(picture: Rectified, hidden: NDArray[np.bool_], spacing_mm: float) -> Iterator[Ripple]:
    """Waves of about one spacing in windows that overlap by half and are seen entirely.

    Parameters
    ----------
    picture : Rectified
        Temperatures; NaN where there is none.
    hidden : ndarray of bool, same shape
        Where nothing is to be looked for.
    spacing_mm : float
        Expected from line to line; a wave within an eighth of it is found.
    """
    pitch = picture.mm_per_pixel
    side = max(8, round(_SIDE * spacing_mm / pitch))
    values = np.where(hidden, np.nan, picture.values)
    down = float(np.sign(picture.y_step_mm))
    for row in range(0, values.shape[0] - side + 1, side // 2):
        for column in range(0, values.shape[1] - side + 1, side // 2):
            part = values[row : row + side, column : column + side]
            if not np.isfinite(part).all():
                continue
            amplitude, wave, uneven = _wave(part, pitch, 2.0 * np.pi / spacing_mm)
            middle = (side - 1) / 2.0
            x, y = picture.x_mm + (column + middle) * pitch, picture.y_mm + (row + middle) * picture.y_step_mm
            yield Ripple(
                amplitude=amplitude,
                mean=float(part.mean()),
                wave_per_mm=wave * (1.0, down),
                place_mm=np.array([x, y]),
                uneven=uneven,
            )


def waves_per_px(plan: Plan, ripple: Ripple) -> float:
    """Wave number of a ripple on the frame that it was seen in, in radians per pixel."""
    steps = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    at = plan.onto_frame.mapped(ripple.place_mm + steps)
    px_per_mm = np.stack([at[1] - at[0], at[2] - at[0]], axis=1)
    return float(np.linalg.norm(np.linalg.solve(px_per_mm.T, ripple.wave_per_mm)))


def passed_share(wave_per_px: float, blur_px: FloatArray | float) -> FloatArray:
    """What blur of a standard deviation, and laying out in mm, leave of a wave's amplitude."""
    spread_px2 = np.asarray(blur_px, dtype=np.float64) ** 2 + _INTERPOLATED_PX2
    return np.asarray(np.exp(-0.5 * wave_per_px**2 * spread_px2))


def _wave(part: FloatArray, pitch_mm: float, expected_per_mm: float) -> tuple[float, FloatArray, float]:
    """Amplitude, wave along column and row in radians per mm, unevenness."""
    side = len(part)
    at = np.asarray((np.arange(side) - (side - 1) / 2.0) * pitch_mm, dtype=np.float64)
    y, x = np.meshgrid(at, at, indexing="ij")
    u, v = x.ravel() / at[-1], y.ravel() / at[-1]
    ground = np.stack([np.ones_like(u), u, v, u * v, u * u, v * v], axis=1)
    flat = part.ravel()
    level = np.asarray(flat - ground @ np.linalg.lstsq(ground, flat, rcond=None)[0], dtype=np.float64)
    wave = _strongest(level.reshape(part.shape), at, expected_per_mm)
    phase = wave[0] * x + wave[1] * y
    swing = np.stack([np.cos(phase).ravel(), np.sin(phase).ravel()], axis=1)
    weights = np.linalg.lstsq(np.concatenate([ground, swing], axis=1), flat, rcond=None)[0]
    level = np.asarray(flat - ground @ weights[:6]).reshape(part.shape)
    halves = slice(None, side // 2), slice(-(side // 2), None)
    quarters = [_swing(level[r, c].ravel(), phase[r, c].ravel()) for r in halves for c in halves]
    amplitude = float(np.hypot(*weights[6:]))
    return amplitude, wave, float(np.std(quarters)) / max(amplitude, 1e-9)


def _strongest(level: FloatArray, at_mm: FloatArray, expected_per_mm: float) -> FloatArray:
    """Wave for which the windowed transform is largest: a coarse look, then a fine one."""
    window = np.hanning(len(at_mm) + 2)[1:-1]
    seen = level * window[:, None] * window
    sizes, turns = expected_per_mm * _SIZES, _TURNS
    for _ in range(2):
        size, turn = (grid.ravel() for grid in np.meshgrid(sizes, turns))
        across = np.exp(1j * np.outer(size * np.cos(turn), at_mm))
        down = np.exp(1j * np.outer(size * np.sin(turn), at_mm))
        best = int(np.argmax(np.abs(np.sum(down * (across @ seen.T), axis=1))))
        sizes = size[best] + expected_per_mm * (_SIZES[1] - _SIZES[0]) * _FINER
        turns = turn[best] + _TURNS[1] * _FINER
    return np.asarray(size[best] * np.array([np.cos(turn[best]), np.sin(turn[best])]))


def _swing(level: FloatArray, phase: FloatArray) -> complex:
    terms = np.stack([np.ones_like(phase), np.cos(phase), np.sin(phase)], axis=1)
    weights = np.linalg.lstsq(terms, level, rcond=None)[0]
    return complex(weights[1], weights[2])
