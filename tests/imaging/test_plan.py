"""A frame as a plan in mm: distances, what shows that it is right, and which point is wrong."""

from __future__ import annotations

import numpy as np
import pytest

from thermalkit.imaging.alignment import Unaligned
from thermalkit.imaging.plan import Camera, distance, distance_mm, plan_of, position_mm, rectified
from thermalkit.language import render
from thermalkit.measured import Draws

SHAPE = (240, 320)
CAMERA = Camera(field_of_view_deg=(45.0, 34.5), distance_m=3.0)
FOCAL_PX = 160.0 / np.tan(np.radians(22.5))
SQUARE_MM = np.array([[0, 0], [1600, 0], [1600, 1200], [0, 1200]], dtype=float)


def pinhole(points_mm, tilt_deg=35.0, turn_deg=10.0, distance_mm=3000.0, middle=(800.0, 600.0)):
    """(row, column) of points of a plane as a pinhole camera sees them: rotation, translation, division."""
    tilt, turn = np.radians(tilt_deg), np.radians(turn_deg)
    about_x = np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
    about_z = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    flat = np.c_[np.asarray(points_mm) - middle, np.zeros(len(points_mm))]
    x, y, z = (about_x @ about_z @ flat.T) + np.array([[0.0], [0.0], [distance_mm]])
    return np.stack([119.5 + FOCAL_PX * y / z, 159.5 + FOCAL_PX * x / z], axis=1)


def known(points_mm, rng=None, click_px=0.0, tape_mm=0.0, **view):
    rng = rng or np.random.default_rng(0)
    seen = pinhole(points_mm, **view)
    return np.c_[seen + rng.normal(0, click_px, seen.shape), points_mm + rng.normal(0, tape_mm, seen.shape)]


def test_exact_points_give_exact_distances():
    """A pinhole camera written out here is the outside source."""
    plan = plan_of(known(SQUARE_MM), SHAPE)
    a, b = pinhole([[300.0, 250.0], [1300.0, 1000.0]])
    assert distance(plan, a, b).value == pytest.approx(1250.0, rel=0.003)
    assert position_mm(plan, [a])[0] == pytest.approx(np.array([[300.0, 250.0]]), abs=1e-3)


def test_distance_intervals_hold_the_truth():
    """95 % intervals over 200 plans with clicks of 1 px and tape of 3 mm."""
    rng = np.random.default_rng(1)
    draws, held = Draws(size=2000), []
    ends = np.array([[300.0, 250.0], [1300.0, 1000.0]])
    for trial in range(200):
        plan = plan_of(known(SQUARE_MM, rng, 1.0, 3.0), SHAPE, frame=f"f{trial % 2}")
        a, b = pinhole(ends) + rng.normal(0.0, 1.0, (2, 2))
        low, high = np.quantile(distance_mm(plan, a, b, draws), [0.025, 0.975])
        held.append(low <= 1250.0 <= high)
    assert 0.90 < np.mean(held) < 0.99


def test_four_points_alone_are_not_checked():
    plan = plan_of(known(SQUARE_MM), SHAPE)
    assert not plan.is_checked
    assert "Four points fix a plan, right or wrong" in render(plan.why[0], "en")


def test_each_check_counts():
    """A fifth point, both diagonals (2000 mm by Pythagoras), or the camera."""
    five = np.r_[SQUARE_MM, [[800.0, 300.0]]]
    assert plan_of(known(five), SHAPE).is_checked
    assert plan_of(known(SQUARE_MM), SHAPE, taped=[(0, 2, 2000.0), (1, 3, 2003.0)]).is_checked
    assert plan_of(known(SQUARE_MM), SHAPE, camera=CAMERA).is_checked


@pytest.mark.parametrize("distance_m", [None, 3.0])
def test_honest_plans_agree_with_their_camera(distance_m):
    """The criterion is met by 99 of 100; clicks of 1 px, tape of 3 mm."""
    rng = np.random.default_rng(2)
    camera = Camera(field_of_view_deg=CAMERA.field_of_view_deg, distance_m=distance_m)
    agree = [
        plan_of(known(SQUARE_MM, rng, 1.0, 3.0, tilt_deg=tilt), SHAPE, camera=camera).is_checked
        for tilt in rng.uniform(0.0, 50.0, 60)
    ]
    assert np.mean(agree) > 0.93


def test_a_wrong_point_contradicts_the_camera():
    """100 mm on a side of 1600: the axes are no longer at right angles or of one scale."""
    wrong = known(SQUARE_MM)
    wrong[2, 2] += 150.0
    plan = plan_of(wrong, SHAPE, camera=CAMERA)
    assert not plan.is_checked
    assert "No camera of this field of view" in render(plan.why[0], "en")


def test_a_wrong_diagonal_is_said():
    plan = plan_of(known(SQUARE_MM), SHAPE, taped=[(0, 2, 2000.0), (1, 3, 1940.0)])
    assert not plan.is_checked
    assert "points 2 and 4 is 60" in render(plan.why[0], "en")


def test_a_wrong_one_among_five_is_named_with_the_camera_and_detected_without():
    five = known(np.r_[SQUARE_MM, [[800.0, 300.0]]])
    five[1, 3] += 200.0
    alone, seen = plan_of(five, SHAPE), plan_of(five, SHAPE, camera=CAMERA)
    assert (alone.is_checked, alone.wrong) == (False, ())
    assert "contradict one another" in render(alone.why[0], "en")
    assert (seen.is_checked, seen.wrong) == (True, (1,))


def test_a_wrong_one_among_seven_is_named():
    seven = known(np.r_[SQUARE_MM, [[800.0, 300.0], [400.0, 800.0], [1200.0, 900.0]]])
    seven[5, 2] += 120.0
    plan = plan_of(seven, SHAPE, taped=[(5, 0, 900.0)])
    assert (plan.is_checked, plan.wrong) == (True, (5,))
    assert "Point 6 contradicts all others" in render(plan.why[0], "en")
    back = plan.onto_mm.mapped(pinhole([[700.0, 500.0]]))
    assert back == pytest.approx(np.array([[700.0, 500.0]]), abs=1.0)


@pytest.mark.parametrize("is_upward", [False, True])
def test_the_rectified_picture_is_square_on(is_upward):
    """A disc of known place and size on the surface comes out round, there, in mm; y up or down."""
    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]]
    sign = -1.0 if is_upward else 1.0
    points = known(SQUARE_MM)
    points[:, 3] *= sign
    plan = plan_of(points, SHAPE)
    places, _ = position_mm(plan, np.c_[rows.ravel(), columns.ravel()])
    disc = (np.hypot(places[:, 0] - 500.0, places[:, 1] - sign * 700.0) < 200.0).reshape(SHAPE)
    flat = rectified(disc.astype(float), plan, mm_per_pixel=5.0)
    at = np.argwhere(flat.values > 0.5)
    assert plan.is_upward == is_upward
    x, y = flat.x_mm + 5.0 * at[:, 1], flat.y_mm + flat.y_step_mm * at[:, 0]
    assert (x.mean(), y.mean()) == pytest.approx((500.0, sign * 700.0), abs=10.0)
    assert len(at) * 25.0 == pytest.approx(np.pi * 200.0**2, rel=0.03)
    assert rectified(disc, plan).values.size < 4_100_000


def test_three_known_points_are_refused():
    with pytest.raises(Unaligned, match="not enough"):
        plan_of(known(SQUARE_MM)[:3], SHAPE)
