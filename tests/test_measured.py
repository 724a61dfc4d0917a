"""Uncertain inputs by name."""

from __future__ import annotations

import numpy as np
import pytest
from pytest import approx

from thermalkit.measured import Draws, measured


def test_rectangular_has_the_standard_uncertainty_of_the_guide():
    """Half-width 2 K gives 1.155 K (GUM, rectangular distribution: half-width over the root of 3)."""
    assert Draws().rectangular("offset", 2.0).std() == approx(1.155, abs=0.001)


def test_interval_of_a_normal_input():
    """1.960 standard deviations either way (normal distribution table)."""
    result = measured(Draws().normal("noise", 1.0), "K")
    assert (result.low, result.value, result.high) == approx((-1.960, 0.0, 1.960), abs=0.002)


def test_what_two_results_share_cancels():
    """The same name is the same error."""
    draws = Draws()
    difference = (14.0 + draws.rectangular("offset", 2.0)) - (12.0 + draws.rectangular("offset", 2.0))
    assert np.ptp(difference) == approx(0.0, abs=1e-12)


def test_different_names_are_independent():
    draws = Draws()
    pair = np.corrcoef(draws.quantiles("one"), draws.quantiles("two"))
    assert abs(pair[0, 1]) < 0.03


def test_draws_do_not_depend_on_their_order():
    one, other = Draws(), Draws()
    one.quantiles("first")
    assert np.array_equal(one.quantiles("second"), other.quantiles("second"))


def test_a_known_group_of_inputs_stays_at_its_middle():
    draws = Draws(known="film")
    assert np.ptp(draws.between("film wall-1 cold", 0.13, 0.25)) == 0.0
    assert np.ptp(draws.between("films elsewhere", 0.13, 0.25)) > 0.1


@pytest.mark.parametrize(
    ("surface", "indoor", "outdoor", "u_surface", "u_indoor", "u_outdoor", "factor", "u_factor"),
    [  # own examples by GUM 5.1.2 (linear propagation), not published
        (14.0, 20.0, 0.0, 0.5, 0.3, 0.3, 0.7000, 0.02749),
        (12.5, 20.0, -5.0, 1.0, 0.5, 1.0, 0.7000, 0.04405),
        (15.0, 21.0, 10.0, 0.5, 0.3, 0.5, 0.45455, 0.05324),
        (16.0, 20.0, 5.0, 0.4, 0.2, 0.5, 0.73333, 0.02976),
    ],
)
def test_factor_uncertainty_agrees_with_linear_propagation(
    surface, indoor, outdoor, u_surface, u_indoor, u_outdoor, factor, u_factor
):
    """Monte Carlo against the law of propagation of uncertainty, within 1.5 %."""
    draws = Draws(40_000)
    s = surface + draws.normal("surface", u_surface)
    i = indoor + draws.normal("indoor", u_indoor)
    e = outdoor + draws.normal("outdoor", u_outdoor)
    f = (s - e) / (i - e)
    assert np.median(f) == approx(factor, abs=0.001)
    assert f.std() == approx(u_factor, rel=0.015)


def test_one_name_on_two_visits_is_two_errors():
    """Unless it is said to be shared, by its name or its first words."""
    now = Draws()
    then = Draws(visit="earlier", shared=("hygrometer", "paint corner"))
    for name in ("hygrometer", "paint corner", "paint corner spot"):
        assert np.array_equal(then.quantiles(name), now.quantiles(name))
    for name in ("hygrometers", "paint corner-2", "camera corner"):
        assert abs(np.corrcoef(then.quantiles(name), now.quantiles(name))[0, 1]) < 0.03


def test_what_is_nearly_the_same_is_correlated():
    """Ranks of two normal variables correlate by 6/pi asin(rho/2): 0.786 for 0.8 (Pearson 1907)."""
    then = Draws(visit="earlier", alike=("film corner",))
    found = then.quantiles("film corner spot")
    assert np.corrcoef(found, Draws().quantiles("film corner spot"))[0, 1] == approx(0.786, abs=0.01)
    assert np.sort(found) == approx((np.arange(10_000) + 0.5) / 10_000)


def test_knowing_a_group_keeps_the_visit():
    known = Draws(known="a", visit="earlier", shared=("b",))
    assert np.all(known.quantiles("a 1") == 0.5)
    assert np.array_equal(known.quantiles("b"), Draws().quantiles("b"))
    assert not np.array_equal(known.quantiles("c"), Draws().quantiles("c"))
