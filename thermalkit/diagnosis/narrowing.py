"""Which missing thing would narrow a result most."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.measured import COVERAGE, FloatArray

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case


def narrowing(
    case: Case, result: Callable[[Case], FloatArray | None], inputs: tuple[str, ...]
) -> list[tuple[str, float]]:
    """Inputs ranked by how much knowing them exactly would narrow a result.

    Parameters
    ----------
    case : Case
        The run so far.
    result : callable
        Draws of the result for a case, or None where it cannot be given.
    inputs : tuple of str
        Groups of input names (the word before the first space of a drawn name).

    Returns
    -------
    list of (str, float)
        Each group with the share of the interval's width that would go, largest first.
    """
    whole = _width(result(case))
    if not whole:
        return []
    shares = []
    for name in inputs:
        known = replace(case, draws=case.draws.knowing(name))
        shares.append((name, 1.0 - _width(result(known)) / whole))
    return sorted(shares, key=lambda item: -item[1])


def _width(draws: FloatArray | None) -> float:
    if draws is None:
        return 0.0
    tail = (1.0 - COVERAGE) / 2.0
    low, high = np.quantile(draws, [tail, 1.0 - tail])
    return float(high - low)
