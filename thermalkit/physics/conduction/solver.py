"""Solution of the balance equations, prepared once for many right-hand sides."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from thermalkit.physics.conduction.errors import NotConverged
from thermalkit.physics.domain import FloatArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Solver = Callable[[FloatArray], FloatArray]

# The matrix is symmetric and its diagonal dominates: no pivoting, and an ordering made for that.
_SYMMETRIC: dict[str, Any] = {
    "permc_spec": "MMD_AT_PLUS_A",
    "diag_pivot_thresh": 0.0,
    "options": {"SymmetricMode": True},
}
_DIRECT_UP_TO = 4000
_TOLERANCE = 1e-10
_ITERATIONS = 200


def solver(matrix: csr_array, dimensions: int) -> Solver:
    """Direct in one and two dimensions, multigrid with conjugate gradients in three.

    Raises
    ------
    NotConverged
        When called: the relative residual stayed above 1e-10.
    """
    if dimensions < 3 or matrix.shape[0] <= _DIRECT_UP_TO:
        return _direct(matrix)
    return _iterative(matrix)


def _direct(matrix: csr_array) -> Solver:
    from scipy.sparse.linalg import splu

    factors = splu(matrix.tocsc(), **_SYMMETRIC)
    solve: Solver = factors.solve
    return solve


def _iterative(matrix: csr_array) -> Solver:
    cycle = _multigrid(matrix)
    return lambda rhs: conjugate_gradients(matrix, rhs, cycle)


def _multigrid(matrix: csr_array) -> Any:
    """One multigrid cycle as a preconditioner; coarse cells are picked by the strength of the couplings."""
    import pyamg

    return pyamg.ruge_stuben_solver(matrix).aspreconditioner()


def conjugate_gradients(matrix: csr_array, rhs: FloatArray, preconditioner: Any) -> FloatArray:
    """Preconditioned conjugate gradients to a relative residual of 1e-10."""
    from scipy.sparse.linalg import cg

    solution, failed = cg(matrix, rhs, rtol=_TOLERANCE, atol=0.0, maxiter=_ITERATIONS, M=preconditioner)
    _require_converged(failed)
    return solution


def complex_solve(
    matrix: csr_array, storage: FloatArray, rhs: FloatArray, dimensions: int
) -> NDArray[np.complex128]:
    """Solution of (matrix + i storage) x = rhs, storage being diagonal.

    Raises
    ------
    NotConverged
        In three dimensions, when the relative residual stays above 1e-10.
    """
    from scipy.sparse import csr_array, diags_array
    from scipy.sparse.linalg import splu

    combined = csr_array(matrix + diags_array(1j * storage))
    if dimensions < 3 or rhs.size <= _DIRECT_UP_TO:
        return np.asarray(splu(combined.tocsc(), **_SYMMETRIC).solve(rhs.astype(np.complex128)))
    return _complex_iterative(combined, csr_array(matrix + diags_array(storage)), rhs)


def _complex_iterative(combined: csr_array, sized: csr_array, rhs: FloatArray) -> NDArray[np.complex128]:
    """Generalised minimal residuals; the real matrix with storage added is never far from the complex one.

    All eigenvalues of the quotient lie between 1 and i, whatever the grid, the materials and the period.
    """
    from scipy.sparse.linalg import LinearOperator, gmres

    cycle = _multigrid(sized)
    both: Any = LinearOperator(
        combined.shape, matvec=lambda x: cycle @ x.real + 1j * (cycle @ x.imag), dtype=np.complex128
    )
    answer, failed = gmres(
        combined, rhs.astype(np.complex128), rtol=_TOLERANCE, restart=40, maxiter=_ITERATIONS // 40, M=both
    )
    _require_converged(failed)
    return np.asarray(answer)


def _require_converged(failed: int) -> None:
    if failed:
        raise NotConverged(
            f"the heat balance did not close to {_TOLERANCE:g} within {_ITERATIONS} iterations; "
            "look for extreme conductivities or cells far thinner than their neighbours"
        )
