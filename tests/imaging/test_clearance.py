"""Distance to the nearest line with its bound, on invented floors whose pipes are known."""

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.imaging.clearance import DOUBLE_MM, Surroundings, clearance
from thermalkit.imaging.plan import plan_of, rectified
from thermalkit.imaging.ridges import ridges

SHAPE = (200, 240)
MARKS_MM = np.array([[0, 0], [1900, 0], [1900, 1500], [0, 1500], [950, 750], [0, 750], [1900, 750]], float)
SPACING_MM = 220.0
NOISE_K = 0.05


def around(amplitude_k=2.0, marks=MARKS_MM, hidden=None, seed=0, **more):
    """A picture square on with a pixel of 8 mm, warm lines along y at whole spacings."""
    rng = np.random.default_rng(seed)
    points = np.c_[marks[:, 1] / 8.0, marks[:, 0] / 8.0, marks]
    plan = plan_of(points, SHAPE)
    _, columns = np.indices(SHAPE)
    frame = 0.5 * amplitude_k * np.cos(2.0 * np.pi * 8.0 * columns / SPACING_MM)
    picture = rectified(frame + rng.normal(0.0, NOISE_K, SHAPE), plan, 8.0)
    quiet = rectified(rng.normal(0.0, NOISE_K, SHAPE), plan, 8.0)
    covered = np.zeros(picture.values.shape, dtype=bool)
    if hidden is not None:
        covered[hidden] = True
    found = ridges(picture, quiet, covered)
    return Surroundings(plan=plan, picture=picture, found=found, hidden=covered, **more)


def test_midway_between_lines_the_distance_is_half_the_spacing():
    """110 mm midway, and the bound below it by what plan, tape and line leave open."""
    found = clearance(around(), (4.5 * SPACING_MM, 700.0))
    assert found.why_not is None
    assert found.distance_mm == pytest.approx(110.0, abs=5.0)
    assert 50.0 < found.low_mm < found.distance_mm - 3.0 * found.deviation_mm


def test_over_a_line_there_is_no_distance():
    """The bound is then below nothing."""
    found = clearance(around(), (4.0 * SPACING_MM, 700.0))
    assert found.distance_mm < 5.0
    assert found.low_mm < 0.0


def test_four_points_alone_give_no_answer():
    """They fit whether right or wrong."""
    assert clearance(around(marks=MARKS_MM[:4]), (4.5 * SPACING_MM, 700.0)).why_not == "unchecked"


def test_a_wrong_point_gives_no_answer_or_a_plan_without_it():
    """With seven marks one that is 300 mm off is either named and left out, or nothing is answered."""
    wrong = MARKS_MM.copy()
    wrong[2] += (300.0, 0.0)
    points = np.c_[MARKS_MM[:, 1] / 8.0, MARKS_MM[:, 0] / 8.0, wrong]
    plan = plan_of(points, SHAPE)
    assert 2 in plan.wrong or not plan.is_checked


def test_what_is_hidden_counts_as_a_line():
    """A cover 60 mm beside the place shortens the bound to less than that, and over the place ends it."""
    hidden = np.s_[60:120, 128:150]
    beside, under = (4.5 * SPACING_MM, 720.0), (1100.0, 720.0)
    free, covered = around(), around(hidden=hidden)
    assert clearance(covered, beside).low_mm < min(clearance(free, beside).low_mm, 60.0)
    assert clearance(covered, under).why_not == "unseen"


def test_beyond_the_marks_there_is_no_answer():
    """Only what lies between the measured points is laid out."""
    assert clearance(around(), (2500.0, 700.0)).why_not == "outside"


def test_weak_lines_give_no_answer():
    """A ripple of the size of the noise: another line may be weaker still."""
    assert clearance(around(amplitude_k=0.12), (4.5 * SPACING_MM, 700.0)).why_not in (
        "weak",
        "unseen",
        "no-lines",
    )
    assert clearance(around(amplitude_k=0.0), (4.5 * SPACING_MM, 700.0)).why_not == "no-lines"


def test_two_lines_that_look_like_one_are_allowed_for():
    """The bound gives way by half of what they may lie apart."""
    place = (4.5 * SPACING_MM, 700.0)
    alone = clearance(around(), place)
    double = clearance(around(may_be_double=True), place)
    assert alone.low_mm - double.low_mm == pytest.approx(DOUBLE_MM, abs=1.0)


def test_beside_the_last_line_nothing_was_seen():
    """Beyond the pattern a cold line may lie."""
    base = around()
    lines = tuple(line for line in base.found.lines if np.median(line.line_mm[:, 0]) < 1000.0)
    cut = replace(base, found=replace(base.found, lines=lines))
    assert clearance(cut, (1300.0, 700.0)).why_not == "unseen"
