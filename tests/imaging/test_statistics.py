"""Numbers of marks, solved by hand; sizes of spots, by geometry."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pytest import approx, raises

from thermalkit.errors import OutOfDomain
from thermalkit.imaging import statistics
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.statistics import mark_statistics, marked_area_m2, pixel_size_m, profile

PUBLISHED = Path(__file__).parents[1] / "published"
SHAPE = (30, 40)


def rectangle(top, left, bottom, right):
    mask = np.zeros(SHAPE, dtype=bool)
    mask[top:bottom, left:right] = True
    return mask


def test_mean_and_spread_are_those_of_the_marked_pixels():
    """Half at 10, half at 14 °C: mean 12, spread 2, whatever lies outside."""
    frame = np.full(SHAPE, 99.0)
    frame[5:15, 5:10], frame[5:15, 10:15] = 10.0, 14.0
    result = mark_statistics(frame, rectangle(5, 5, 15, 15))
    assert (result.mean_degc, result.spread_k) == approx((12.0, 2.0))
    assert (result.valid_pixels, result.pixels) == (100, 100)
    assert not result.touches_edge
    assert not result.is_smaller_than_spot


def test_extremes_are_means_over_nine_detector_pixels():
    """One pixel 9 K colder makes the spot 1 K colder; a 3 x 3 block counts in full."""
    frame = np.full(SHAPE, 20.0)
    frame[10, 12] = 11.0
    frame[20:23, 30:33] = 25.0
    result = mark_statistics(frame, rectangle(5, 5, 28, 38))
    assert result.coldest.temperature_degc == approx(19.0)
    assert result.warmest.temperature_degc == approx(25.0)
    assert result.warmest.place == (21.0, 31.0)


def test_an_enlarged_file_has_larger_spots():
    """At two file pixels per detector pixel a 3 x 3 block is a quarter of a spot."""
    frame = np.full(SHAPE, 20.0)
    frame[20:23, 30:33] = 24.0
    result = mark_statistics(frame, rectangle(5, 5, 28, 38), pixel_scale=2)
    assert result.warmest.temperature_degc == approx(21.0)


def test_only_marked_and_valid_pixels_count():
    """Masked pixels and a colder surrounding leave the extremes alone."""
    frame = np.full(SHAPE, 0.0)
    mask = rectangle(5, 5, 15, 15)
    frame[mask] = 20.0
    frame[8:10, 8:12] = np.nan
    result = mark_statistics(frame, mask)
    assert result.coldest.temperature_degc == approx(20.0)
    assert (result.valid_pixels, result.pixels) == (92, 100)


def test_five_valid_pixels_of_nine_are_enough_and_four_are_not():
    """A pin with masked pixels is measured down to five."""
    frame = np.full(SHAPE, 20.0)
    mask = mark_mask(Mark(frame="f", id="p", shape="pin", points=((10, 10),)), SHAPE)
    frame[9, 9:12] = frame[10, 9] = np.nan
    assert mark_statistics(frame, mask).coldest.place == (10.0, 10.0)
    frame[10, 10] = np.nan
    assert mark_statistics(frame, mask).coldest is None


def test_remarks_say_too_small_and_at_the_edge():
    """Two columns hold no spot; row 0 is the edge; a pin is just large enough."""
    frame = np.full(SHAPE, 20.0)
    assert mark_statistics(frame, rectangle(5, 5, 15, 7)).is_smaller_than_spot
    assert mark_statistics(frame, rectangle(5, 5, 10, 10), pixel_scale=2).is_smaller_than_spot
    assert not mark_statistics(frame, rectangle(5, 5, 8, 8)).is_smaller_than_spot
    assert mark_statistics(frame, rectangle(0, 5, 9, 9)).touches_edge
    assert mark_statistics(frame, rectangle(5, 35, 9, 40)).touches_edge


def test_nothing_marked_is_nothing_measured():
    """An empty mark gives NaN and no spot, not an error."""
    result = mark_statistics(np.full(SHAPE, 20.0), np.zeros(SHAPE, dtype=bool))
    assert np.isnan([result.mean_degc, result.spread_k]).all()
    assert result.coldest is result.warmest is None
    assert result.is_smaller_than_spot
    assert not result.touches_edge


def test_a_profile_follows_its_line():
    """On a plane the profile is the plane along a line of 5 + 10 pixels."""
    row, column = np.indices(SHAPE)
    frame = 10.0 + 0.5 * row - 0.25 * column
    distance_px, temperature = profile(frame, [(2, 3), (5, 7), (5, 17)])
    assert (distance_px[0], distance_px[-1]) == (0.0, 15.0)
    assert_allclose(temperature[distance_px == 5.0], 10.75)
    assert_allclose(np.diff(temperature), np.r_[[(0.5 * 0.6 - 0.25 * 0.8)] * 5, [-0.25] * 10])


def test_a_profile_is_nan_where_nothing_was_measured():
    """Masked pixels and places outside the frame are gaps."""
    frame = np.full(SHAPE, 20.0)
    frame[10, 10] = np.nan
    _, temperature = profile(frame, [(10, 8), (10, 13)])
    assert np.isnan(temperature).tolist() == [False, False, True, False, False, False]
    assert np.isnan(profile(frame, [(5, 38), (5, 42)])[1]).tolist() == [False, False, True, True, True]


@pytest.mark.parametrize("name", ["pixel_size_m", "spot_size_m"])
def test_sizes_follow_plane_geometry(name):
    """Rows worked by hand for four lenses and distances."""
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            size_m = getattr(statistics, name)(
                float(row["field_of_view_deg"]), int(row["pixels"]), float(row["distance_m"])
            )
            assert size_m == approx(float(row["printed"]), abs=float(row["allowed"]))


def test_area_is_pixels_times_their_sides():
    """Limit case by hand: the whole field of 320 x 240 pixels is the field's area."""
    width_m, height_m = pixel_size_m(25.0, 320, 10.0), pixel_size_m(19.0, 240, 10.0)
    field_m2 = (20 * np.tan(np.radians(12.5))) * (20 * np.tan(np.radians(9.5)))
    assert marked_area_m2(320 * 240, width_m, height_m) == approx(field_m2)


@pytest.mark.parametrize("wrong", [(0.5, 320, 10.0), (25.0, 0, 10.0), (25.0, 320, -1.0)])
def test_sizes_outside_their_range_are_refused(wrong):
    """No lens, no detector, no distance."""
    with raises(OutOfDomain):
        pixel_size_m(*wrong)
