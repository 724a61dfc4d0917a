"""The multigrid cycle against an algebraic multigrid library."""

from __future__ import annotations

import numpy as np
import pyamg
import pytest
from numpy.typing import NDArray
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import LinearOperator, cg

from thermalkit.physics.conduction import Body, Material, graded_edges_m
from thermalkit.physics.conduction.assembly import assemble
from thermalkit.physics.conduction.multigrid import multigrid
from thermalkit.physics.conduction.network import Network
from thermalkit.physics.conduction.solver import solver

approx = pytest.approx

FOAM = Material(name="foam", conductivity_w_mk=0.03)
METAL = Material(name="metal", conductivity_w_mk=230.0)


def metal_in_foam(finest_m: float) -> Network:
    """A sheet of metal with a web and a cavity; conductivities are 8000 apart."""
    body = Body(
        graded_edges_m([0.0, 0.002, 0.02, 0.5], finest_m, 1.5),
        graded_edges_m([0.0, 0.0015, 0.035, 0.05], finest_m, 1.5),
        graded_edges_m([0.0, 0.1, 0.3], 4.0 * finest_m, 1.5),
    )
    body.paint([None, None, None], FOAM)
    body.paint([None, (0.0, 0.0015), None], METAL)
    body.paint([(0.0, 0.002), (0.0, 0.035), (0.0, 0.1)], METAL)
    body.paint([(0.02, 0.5), (0.0015, 0.035), (0.1, 0.3)], "cavity")
    body.expose(1, "low", "inside")
    body.expose(1, "high", "outside")
    return assemble(body, {"inside": 0.1, "outside": 0.04, "cavity": 0.2})


def right_side(network: Network) -> NDArray[np.float64]:
    return network.inflow_w(np.array([float(n == "inside") for n in network.environments]))


def full_matrix(network: Network) -> csr_array:
    return csr_array(network.inner_w_k + diags_array(network.outward_w_k()))


def iterations(network: Network) -> int:
    """Steps of preconditioned conjugate gradients to 1e-10."""
    matrix, steps = full_matrix(network), []
    cycle = LinearOperator(matrix.shape, matvec=multigrid(network, network.outward_w_k()), dtype=np.float64)
    cg(matrix, right_side(network), rtol=1e-10, atol=0.0, M=cycle, callback=lambda _: steps.append(None))
    return len(steps)


def test_solution_is_that_of_an_algebraic_multigrid_library():
    """Reference: pyamg, classical coarsening, as preconditioner of conjugate gradients."""
    network = metal_in_foam(0.001)
    matrix = full_matrix(network)
    reference = pyamg.ruge_stuben_solver(matrix).solve(right_side(network), tol=1e-12, accel="cg")
    found = solver(network, network.outward_w_k())(right_side(network))
    assert found == approx(reference, abs=1e-8)


def test_cycle_is_symmetric():
    """Conjugate gradients need it: exchanging two loads changes nothing beyond single precision."""
    network = metal_in_foam(0.002)
    cycle = multigrid(network, network.outward_w_k())
    one, other = np.random.default_rng(1).normal(size=(2, network.source_w.size))
    assert one @ cycle(other) == approx(other @ cycle(one), rel=1e-4)


def test_steps_hardly_grow_with_the_grid():
    """Six times the cells need at most half as many steps more."""
    coarse, fine = metal_in_foam(0.002), metal_in_foam(0.0004)
    assert fine.source_w.size > 5 * coarse.source_w.size
    assert iterations(fine) <= 1.5 * iterations(coarse)
    assert iterations(fine) < 30


@pytest.mark.parametrize("shape", [(80, 80, 1), (6000, 1, 2)])
def test_grids_thin_along_an_axis(shape):
    body = Body(*(np.linspace(0.0, 1.0, n + 1) for n in shape))
    body.paint([None, None, None], FOAM)
    body.expose(0, "low", "inside")
    body.expose(1, "high", "outside")
    network = assemble(body, {"inside": 0.1, "outside": 0.1})
    found = solver(network, network.outward_w_k())(right_side(network))
    assert full_matrix(network) @ found == approx(right_side(network), abs=1e-9)
