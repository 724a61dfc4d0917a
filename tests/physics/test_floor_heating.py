"""Heated floors against EN 1264-2, a closed form worked elsewhere, and conduction on a grid."""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics import floor_heating
from thermalkit.physics.conduction import Body, Material, graded_edges_m, march, steady
from thermalkit.physics.floor_heating import (
    Slab,
    characteristic_w_m2k,
    floor_output_w_m2,
    pipe_heat_w_m,
    ripple_k,
    surface_over_pipes_k,
    surface_response_m2k_w,
    surface_since_m2k_w,
)

USUAL = Slab(thickness_m=0.065, pipe_height_m=0.022)


@pytest.mark.published("floor_output_w_m2", "characteristic_w_m2k")
def test_printed_values(row):
    """EN 1264-2: base characteristic, its inverse, and K_H."""
    assert getattr(floor_heating, row.function)(**row.inputs) == row.expected


@pytest.mark.parametrize(
    ("spacing_m", "line_w_m", "over", "quarter", "between", "mean"),
    [
        (0.20, 20.0, 29.994, 28.296, 27.260, 28.456),
        (0.30, 20.0, 28.340, 25.250, 23.844, 25.637),
        (0.10, 8.0, 26.902, 26.760, 26.637, 26.765),
    ],
)
def test_the_ripple_is_that_worked_elsewhere(spacing_m, line_w_m, over, quarter, between, mean):
    """Fourier series of line sources, checked in an independent finite-volume calculation to 0.001 K."""
    places = np.array([0.0, 0.25, 0.5]) * spacing_m
    found = 20.0 + surface_over_pipes_k(places, line_w_m, spacing_m, USUAL)
    assert found == pytest.approx([over, quarter, between], abs=0.005)
    even = 20.0 + line_w_m / spacing_m * surface_response_m2k_w(0.0, USUAL)
    assert even == pytest.approx(mean, abs=0.005)


@pytest.mark.parametrize(
    ("spacing_m", "diameter_m", "ripple", "output"),
    [(0.10, 0.016, 0.43, 108), (0.15, 0.016, 1.40, 97), (0.20, 0.016, 2.61, 85), (0.30, 0.020, 5.11, 68)],
)
def test_pipes_at_35_degc_settle_where_a_grid_does(spacing_m, diameter_m, ripple, output):
    """An independent finite-volume calculation with round pipes; a line source differs by some per cent."""
    heat = pipe_heat_w_m(150, 900.0, 15.0, spacing_m, USUAL, diameter_m=diameter_m, pipe_mk_w=0.001)
    assert ripple_k(heat, 900.0, spacing_m, USUAL) == pytest.approx(ripple, abs=0.12)
    above = 10.8 * heat[-1] / spacing_m * surface_response_m2k_w(0.0, USUAL)
    assert above == pytest.approx(output, rel=0.02)


def test_ripple_is_largest_after_half_an_hour():
    """At 150 mm it peaks at 3.8 K after about 30 min (independent finite-volume calculation)."""
    heat = pipe_heat_w_m(240, 60.0, 15.0, 0.15, USUAL, pipe_mk_w=0.001)
    course = [ripple_k(heat[:n], 60.0, 0.15, USUAL) for n in range(5, 240, 5)]
    assert max(course) == pytest.approx(3.8, abs=0.2)
    assert 20 <= 5 + 5 * int(np.argmax(course)) <= 40


def heated_grid(spacing_m, line_w_m):
    """Half a spacing of the slab, with the heat of half a pipe in a cell of 4 by 4 mm at its axis."""
    across = graded_edges_m([0.0, 0.002, spacing_m / 2.0], 0.002, 1.15)
    up = graded_edges_m([0.0, 0.020, 0.024, 0.065], 0.002, 1.15)
    body = Body(across, up)
    screed = Material(name="screed", conductivity_w_mk=1.2, heat_capacity_j_m3k=2.0e6)
    body.paint([None, None], screed)
    body.heat([(0.0, 0.002), (0.020, 0.024)], line_w_m / 2.0 / (0.002 * 0.004))
    body.expose(1, "low", "below")
    body.expose(1, "high", "room")
    return steady(body, {"room": 1.0 / 10.8, "below": 1.0 / 0.75})


def test_warming_up_follows_our_own_conduction():
    """A steady heat of 20 W/m switched on: surface over the pipe and midway after 15 and 60 min."""
    grid = heated_grid(0.2, 20.0)
    start = grid.at({"room": 0.0, "below": 0.0}, heating=0.0)
    times_s = np.arange(0.0, 3601.0, 60.0)
    fields = list(march(start, times_s, heating=np.ones(len(times_s))))
    waves = 2.0 * np.pi * np.arange(31) / 0.2
    for minutes in (15, 60):
        surface = fields[minutes].surface("room")
        order = np.argsort(surface.centres_m[:, 0])
        place, excess = surface.centres_m[order, 0], surface.temperature_degc[order]
        kernel = surface_since_m2k_w(waves, np.full(minutes, 20.0), 60.0, USUAL)
        weights = np.where(waves > 0.0, 2.0, 1.0) / 0.2 * kernel
        found = np.cos(place[:, None] * waves) @ weights
        assert found == pytest.approx(excess, abs=0.04)


def test_steady_ripple_follows_our_own_conduction():
    """The closed form on a grid of its own."""
    surface = heated_grid(0.3, 20.0).at({"room": 0.0, "below": 0.0}).surface("room")
    found = surface_over_pipes_k(surface.centres_m[:, 0], 20.0, 0.3, USUAL)
    assert found == pytest.approx(surface.temperature_degc, abs=0.03)


def test_modes_add_up_to_the_steady_state():
    """The two ways to the same end: nothing at the start, the closed form long after."""
    waves = np.array([0.0, 20.0, 60.0])
    assert surface_response_m2k_w(waves, USUAL, 1e7) == pytest.approx(surface_response_m2k_w(waves, USUAL))
    assert surface_response_m2k_w(waves, USUAL, 0.0) == pytest.approx(0.0, abs=2e-4)


def test_a_covering_hides_ripple():
    """At 100 mm under parquet it peaks near 1.0 K and settles near 0.13 K (independent calculation)."""
    parquet = Slab(thickness_m=0.065, pipe_height_m=0.022, covering_m2k_w=0.10)
    heat = pipe_heat_w_m(720, 60.0, 15.0, 0.10, parquet, pipe_mk_w=0.001)
    course = [ripple_k(heat[:n], 60.0, 0.10, parquet) for n in range(6, 720, 6)]
    assert max(course) == pytest.approx(1.0, abs=0.15)
    assert course[-1] == pytest.approx(0.13, abs=0.05)


def test_characteristic_beyond_the_tables_falls_in_proportion():
    """EN 1264-2: above 375 mm times 0.375 over the spacing."""
    ends = characteristic_w_m2k([0.375, 0.5], 0.045, 0.05)
    assert ends[1] == pytest.approx(0.75 * ends[0])


def test_nan_stays_nan():
    """A masked pixel is let through."""
    assert np.isnan(floor_output_w_m2(np.nan))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: floor_output_w_m2(41.0),
        lambda: characteristic_w_m2k(0.04, 0.045, 0.0),
        lambda: surface_over_pipes_k(0.0, 20.0, 3.0, USUAL),
        lambda: surface_response_m2k_w(-1.0, USUAL),
        lambda: pipe_heat_w_m(0, 60.0, 15.0, 0.15, USUAL),
        lambda: ripple_k(np.ones(3), 60.0, 0.0, USUAL),
        lambda: Slab(thickness_m=0.6, pipe_height_m=0.02),
        lambda: Slab(thickness_m=0.06, pipe_height_m=0.07),
    ],
)
def test_what_no_floor_has_is_refused(wrong):
    """Each argument has its range."""
    with pytest.raises(OutOfDomain):
        wrong()
