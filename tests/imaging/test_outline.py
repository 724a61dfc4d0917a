"""Outlines that a person can drag still cover what they go round."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from scipy import ndimage
from skimage.draw import disk, polygon

from thermalkit.imaging.outline import outline


def covered(region):
    corners = outline(region)
    mask = np.zeros_like(region)
    mask[polygon(corners[:, 0], corners[:, 1], region.shape)] = True
    return corners, np.count_nonzero(mask & region) / np.count_nonzero(mask | region)


def test_a_disc_becomes_a_polygon_of_few_corners():
    """Twelve corners cover a disc but for a sixth."""
    region = np.zeros((60, 80), dtype=bool)
    region[disk((30, 40), 20)] = True
    corners, share = covered(region)
    assert 6 <= len(corners) <= 12
    assert share > 0.84


@pytest.mark.parametrize("seed", range(6))
def test_ragged_regions_keep_to_the_bound(seed):
    """The largest blob of smoothed noise, holes filled: at most twelve corners, mostly covered."""
    noise = ndimage.gaussian_filter(np.random.default_rng(seed).normal(size=(120, 160)), 8)
    labels, _ = ndimage.label(noise > 0.01)
    region = ndimage.binary_fill_holes(labels == 1 + np.argmax(np.bincount(labels.ravel())[1:]))
    corners, share = covered(region)
    assert 3 <= len(corners) <= 12
    assert share > 0.6


@pytest.mark.parametrize("size", [(1, 1), (1, 30), (30, 1), (60, 80)])
def test_thin_and_full_regions_have_an_outline(size):
    """A pixel, a line and the whole frame: three corners or more, all inside the frame."""
    region = np.zeros((60, 80), dtype=bool)
    region[: size[0], : size[1]] = True
    corners = outline(region)
    assert 3 <= len(corners) <= 12
    assert_array_equal(corners.min(axis=0), [0, 0])
    assert np.all(corners.max(axis=0) <= [59, 79])
