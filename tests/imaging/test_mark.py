"""Pixels of pins, patches and traces."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from skimage.draw import line

from thermalkit.imaging.mark import Mark, mark_mask


def mark(shape, *points):
    return Mark(frame="f", id="m", shape=shape, points=points)


def test_a_pin_covers_one_measurable_spot():
    """3 x 3 pixels round the nearest pixel centre."""
    mask = mark_mask(mark("pin", (4.4, 5.6)), (20, 30))
    assert_array_equal(np.argwhere(mask)[[0, -1]], [[3, 5], [5, 7]])
    assert mask.sum() == 9


@pytest.mark.parametrize(
    ("point", "count"),
    [((0, 0), 4), ((-1, 5), 3), ((-2, 5), 0), ((1e300, 5), 0), ((19, 29), 4), ((20, 30), 1)],
)
def test_a_pin_at_the_edge_is_cut_off(point, count):
    """Pins outside the frame cover nothing and never wrap round."""
    assert mark_mask(mark("pin", point), (20, 30)).sum() == count


def test_a_patch_holds_its_outline_and_inside():
    """A rectangle through pixel centres includes them."""
    mask = mark_mask(mark("patch", (4, 5), (4, 9), (8, 9), (8, 5)), (20, 30))
    assert mask.sum() == 5 * 5
    assert mask[4, 5]
    assert mask[8, 9]


def test_a_patch_beyond_the_frame_is_cut_off():
    """Far corners cost neither memory nor pixels."""
    mask = mark_mask(mark("patch", (-1e9, -1e9), (-1e9, 1e9), (9.5, 1e9), (9.5, -1e9)), (20, 30))
    assert_array_equal(mask.any(axis=1), np.arange(20) <= 9)


def test_a_trace_passes_the_pixels_of_its_line():
    """As many pixels as the usual line drawing (scikit-image) and its ends."""
    mask = mark_mask(mark("trace", (2, 3), (9, 25), (9, 3)), (20, 30))
    drawn = np.zeros_like(mask)
    for ends in ((2, 3, 9, 25), (9, 25, 9, 3)):
        drawn[line(*ends)] = True
    assert mask.sum() == drawn.sum()
    assert mask[2, 3]
    assert mask[9, 25]
    assert mask[9, 3]


@pytest.mark.parametrize(
    ("points", "count"),
    [
        (((10, -1e12), (10, 1e12)), 30),
        (((-1e12, 4), (1e12, 4)), 20),
        (((50, 0), (50, 29)), 0),
        (((-5, 0), (0, -5)), 0),
        (((7, 7), (7, 7)), 1),
    ],
)
def test_a_trace_is_cut_to_the_frame(points, count):
    """Only what lies inside is divided into pixels."""
    assert mark_mask(mark("trace", *points), (20, 30)).sum() == count


def test_a_mark_is_plain_data_in_the_record():
    """Site file and record hold lists, not tuples."""
    assert mark("pin", (1.0, 2.0)).as_json() == {
        "frame": "f",
        "id": "m",
        "shape": "pin",
        "points": [[1.0, 2.0]],
        "role": "suspect",
    }
