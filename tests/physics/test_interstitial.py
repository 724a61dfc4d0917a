"""No worked example of the standard is at hand: limit cases solved by hand, and a linear programme."""

import numpy as np
import pytest
from scipy.optimize import linprog

from thermalkit.errors import OutOfDomain
from thermalkit.physics.interstitial import Layer, Plane, monthly_condensation
from thermalkit.physics.moist_air import saturation_pressure_pa, vapour_pressure_pa

MONTH_S = 86_400.0 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
OUTDOOR = np.array([1.0, 2.0, 5.0, 8.0, 13.0, 16.0, 18.0, 18.0, 14.0, 9.0, 5.0, 2.0])


def layer(resistance, diffusion):
    return Layer(resistance_m2k_w=resistance, diffusion_thickness_m=diffusion)


# Two layers with one plane between them; the films of 0.13 and 0.04 make 0.67 m²K/W in all.
WALL = [layer(0.25, 0.5), layer(0.25, 4.0)]


def plane_temperature(indoor, outdoor):
    return indoor - (indoor - outdoor) * 0.38 / 0.67


def test_one_plane_gains_what_arrives_less_what_leaves():
    """One month of frost, by hand: δ_0 ((p_i-p_s)/s_1 - (p_s-p_e)/s_2) times its seconds."""
    outdoor, outside = np.full(12, 18.0), np.full(12, 600.0)
    outdoor[0], outside[0] = -10.0, 200.0
    year = monthly_condensation(WALL, 20.0, 1300.0, outdoor, outside)
    p = float(saturation_pressure_pa(plane_temperature(20.0, -10.0)))
    by_hand = 1000.0 * 2e-10 * ((1300.0 - p) / 0.5 - (p - 200.0) / 4.0) * MONTH_S[0]
    assert year.planes == (Plane(layer=0, depth=1.0),)
    assert year.months[0] == 0
    assert year.gained_g_m2[0, 0] == pytest.approx(by_hand, rel=1e-9)
    assert by_hand > 50.0


def test_plane_dries_at_the_pace_of_saturation_and_then_stops():
    """February takes off what vapour leaves to both sides, by hand, and no more than is there."""
    outdoor, inside, outside = np.full(12, 8.0), np.full(12, 900.0), np.full(12, 800.0)
    outdoor[0], inside[0], outside[0] = -10.0, 1300.0, 200.0
    year = monthly_condensation(WALL, 20.0, inside, outdoor, outside)
    p = float(saturation_pressure_pa(plane_temperature(20.0, 8.0)))
    leaves = 1000.0 * 2e-10 * ((p - 900.0) / 0.5 + (p - 800.0) / 4.0)
    assert year.gained_g_m2[1, 0] == pytest.approx(-min(leaves * MONTH_S[1], year.held_g_m2[0, 0]), rel=1e-9)
    assert year.left_g_m2 == 0.0
    assert year.most_held_g_m2 == pytest.approx(year.held_g_m2[0, 0])


def test_slow_drying_is_counted_month_by_month():
    """A tight plane, by hand: January gains, each later month loses its own share, some is left."""
    wall = [layer(0.25, 40.0), layer(0.25, 60.0)]
    outdoor, inside, outside = np.full(12, 12.0), np.full(12, 1300.0), np.full(12, 1300.0)
    outdoor[0], inside[0], outside[0] = -10.0, 2300.0, 200.0
    year = monthly_condensation(wall, 20.0, inside, outdoor, outside)
    p = float(saturation_pressure_pa(plane_temperature(20.0, 12.0)))
    leaves = 1000.0 * 2e-10 * ((p - 1300.0) / 40.0 + (p - 1300.0) / 60.0) * MONTH_S[1:]
    first = year.held_g_m2[0, 0]
    assert year.held_g_m2[1:, 0] == pytest.approx(np.maximum(first - np.cumsum(leaves), 0.0), abs=1e-9)


def test_wall_open_to_the_outside_never_condenses():
    """Tight inside, open outside: the rule every builder knows."""
    year = monthly_condensation([layer(0.25, 50.0), layer(3.0, 0.2)], 20.0, 1300.0, OUTDOOR, 600.0)
    assert not year.condenses
    assert year.planes == ()
    assert year.gained_g_m2.shape == (12, 0)
    assert year.most_held_g_m2 == year.left_g_m2 == 0.0


def test_tight_outer_face_gathers_water_and_says_what_is_left():
    """With a metal sheet outside and a moist cold room nothing dries, so each month adds."""
    year = monthly_condensation([layer(2.0, 0.1), layer(0.0, 1500.0)], 20.0, 1600.0, 0.0, 500.0)
    assert (year.gained_g_m2 > 0.0).all()
    assert year.left_g_m2 == pytest.approx(year.gained_g_m2.sum())
    assert year.months[0] == 0


def test_year_begins_after_the_dry_season():
    """Frost from November to February starts the year in November."""
    outdoor = np.array([-8.0, -5.0, 12.0, 15.0, 18.0, 18.0, 18.0, 18.0, 16.0, 14.0, -3.0, -6.0])
    year = monthly_condensation(WALL, 20.0, 1200.0, outdoor, 250.0)
    assert year.months == (10, 11, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9)
    assert year.gained_g_m2[:4, 0].min() > 0.0
    assert year.held_g_m2[-1, 0] == 0.0


def test_two_planes_hold_water_side_by_side():
    """Two tight membranes, each behind open insulation, by hand between them."""
    wall = [layer(0.25, 0.1), layer(0.0, 5.0), layer(0.25, 0.1), layer(0.0, 20.0)]
    year = monthly_condensation(wall, 20.0, 1600.0, -5.0, 300.0)
    assert year.planes == (Plane(layer=0, depth=1.0), Plane(layer=2, depth=1.0))
    warm, cold = saturation_pressure_pa([20.0 - 25.0 * 0.38 / 0.67, 20.0 - 25.0 * 0.63 / 0.67])
    between = (warm - cold) / 5.1
    first = 2e-7 * ((1600.0 - warm) / 0.1 - between) * MONTH_S[0]
    second = 2e-7 * (between - (cold - 300.0) / 20.0) * MONTH_S[0]
    assert year.gained_g_m2[0] == pytest.approx([first, second], rel=1e-9)


def test_thick_insulation_condenses_inside_itself_and_is_cut_for_it():
    """Moist air on both sides of one layer: its middle is wet, as if it were built of twelve sheets."""
    whole = monthly_condensation([layer(3.0, 1.2)], 20.0, 2000.0, -5.0, 390.0)
    sheets = monthly_condensation([layer(0.25, 0.1)] * 12, 20.0, 2000.0, -5.0, 390.0)
    assert all(0.0 < plane.depth < 1.0 for plane in whole.planes)
    assert [plane.depth * 12 for plane in whole.planes] == pytest.approx([p.layer + 1 for p in sheets.planes])
    assert whole.gained_g_m2 == pytest.approx(sheets.gained_g_m2)
    assert whole.condenses


@pytest.mark.parametrize("seed", range(8))
def test_string_is_the_solution_of_a_linear_programme(seed):
    """The largest pressure below saturation at which no dry plane gives water away."""
    rng = np.random.default_rng(seed)
    wall = [layer(r, d) for r, d in zip(rng.uniform(0.0, 0.25, 6), rng.uniform(0.05, 5.0, 6), strict=True)]
    inside, outside = 1500.0, 250.0
    year = monthly_condensation(wall, 22.0, inside, -5.0, outside)

    resistance = np.array([part.resistance_m2k_w for part in wall])
    d = np.array([part.diffusion_thickness_m for part in wall])
    theta = 22.0 - 27.0 * (0.13 + np.cumsum(resistance)[:-1]) / (0.17 + resistance.sum())
    conductance = 2e-10 / d
    balance = np.zeros((5, 7))
    for k in range(5):
        balance[k, k : k + 3] = conductance[k], -conductance[k] - conductance[k + 1], conductance[k + 1]
    ends = balance[:, 0] * inside + balance[:, 6] * outside
    scale = 1e9
    found = linprog(
        -np.ones(5),
        A_ub=-balance[:, 1:6] * scale,
        b_ub=ends * scale,
        bounds=[(0.0, float(p)) for p in saturation_pressure_pa(theta)],
    )
    gain = (balance[:, 1:6] @ found.x + ends) * MONTH_S[0] * 1000.0
    by_plane = np.zeros(5)
    for plane, gained in zip(year.planes, year.gained_g_m2[0], strict=True):
        by_plane[plane.layer] = gained
    assert by_plane == pytest.approx(gain, abs=1e-4)


def test_water_balances_through_the_year():
    """What is held is what was gained, never less than nothing, in a real-looking winter."""
    wall = [layer(0.06, 0.13), layer(3.5, 0.14), layer(0.07, 1.0), layer(0.18, 0.05), layer(0.13, 1.6)]
    inside = vapour_pressure_pa(20.0, 0.6)
    year = monthly_condensation(wall, 20.0, inside, OUTDOOR - 3.0, vapour_pressure_pa(OUTDOOR - 3.0, 0.85))
    assert year.condenses
    assert np.cumsum(year.gained_g_m2, axis=0) == pytest.approx(year.held_g_m2, abs=1e-9)
    assert year.held_g_m2.min() >= 0.0


def test_surface_that_condenses_is_told_apart():
    """Room air above saturation at the inner surface condenses there; inside the wall it is capped."""
    year = monthly_condensation(WALL, 20.0, 2200.0, [-15.0] + [19.0] * 11, 300.0)
    assert year.surface_condenses[0]
    assert not any(year.surface_condenses[1:])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: monthly_condensation([], 20.0, 1200.0, OUTDOOR, 600.0), "layers is empty"),
        (lambda: monthly_condensation(WALL, 20.0, 1200.0, OUTDOOR[:6], 600.0), r"has shape \(6,\)"),
        (lambda: monthly_condensation(WALL, 20.0, np.nan, OUTDOOR, 600.0), "none missing"),
        (lambda: monthly_condensation([layer(0.2, 0.0)], 20.0, 1200.0, OUTDOOR, 600.0), "thickness_m = 0"),
        (lambda: monthly_condensation(WALL, 20.0, 1200.0, 280.0, 600.0), "outdoor_degc = 280"),
        (
            lambda: monthly_condensation([layer(70.0, 1)], 20.0, 1200.0, OUTDOOR, 600.0),
            "resistance_m2k_w = 70",
        ),
    ],
)
def test_climate_or_wall_that_cannot_be_is_named(call, message):
    """Half a year, a gap, kelvin and a layer without thickness are refused."""
    with pytest.raises(OutOfDomain, match=message):
        call()
