"""Solution of the balance equations, prepared once for many right-hand sides."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from thermalkit.language import say
from thermalkit.physics.conduction.errors import NotConverged
from thermalkit.physics.conduction.multigrid import multigrid
from thermalkit.physics.conduction.network import Network
from thermalkit.physics.domain import FloatArray

Solver = Callable[[FloatArray], FloatArray]

# The matrix is symmetric and its diagonal dominates: no pivoting, and an ordering made for that.
_SYMMETRIC: dict[str, Any] = {
    "permc_spec": "MMD_AT_PLUS_A",
    "diag_pivot_thresh": 0.0,
    "options": {"SymmetricMode": True},
}
_DIRECT_UP_TO = 4000
_TOLERANCE = 1e-10
_ITERATIONS = 400


def solver(network: Network, ground_w_k: FloatArray) -> Solver:
    """Solver of (inner conductances + ground) x = load: direct, or iterative in three dimensions.

    Parameters
    ----------
    network : Network
    ground_w_k : ndarray, shape (solids,)
        What leaves each cell per kelvin of its own, to environments or into storage.

    Raises
    ------
    NotConverged
        When called: the relative residual stayed above 1e-10.
    """
    from scipy.sparse import csr_array, diags_array
    from scipy.sparse.linalg import LinearOperator, cg, splu

    matrix = csr_array(network.inner_w_k + diags_array(ground_w_k))
    if _is_small(network):
        solve: Solver = splu(matrix.tocsc(), **_SYMMETRIC).solve
        return solve
    cycle: Any = LinearOperator(matrix.shape, matvec=multigrid(network, ground_w_k), dtype=np.float64)

    def iterate(load: FloatArray) -> FloatArray:
        found, failed = cg(matrix, load, rtol=_TOLERANCE, atol=0.0, maxiter=_ITERATIONS, M=cycle)
        _require_converged(failed)
        return found

    return iterate


def complex_solution(
    network: Network, ground_w_k: FloatArray, storage_w_k: FloatArray, load: FloatArray
) -> NDArray[np.complex128]:
    """Solution of (inner conductances + ground + i storage) x = load.

    Preconditioned by the real matrix with ground + storage: all eigenvalues of the quotient then lie between
    1 and i, whatever the grid, the materials and the period.

    Raises
    ------
    NotConverged
        In three dimensions, when the relative residual stays above 1e-10.
    """
    from scipy.sparse import csr_array, diags_array
    from scipy.sparse.linalg import LinearOperator, gmres, splu

    matrix = csr_array(network.inner_w_k + diags_array(ground_w_k + 1j * storage_w_k))
    right = load.astype(np.complex128)
    if _is_small(network):
        return np.asarray(splu(matrix.tocsc(), **_SYMMETRIC).solve(right))
    cycle = multigrid(network, ground_w_k + storage_w_k)
    both: Any = LinearOperator(
        matrix.shape, matvec=lambda x: cycle(x.real) + 1j * cycle(x.imag), dtype=np.complex128
    )
    found, failed = gmres(matrix, right, rtol=_TOLERANCE, restart=40, maxiter=_ITERATIONS // 40, M=both)
    _require_converged(failed)
    return np.asarray(found)


def _is_small(network: Network) -> bool:
    return len(network.edges_m) < 3 or network.source_w.size <= _DIRECT_UP_TO


def _require_converged(failed: int) -> None:
    if failed:
        raise NotConverged(say("physics.not-converged", tolerance=f"{_TOLERANCE:g}", count=_ITERATIONS))
