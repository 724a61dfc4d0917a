"""Noise told from a frame, against the sigma it was made with."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from PIL import Image
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


@pytest.mark.parametrize("way", ["NEAREST", "BILINEAR"])
@pytest.mark.parametrize("factor", [2, 3, 4, 5, 8])
def test_an_enlarged_file_is_as_noisy_as_its_detector(factor, way):
    """Within 10 % of the sigma drawn; enlarged by an imaging library, first column cut off."""
    frame = np.random.default_rng(factor).normal(0.0, 0.08, (90, 120)) + np.linspace(0.0, 6.0, 120)
    size = (120 * factor, 90 * factor)
    large = Image.fromarray(frame.astype(np.float32)).resize(size, Image.Resampling[way])
    seen = np.asarray(large, dtype=np.float64)[:, 1:]
    assert noise_k(seen, pixel_scale=factor) == approx(0.08, rel=0.10)
    assert noise_k(seen) < 0.04


def test_a_frame_of_a_few_detector_pixels_has_no_noise_estimate():
    assert np.isnan(noise_k(np.zeros((8, 8)), pixel_scale=4))


def test_a_frame_without_a_whole_neighbourhood_has_no_noise_estimate():
    """Every third pixel masked leaves nothing to compare."""
    frame = np.zeros((9, 9))
    frame[1::3, 1::3] = np.nan
    assert np.isnan(noise_k(frame))


def test_masked_pixels_take_their_nearest_value():
    """Values stay, gaps are filled from beside them."""
    frame = np.array([[1.0, np.nan, np.nan, 4.0]])
    assert_array_equal(filled(frame), [[1.0, 1.0, 4.0, 4.0]])
