"""Couplings, ψ and χ against ISO 10211 cases and a separate finite-volume program."""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.conduction import Body, Material, graded_edges_m
from thermalkit.physics.detail import Box, drawn, solid
from thermalkit.physics.thermal_bridge import (
    NotProven,
    Proof,
    linear_transmittance_w_mk,
    point_transmittance_w_k,
    proven,
    require_proof,
)

approx = pytest.approx
CLIMATE = {"inside": 20.0, "outside": -5.0}


def corner(finest_m):
    """Homogeneous external corner, 365 mm of 0.5 W/(m K), inner legs of 1.5 m."""
    edges = graded_edges_m([0.0, 0.365, 1.865], finest_m, 1.5)
    body = Body(edges, edges)
    body.paint([None, None], Material(name="masonry", conductivity_w_mk=0.5))
    body.paint([(0.365, 1.865), (0.365, 1.865)], "inside")
    body.expose(0, "low", "outside")
    body.expose(1, "low", "outside")
    return body


def test_homogeneous_corner():
    """Separate finite-volume program (no publication): ψ 0.139, f 0.603, 77.012 W/m."""
    found = proven(corner(0.01), {"inside": 0.25, "outside": 0.04}, CLIMATE)
    coupling = found.solution.coupling_w_k("inside", "outside")
    u = 1.0 / (0.25 + 0.73 + 0.04)
    inner, outer = linear_transmittance_w_mk(coupling, [u, u], [[1.5, 1.5], [1.865, 1.865]])
    coldest = found.solution.at(CLIMATE).lowest_surface("inside")
    assert 25.0 * coupling == approx(77.012, abs=0.3)
    assert inner == approx(0.139, abs=0.002)
    assert outer == approx(0.139 - 2 * 0.365 * u, abs=0.002)  # by definition
    assert (coldest.temperature_degc + 5.0) / 25.0 == approx(0.603, abs=0.002)
    assert coldest.point_m == approx([0.365, 0.365])


def case_2_boxes():
    """ISO 10211 case 2 in mm (read in a publication), with a strip of air on either side."""
    rows = [
        ("insulation", 0.029, (0, 500), (0, 47.5)),
        ("concrete", 1.15, (0, 500), (41.5, 47.5)),
        ("wood", 0.12, (0, 15), (36.5, 41.5)),
        ("aluminium", 230.0, (0, 15), (35, 36.5)),
        ("aluminium", 230.0, (0, 1.5), (1.5, 35)),
        ("aluminium", 230.0, (0, 500), (0, 1.5)),
    ]
    air = [Box((0, 500), (-10, 0), "inside"), Box((0, 500), (47.5, 57.5), "outside")]
    return [*air, *(Box(x, y, solid(name, conductivity)) for name, conductivity, x, y in rows)]


def test_case_2_drawn_from_boxes():
    """ISO 10211 case 2: 9.5 W/m at 20 K; 0.03 W/m from the converged 9.488 of a separate program."""
    found = proven(drawn(case_2_boxes(), 0.3), {"inside": 0.11, "outside": 0.06}, CLIMATE)
    flow = 20.0 * found.solution.coupling_w_k("inside", "outside")
    assert flow == approx(9.5, abs=0.1)
    assert flow == approx(9.488, abs=0.03)
    assert found.proof.failures == ()


def case_3(finest_m):
    """ISO 10211 case 3 (read): corner of two walls, a balcony slab, rooms alpha below and beta above."""
    at_cut = 20 * finest_m
    body = Body(
        graded_edges_m([-0.1, 0, 0.05, 0.2, 1.2], [*[finest_m] * 4, at_cut], 1.8),
        graded_edges_m([-0.7, -0.1, 0, 0.05, 0.2, 1.2], [at_cut, *[finest_m] * 4, at_cut], 1.8),
        graded_edges_m([0, 1, 1.15, 1.2, 2.15], [at_cut, *[finest_m] * 3, at_cut], 1.8),
    )
    body.paint([None, None, None], "gamma")
    body.paint([(0.2, 1.2), (0.2, 1.2), (0, 1)], "alpha")
    body.paint([(0.2, 1.2), (0.2, 1.2), (1.2, 2.15)], "beta")
    for name, conductivity, low, high in [
        ("skin", 1.0, -0.1, 0),
        ("wool", 0.04, 0, 0.05),
        ("leaf", 0.7, 0.05, 0.2),
    ]:
        leaf = Material(name=name, conductivity_w_mk=conductivity)
        body.paint([(low, high), (low, 1.2), None], leaf)
        body.paint([(low, 1.2), (low, high), None], leaf)
    body.paint([(0.2, 1.2), (0.2, 1.2), (1.15, 1.2)], Material(name="screed", conductivity_w_mk=1.0))
    body.paint([(0.05, 1.2), (-0.7, 1.2), (1, 1.15)], Material(name="slab", conductivity_w_mk=2.5))
    body.expose(0, "low", "gamma")
    body.expose(1, "low", "gamma")
    return body


@pytest.mark.slow
def test_case_3_couplings_carry_their_proof():
    """ISO 10211 case 3 (from memory, agree with the printed flows): 2.094, 1.781, 1.624 W/K within 1 %."""
    climate = {"alpha": 20.0, "beta": 15.0, "gamma": 0.0}
    found = proven(case_3(0.02), {"alpha": 0.2, "beta": 0.2, "gamma": 0.05}, climate)
    pairs = [("alpha", "beta"), ("alpha", "gamma"), ("beta", "gamma")]
    couplings = [found.solution.coupling_w_k(*pair) for pair in pairs]
    assert couplings == approx([2.094, 1.781, 1.624], rel=0.01)


def test_point_transmittance_of_case_4():
    """ISO 10211 case 4 (read): 0.540 W through a square metre of U 1/2.2 at 1 K, by hand 0.0855 W/K."""
    assert point_transmittance_w_k(0.540, [1 / 2.2], [1.0]) == approx(0.0855, abs=0.0001)


def test_point_transmittance_leaves_lines_out():
    """By hand: 5 - 0.3·10 - 0.1·4 = 1.6."""
    assert point_transmittance_w_k(5.0, [0.3], [10.0], [0.1], [4.0]) == approx(1.6)


def test_a_coarse_grid_is_refused():
    """Two cells through the wall, and the criteria on subdivisions are named."""
    with pytest.raises(NotProven, match=r"halving the cells changes f_Rsi by 0\.\d+, allowed 0\.005"):
        proven(corner(0.3), {"inside": 0.25, "outside": 0.04}, CLIMATE)


@pytest.mark.parametrize(
    ("proof", "words"),
    [
        (Proof(imbalance=2e-4, flow_change=0.0, factor_change=0.0), "remainder of 0.0002, allowed 0.0001"),
        (Proof(imbalance=0.0, flow_change=0.02, factor_change=0.0), "heat flow by 0.02, allowed 0.01"),
        (Proof(imbalance=0.0, flow_change=0.0, factor_change=np.nan), "f_Rsi by nan"),
    ],
)
def test_each_criterion_counts(proof, words):
    """Limits of ISO 10211, from memory; what is not a number proves nothing."""
    with pytest.raises(NotProven, match=words):
        require_proof(proof)


def test_numbers_outside_their_range_are_named():
    with pytest.raises(OutOfDomain, match="lengths_m = -1"):
        linear_transmittance_w_mk(1.0, [1.0], [-1.0])
    with pytest.raises(OutOfDomain, match="areas_m2 = -1"):
        point_transmittance_w_k(1.0, [1.0], [-1.0])
