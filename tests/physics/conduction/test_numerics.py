"""Order of convergence, refusals and the bookkeeping of the conduction package."""

from __future__ import annotations

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.conduction import (
    Body,
    IllPosed,
    Material,
    NotConverged,
    graded_edges_m,
    periodic_response,
    refinement_change,
    solver,
    steady,
)

approx = pytest.approx

STONE = Material(name="stone", conductivity_w_mk=1.0, heat_capacity_j_m3k=2e6)
METAL = Material(name="metal", conductivity_w_mk=40.0, heat_capacity_j_m3k=3e6)


def sine_error(body: Body) -> float:
    """Error against sin(2 pi x) sin(pi y) ... / conductivity, held at zero all round.

    The first factor is zero at x = 1/2, where the conductivity may jump: temperature and heat flow then stay
    continuous there.
    """
    axes = len(body.shape)
    centres = np.meshgrid(*(0.5 * (e[1:] + e[:-1]) for e in body.edges_m), indexing="ij")
    exact = np.sin(2.0 * np.pi * centres[0])
    for coordinate in centres[1:]:
        exact = exact * np.sin(np.pi * coordinate)
    body.heat_w_m3 = (4.0 + axes - 1.0) * np.pi**2 * exact
    for axis in range(axes):
        body.expose(axis, "low", "ice")
        body.expose(axis, "high", "ice")
    conductivity = np.array([f.conductivity_w_mk for f in body.fillings])[body.filling]
    found = steady(body, {"ice": 0.0}).at({"ice": 0.0})
    return float(np.sqrt(np.mean((found.cells_degc - exact / conductivity) ** 2)))


@pytest.mark.parametrize("axes", [1, 2, 3])
@pytest.mark.parametrize("beyond", [STONE, METAL])
def test_second_order_in_space_on_a_graded_grid(axes, beyond):
    """Manufactured solution, smooth and across a jump of conductivity: halving quarters the error."""
    body = Body(*[graded_edges_m([0.0, 0.5, 1.0], 0.05, 1.3)] * axes)
    body.paint([None] * axes, STONE)
    body.paint([(0.5, 1.0), *[None] * (axes - 1)], beyond)
    assert sine_error(body) / sine_error(body.refined()) == approx(4.0, abs=0.4)


def test_one_two_and_three_dimensions_agree_on_a_plane_wall():
    """A wall without anything across it is one-dimensional: R by hand 0.13 + 0.2 / 1 + 0.1 / 40 + 0.04."""
    for axes in (1, 2, 3):
        body = Body(np.linspace(0.0, 0.3, 31), *[np.linspace(0.0, 1.0, 4 + axes)] * (axes - 1))
        body.paint([None] * axes, STONE)
        body.paint([(0.2, 0.3), *[None] * (axes - 1)], METAL)
        body.expose(0, "low", "inside")
        body.expose(-axes, "high", "outside")
        solution = steady(body, {"inside": 0.13, "outside": 0.04})
        assert solution.coupling_w_k("inside", "outside") == approx(1.0 / 0.3725, rel=1e-9)


def wall(conductivity_low: float = 1.0) -> Body:
    body = Body(graded_edges_m([0.0, 0.1, 0.2], 0.01), np.linspace(0.0, 1.0, 11))
    body.paint([None, None], STONE)
    body.paint([(0.0, 0.1), None], Material(name="inner", conductivity_w_mk=conductivity_low))
    body.expose(0, "low", "inside")
    body.expose(0, "high", "outside")
    return body


def test_film_may_vary_along_the_surface():
    """Two strips parted by a slit, each behind its own film: resistances in series by hand."""
    film = {"inside": lambda centres_m: np.where(centres_m[:, 1] < 0.5, 0.13, 0.25), "outside": 0.04}
    strips = Body(np.linspace(0.0, 0.2, 11), [0.0, 0.5, 0.5001, 1.0])
    strips.paint([None, None], STONE)
    strips.paint([None, (0.5, 0.5001)], "gap")
    strips.expose(0, "low", "inside")
    strips.expose(0, "high", "outside")
    field = steady(strips, film | {"gap": 100.0}).at({"inside": 20.0, "outside": 0.0, "gap": 10.0})
    by_hand = [20.0 * (1.0 - 0.13 / 0.37), 20.0 * (1.0 - 0.25 / 0.49)]
    assert field.surface("inside").temperature_degc == approx(by_hand, abs=0.01)
    by_face = steady(strips, film | {"gap": 100.0, "inside": [0.13, 0.25]})
    assert by_face.coupling_w_k("inside", "outside") == approx(0.5 / 0.37 + 0.4999 / 0.49, rel=1e-3)


def test_temperature_is_read_from_within_a_material_or_a_surface():
    field = steady(wall(0.1), {"inside": 0.13, "outside": 0.04}).at({"inside": 20.0, "outside": 0.0})
    at_joint = [field.temperature_degc((0.1, 0.5), name) for name in (None, "stone", "inner")]
    assert at_joint == approx([20.0 * 0.14 / 1.27] * 3)
    assert field.temperature_degc((0.0, 0.33), "inside") == approx(20.0 * 1.14 / 1.27)
    assert np.isnan(field.temperature_degc([(0.1, 0.5), (np.nan, 0.5), (3.0, 0.5)], "inside")).all()
    assert np.isnan(field.temperature_degc((0.05, 0.5), "stone"))


def test_held_surface_reads_as_it_is_held():
    """Between unequal cells too, where the heat flows sideways."""
    body = Body(graded_edges_m([0.0, 0.2, 1.0], 0.01, 1.5), np.linspace(0.0, 0.2, 11))
    body.paint([None, None], STONE)
    body.heat([(0.0, 0.2), None], 1000.0)
    body.expose(1, "low", "ice")
    field = steady(body, {"ice": 0.0}).at({"ice": 0.0})
    along = [(x, 0.0) for x in body.edges_m[0]]
    assert field.temperature_degc(along, "ice") == approx(np.zeros(len(along)), abs=1e-9)
    assert field.cells_degc.max() > 10.0


def test_surface_says_where_it_looks():
    surface = steady(wall(), {"inside": 0.13, "outside": 0.04}).at({"inside": 20.0, "outside": 0.0})
    inside, outside = surface.surface("inside"), surface.surface("outside")
    assert set(inside.normal_axis) == {0}
    assert (set(inside.normal_sign), set(outside.normal_sign)) == ({-1}, {1})
    assert inside.area_m2.sum() == approx(1.0)
    assert inside.heat_flux_w_m2 == approx(-outside.heat_flux_w_m2)


def test_refinement_change_of_a_corner():
    """Halving the cells of a corner changes little, and less on a finer grid."""

    def corner(finest_m: float) -> Body:
        body = Body(*[graded_edges_m([0.0, 0.3, 1.3], finest_m)] * 2)
        body.paint([None, None], STONE)
        body.paint([(0.3, 1.3), (0.3, 1.3)], "room")
        body.expose(0, "low", "outside")
        body.expose(1, "low", "outside")
        return body

    films, temperatures = {"room": 0.25, "outside": 0.04}, {"room": 20.0, "outside": -5.0}
    coarse, fine = (refinement_change(corner(width), films, temperatures) for width in (0.1, 0.02))
    assert fine.heat_flow < coarse.heat_flow < 0.01
    assert fine.lowest_surface_k < coarse.lowest_surface_k < 0.3


def test_swing_in_three_dimensions_is_that_of_the_wall():
    """Iterated in three dimensions, solved directly in one."""
    swings = []
    for sides in ([], [np.linspace(0.0, 1.0, 15)] * 2):
        body = Body(np.linspace(0.0, 0.2, 31), *sides)
        body.paint([None] * (1 + len(sides)), STONE)
        body.expose(0, "low", "inside")
        body.expose(0, "high", "outside")
        swing = periodic_response(steady(body, {"inside": 0.13, "outside": 0.04}), "outside", 86_400.0)
        swings.append(swing.surface_response("inside"))
    assert swings[1] == approx(np.full(14 * 14, swings[0][0]), abs=1e-8)


def test_iteration_that_does_not_converge_is_refused(monkeypatch):
    body = Body(*[np.linspace(0.0, 1.0, 18)] * 3)
    body.paint([None] * 3, STONE)
    body.expose(0, "low", "inside")
    body.expose(0, "high", "outside")
    monkeypatch.setattr(solver, "_ITERATIONS", 2)
    with pytest.raises(NotConverged, match="within 2 iterations"):
        steady(body, {"inside": 0.1, "outside": 0.1})


def test_grid_keeps_its_promises():
    """Breakpoints are edges, the first cells are no wider than asked, neighbours grow no faster."""
    edges_m = graded_edges_m([0.0, 0.1, 0.5], [0.001, 0.002, 0.05], 1.4, coarsest_m=0.06)
    widths_m = np.diff(edges_m)
    assert {0.0, 0.1, 0.5} <= set(edges_m)
    assert widths_m[0] <= 0.001
    assert widths_m[np.searchsorted(edges_m, 0.1)] <= 0.002
    assert widths_m.max() <= 0.06
    ratio = widths_m[1:] / widths_m[:-1]
    inner = np.abs(edges_m[1:-1] - 0.1) > 1e-9
    assert np.all(np.maximum(ratio, 1.0 / ratio)[inner] < 1.4 + 1e-9)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([0.0], 0.1), "two or more increasing"),
        (([0.0, 1.0, 1.0], 0.1), "two or more increasing"),
        (([0.0, 1.0], 0.1, 7.0), "growth = 7 is outside 1 to 5"),
        (([0.0, 1.0], -0.1), "finest_m = -0.1 is outside"),
    ],
)
def test_grid_refuses(arguments, message):
    with pytest.raises(OutOfDomain, match=message):
        graded_edges_m(*arguments)


def test_body_refuses_bad_edges():
    with pytest.raises(OutOfDomain, match="one to three axes, not 0"):
        Body()
    with pytest.raises(OutOfDomain, match="increasing positions for every axis"):
        Body([0.0, 1.0], [1.0, 0.0])


@pytest.mark.parametrize(
    ("region", "message"),
    [
        ([(0.0, 0.033), None], "box side at 0.033 m runs through cells of axis 0"),
        ([(0.2, 0.1), None], "from its lower to its upper side, not 0.2 to 0.1 m"),
        ([None], "has 2 pairs of sides, not 1"),
        (np.ones((3, 3), dtype=bool), "bool of shape"),
    ],
)
def test_paint_refuses(region, message):
    with pytest.raises(IllPosed, match=message):
        wall().paint(region, STONE)


def test_region_may_be_an_array_and_reach_beyond_the_grid():
    body = Body(np.linspace(0.0, 1.0, 11), np.linspace(0.0, 1.0, 11))
    body.paint([(-5.0, 5.0), (0.5, 9.0)], STONE)
    x, y = np.meshgrid(np.arange(10), np.arange(10), indexing="ij")
    body.paint((x - 4.5) ** 2 + (y - 4.5) ** 2 < 9.0, "pipe")
    assert np.count_nonzero(body.filling >= 0) == 50 + np.count_nonzero(body.filling[:, :5] >= 0)
    assert body.fillings == [STONE, "pipe"]


def test_material_refuses_what_no_solid_has():
    with pytest.raises(OutOfDomain, match="conductivity_w_mk = -1"):
        Material(name="odd", conductivity_w_mk=-1.0)


def test_body_without_an_answer_is_refused():
    empty = Body([0.0, 1.0])
    with pytest.raises(IllPosed, match="no solid"):
        steady(empty, {})
    loose = Body(np.linspace(0.0, 1.0, 6))
    loose.paint([(0.0, 0.2)], STONE)
    loose.paint([(0.6, 1.0)], STONE)
    loose.expose(0, "low", "room")
    with pytest.raises(IllPosed, match="1 of 2 solid pieces face no environment"):
        steady(loose, {"room": 0.1})


def test_films_and_names_must_fit_the_body():
    with pytest.raises(IllPosed, match=r"films are given for inside, the body faces"):
        steady(wall(), {"inside": 0.1})
    with pytest.raises(IllPosed, match="one for each of its 10 faces"):
        steady(wall(), {"inside": [0.1, 0.2], "outside": 0.1})
    with pytest.raises(OutOfDomain, match=r"film of inside = -0\.1"):
        steady(wall(), {"inside": -0.1, "outside": 0.1})
    solution = steady(wall(), {"inside": 0.13, "outside": 0.04})
    with pytest.raises(IllPosed, match="give a temperature for each of inside, outside"):
        solution.at({"inside": 20.0})
    with pytest.raises(IllPosed, match="no environment 'attic'"):
        solution.coupling_w_k("inside", "attic")
    field = solution.at({"inside": 20.0, "outside": 0.0})
    with pytest.raises(IllPosed, match="nothing in this body is called 'brass'; there are inner, inside"):
        field.temperature_degc((0.1, 0.1), "brass")
    with pytest.raises(IllPosed, match="have 2 coordinates"):
        field.temperature_degc((0.1, 0.1, 0.1))
