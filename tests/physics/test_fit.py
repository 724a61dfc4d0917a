"""One unknown from readings: closed forms, and how often the interval holds the truth."""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.conduction import steady
from thermalkit.physics.details.outer_corner import OuterCorner
from thermalkit.physics.fit import fit_one_unknown

approx = pytest.approx


def line(unknown):
    return [unknown, 2.0 * unknown]


def test_independent_readings_give_least_squares():
    """Straight line, by hand: x = (y1 + 2 y2)/5, standard uncertainty 1/√5, 95 % interval ± 1.96 of it."""
    found = fit_one_unknown(line, [1.0, 3.0], 1.0, -20.0, 20.0)
    assert found.value == approx(7.0 / 5.0, abs=0.01)
    assert [found.low, found.high] == approx([1.4 - 1.96 / 5**0.5, 1.4 + 1.96 / 5**0.5], abs=0.02)
    assert found.is_identifiable
    assert found.is_explained


def test_a_shared_error_does_not_average_out():
    """A hundred equal readings with a shared ± 1: 95 % of that range, by hand ± 0.95."""
    found = fit_one_unknown(
        lambda x: np.full(100, x), np.full(100, 5.0), 0.1, 0.0, 20.0, shared_half_width=1.0
    )
    assert [found.low, found.high] == approx([4.05, 5.95], abs=0.02)


def test_a_shared_error_cancels_in_a_difference():
    """Two places that answer differently: their difference alone decides, by hand ± 1.96 √2."""
    found = fit_one_unknown(lambda x: [0.0, x], [7.0, 10.0], 1.0, -50.0, 50.0, shared_half_width=1000.0)
    assert found.value == approx(3.0, abs=0.02)
    assert [found.low, found.high] == approx([3.0 - 1.96 * 2**0.5, 3.0 + 1.96 * 2**0.5], abs=0.05)


def test_what_the_surface_does_not_show_is_not_identifiable():
    """A surface that hardly answers: the interval is nearly all that was possible before."""
    found = fit_one_unknown(lambda x: [0.001 * x], [0.1], 1.0, 0.0, 200.0)
    assert not found.is_identifiable
    assert found.high - found.low == approx(0.95 * 200.0, rel=0.05)


def test_readings_that_no_value_explains_are_doubted():
    found = fit_one_unknown(line, [5.0, -5.0], 0.5, 0.0, 10.0)
    assert not found.is_explained


def test_a_shared_error_explains_no_more_than_its_size():
    """Readings all 0.9 off lie within a shared error of 1, readings all 3 off do not."""

    def flat(unknown):
        return [0.0 * unknown] * 3

    within, beyond = (
        fit_one_unknown(flat, [y] * 3, 0.1, 0.0, 1.0, shared_half_width=1.0) for y in (0.9, 3.0)
    )
    assert within.is_explained
    assert not beyond.is_explained


def test_a_truth_on_the_bound_can_be_found():
    """No insulation at all is inside the interval, since the bound belongs to it."""
    found = fit_one_unknown(line, [-0.2, -0.1], 1.0, 0.0, 10.0)
    assert found.low == 0.0


def test_masked_readings_are_left_out():
    with_hole = fit_one_unknown(line, [1.0, np.nan], 1.0, -20.0, 20.0)
    assert with_hole.value == approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("measured", "own", "low", "high"),
    [([1.0, 2.0], 1.0, 5.0, 1.0), ([1.0, 2.0], 0.0, 0.0, 1.0), ([np.nan, np.nan], 1.0, 0.0, 1.0)],
)
def test_what_cannot_be_fitted_is_refused(measured, own, low, high):
    with pytest.raises(OutOfDomain, match="uncertainties above 0"):
        fit_one_unknown(line, measured, own, low, high)


ALONG_MM = np.array([5.0, 20.0, 50.0, 100.0, 200.0, 400.0, 800.0])
INSIDE_DEGC, OUTSIDE_DEGC = 20.0, -2.0
THICKEST_MM = 100.0


def corner_degc(masonry_mm, masonry_w_mk, insulation_mm, finest_mm):
    """Surface of an outer corner, insulated outside, at seven distances from the corner."""
    corner = OuterCorner(masonry_mm=masonry_mm, masonry_w_mk=masonry_w_mk, insulation_mm=insulation_mm)
    field = steady(corner.body(finest_mm), corner.films()).at(
        {"inside": INSIDE_DEGC, "outside": OUTSIDE_DEGC}
    )
    return field.temperature_degc(np.stack([0.0 * ALONG_MM, ALONG_MM / 1000.0], axis=-1), "inside")


@pytest.mark.slow
def test_interval_holds_the_truth_as_often_as_it_says():
    """200 invented corners of known insulation, on a finer grid than the fit's: 92.5 to 98.5 % hold it.

    Each reading has noise of 0.15 K; all of a picture share an offset of up to 0.4 K.
    """
    rng = np.random.default_rng(20)
    held = []
    for _ in range(8):
        wall = (float(rng.uniform(200.0, 400.0)), float(rng.uniform(0.3, 1.5)))
        nodes = {}

        def model(insulation_mm, wall=wall, nodes=nodes):
            if insulation_mm not in nodes:
                nodes[insulation_mm] = corner_degc(*wall, insulation_mm, 8.0)
            return nodes[insulation_mm]

        for truth_mm in rng.uniform(0.0, THICKEST_MM, 25):
            noise = rng.normal(0.0, 0.15, ALONG_MM.size) + rng.uniform(-0.4, 0.4)
            measured = corner_degc(*wall, truth_mm, 4.0) + noise
            found = fit_one_unknown(model, measured, 0.15, 0.0, THICKEST_MM, shared_half_width=0.4)
            held.append((found.low <= truth_mm <= found.high, found.is_identifiable, found.high - found.low))
    share = np.mean([row[0] for row in held])
    assert len(held) == 200
    assert 0.925 <= share <= 0.985
    assert np.mean([row[1] for row in held]) > 0.5
