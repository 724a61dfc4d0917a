"""Noise told from a frame, against the sigma it was made with."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from pytest import approx

from thermalkit.imaging.quality import filled, noise_k


@pytest.mark.parametrize("sigma_k", [0.03, 0.05, 0.2])
@pytest.mark.parametrize("seed", range(3))
def test_noise_is_found_over_slopes_edges_and_spots(sigma_k, seed):
    """Within 5 % of the sigma drawn, with a slope, a hot block and masked rows in the frame."""
    frame = np.random.default_rng(seed).normal(0.0, sigma_k, (120, 160))
    frame += np.linspace(0.0, 8.0, 160) + np.linspace(0.0, 3.0, 120)[:, None]
    frame[40:60, 50:90] += 30.0
    frame[100:103] = np.nan
    assert noise_k(frame) == approx(sigma_k, rel=0.05)


def test_a_frame_without_a_whole_neighbourhood_has_no_noise_estimate():
    """Every third pixel masked leaves nothing to compare."""
    frame = np.zeros((9, 9))
    frame[1::3, 1::3] = np.nan
    assert np.isnan(noise_k(frame))


def test_masked_pixels_take_their_nearest_value():
    """Values stay, gaps are filled from beside them."""
    frame = np.array([[1.0, np.nan, np.nan, 4.0]])
    assert_array_equal(filled(frame), [[1.0, 1.0, 4.0, 4.0]])
