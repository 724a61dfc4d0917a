"""Pairs of points: the map, its uncertainty, slips, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2
from skimage.transform import ProjectiveTransform

from thermalkit.imaging.alignment import Unaligned, align, corners_of, warped

SHAPE = (240, 320)
CORNERS = corners_of(SHAPE)


def view(rng):
    """A view of the same plane from a little aside, by scikit-image's own projective map."""
    images = CORNERS * rng.uniform(0.9, 1.1) + rng.uniform(-30, 60, 2) + rng.uniform(-15, 15, (4, 2))
    return ProjectiveTransform.from_estimate(CORNERS, images)


def spread_points(rng, count):
    """Four near the corners of the frame, the others anywhere well apart."""
    near = CORNERS * 0.85 + np.array([18, 24]) + rng.uniform(-12, 12, (4, 2))
    more = rng.permutation([[120, 160], [60, 160], [180, 160], [120, 80], [120, 240], [60, 100]])[: count - 4]
    return np.concatenate([near, more + rng.uniform(-10, 10, (count - 4, 2))])


@pytest.mark.parametrize("count", [4, 7])
def test_exact_pairs_give_the_map_of_scikit_image(count):
    """Reference library: skimage.transform.ProjectiveTransform, same corners."""
    rng = np.random.default_rng(1)
    true = view(rng)
    points = spread_points(rng, count)
    found = align(points, true(points), shape=SHAPE)
    assert found.mapped(CORNERS) == pytest.approx(true(CORNERS), abs=1e-6)
    assert found.is_checked == (count > 4)


def test_the_stated_covariance_holds_what_clicks_do():
    """Mahalanobis distance against chi-square with two degrees of freedom, four and seven pairs."""
    rng = np.random.default_rng(2)
    inside = []
    for trial in range(300):
        true, points = view(rng), spread_points(rng, 4 + 3 * (trial % 2))
        clicked = [side + rng.normal(0.0, 1.0, side.shape) for side in (points, true(points))]
        found = align(*clicked)
        missed = found.mapped(CORNERS) - true(CORNERS)
        distance = np.einsum("ni,nij,nj->n", missed, np.linalg.inv(found.covariance_at(CORNERS)), missed)
        inside.append(np.mean(distance < chi2.ppf(0.95, 2)))
    assert 0.92 < np.mean(inside) < 0.985


def test_draws_spread_as_the_covariance_says():
    rng = np.random.default_rng(3)
    true, points = view(rng), spread_points(rng, 4)
    found = align(points, true(points))
    drawn = found.drawn([[60.0, 90.0]], rng.normal(size=(4000, 8)))[:, 0]
    assert np.cov(drawn.T) == pytest.approx(found.covariance_at([[60.0, 90.0]])[0], rel=0.15, abs=0.02)


def test_a_slip_among_seven_is_left_out_and_named():
    """30 px off, far beyond clicks of 1 px: the slip or nothing is left out, mostly the slip."""
    rng = np.random.default_rng(4)
    named = 0
    for trial in range(30):
        true, points = view(rng), spread_points(rng, 7)
        second = true(points)
        second[trial % 7] += 30.0 * np.array([np.cos(trial), np.sin(trial)])
        found = align(points, second + rng.normal(0.0, 1.0, second.shape))
        assert found.left_out in ((trial % 7,), ())
        named += found.left_out == (trial % 7,)
    assert named >= 20


def test_many_pairs_shed_several_slips():
    rng = np.random.default_rng(5)
    true = view(rng)
    points = rng.uniform((0, 0), SHAPE, (40, 2))
    points = points[
        np.min(np.linalg.norm(points[:, None] - points + 1e3 * np.eye(40)[..., None], axis=2), 1) > 6
    ]
    second = true(points) + rng.normal(0.0, 0.5, points.shape)
    second[:6] += 40.0
    found = align(points, second)
    assert set(range(6)) <= set(found.left_out)
    assert np.linalg.norm(found.mapped(CORNERS) - true(CORNERS), axis=1).max() < 4.0


def test_five_that_contradict_one_another_name_nobody():
    """Any four of five fit exactly, so which one is wrong cannot be told."""
    points = np.concatenate([CORNERS, [[120.0, 160.0]]])
    second = points.copy()
    second[4] += 40.0
    found = align(points, second)
    assert (found.is_consistent, found.left_out, found.is_checked) == (False, (), False)


@pytest.mark.parametrize(
    ("second", "said"),
    [
        (CORNERS[:3], "3 pairs of points are not enough"),
        ([[0, 0], [0.5, 0.5], [239, 319], [239, 0]], "Points 1 and 2 lie on one another"),
        ([[0, 0], [0, 160], [0, 319], [239, 0]], "Points 1, 2 and 3 lie on one line"),
        (CORNERS[[1, 0, 2, 3]], "Points 1 and 2 seem to be exchanged"),
        (CORNERS[:, ::-1], "another order"),
    ],
)
def test_pairs_that_fix_no_map_are_refused_with_a_reason(second, said):
    with pytest.raises(Unaligned, match=said) as refused:
        align(CORNERS[: len(second)], second)
    assert refused.value.told("de") != str(refused.value)


def test_five_on_a_line_are_refused():
    line = np.array([[10.0 * k, 20.0 * k] for k in range(1, 6)])
    with pytest.raises(Unaligned, match="Nearly all points lie on one line"):
        align(line, line)


def test_a_map_that_folds_inside_the_frame_is_refused():
    """The horizon of a steep view close to the points runs through the rest of the picture."""
    first = [[100, 100], [100, 220], [140, 200], [140, 120]]
    second = [[0, 0], [0, 300], [300, 300], [300, 0]]
    with pytest.raises(Unaligned, match="fold"):
        align(first, second, shape=SHAPE)


def test_a_drawing_with_its_axis_upward_may_be_mirrored():
    upward = CORNERS * (-1.0, 1.0)
    with pytest.raises(Unaligned):
        align(CORNERS, upward)
    found = align(CORNERS, upward, may_mirror=True)
    assert found.mapped([[10.0, 20.0]]) == pytest.approx(np.array([[-10.0, 20.0]]))


def test_the_second_picture_is_brought_into_the_first():
    """A shift by whole pixels moves values unchanged; outside there is nothing."""
    second = np.arange(30.0 * 40.0).reshape(30, 40)
    shape = (20, 30)
    shifted = align(corners_of(shape), corners_of(shape) + np.array([5.0, 15.0]))
    seen = warped(second, shifted, shape)
    assert seen[:, :25] == pytest.approx(second[5:25, 15:40], abs=1e-6)
    assert np.isnan(seen[:, 26:]).all()


def test_a_map_onto_an_enlarged_picture_goes_to_the_same_places():
    """Pixel centres: the corner of the first pixel stays where it is."""
    corners = corners_of((60, 80))
    found = align(corners, corners * 1.5 + 3.0)
    larger = found.onto_enlarged(2.5)
    assert larger.mapped(corners) == pytest.approx((found.mapped(corners) + 0.5) * 2.5 - 0.5)
    assert larger.pairs[:, 1] == pytest.approx(larger.mapped(corners))


def test_the_matrix_maps_as_the_map_does():
    """Homogeneous coordinates: divided by their third one."""
    corners = corners_of((60, 80))
    found = align(corners, [[5.0, 7.0], [9.0, 150.0], [140.0, 160.0], [120.0, 2.0]])
    points = np.array([[10.0, 20.0], [55.0, 3.0]])
    images = np.column_stack([points, np.ones(2)]) @ found.matrix.T
    assert images[:, :2] / images[:, 2:] == pytest.approx(found.mapped(points))
