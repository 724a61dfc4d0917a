"""Dead pixels, on frames whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from scipy import ndimage

from thermalkit.imaging.frame import mask_dead_pixels


def noisy(seed, shape=(120, 160), noise_k=0.05):
    rng = np.random.default_rng(seed)
    return rng, 15.0 + np.linspace(0.0, 3.0, shape[1]) + rng.normal(0.0, noise_k, shape)


@pytest.mark.parametrize("seed", range(5))
def test_stuck_pixels_are_found_and_nothing_else(seed):
    """Forty stuck pixels, some side by side or at the border, are masked; no other is."""
    rng, frame = noisy(seed)
    stuck = rng.choice(frame.size, 37, replace=False)
    frame.flat[stuck] = rng.choice([-40.0, 13.0, 60.0], 37)
    frame[0, 0] = frame[50, 159] = frame[50, 158] = 60.0
    expected = np.unique([*stuck, 0, 50 * 160 + 159, 50 * 160 + 158])
    masked, count = mask_dead_pixels(frame)
    assert_array_equal(np.flatnonzero(np.isnan(masked)), expected)
    assert count == len(expected)
    assert not np.isnan(frame).any()


@pytest.mark.parametrize("blur_px", [0.5, 0.7, 1.0])
@pytest.mark.parametrize("shift", [0.0, 0.25, 0.5])
@pytest.mark.parametrize("excess_k", [-3.0, 2.0, 40.0])
def test_a_small_true_spot_is_never_erased(blur_px, shift, excess_k):
    """Two by two pixels blurred by optics stay, wherever they fall on the grid."""
    fine = np.zeros((400, 400))
    start = 200 + round(10 * shift)
    fine[start : start + 20, start : start + 20] = excess_k
    frame = ndimage.gaussian_filter(fine, 10 * blur_px).reshape(40, 10, 40, 10).mean(axis=(1, 3))
    frame += np.random.default_rng(1).normal(0.0, 0.05, frame.shape)
    assert mask_dead_pixels(frame)[1] == 0


def test_masked_pixels_stay_masked_and_uncounted():
    """A mask that was there before is no dead pixel."""
    _, frame = noisy(0)
    frame[20:30] = np.nan
    masked, count = mask_dead_pixels(frame)
    assert count == 0
    assert_array_equal(np.isnan(masked), np.isnan(frame))
