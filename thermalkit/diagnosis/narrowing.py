"""Which missing thing would narrow a result most."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.memo import kept
from thermalkit.measured import COVERAGE, Draws, FloatArray

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case

_DRAWS = 2000


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
    return narrowings(case, lambda known: {"": result(known)}, inputs)[""]


def narrowings(
    case: Case, results: Callable[[Case], Mapping[str, FloatArray | None]], inputs: tuple[str, ...]
) -> dict[str, list[tuple[str, float]]]:
    """The same for several results that are worked out together, by name.

    Fewer draws than for the results themselves are enough to rank by.
    """
    whole, *known = kept(case, ("known", inputs), lambda: [_knowing(case, name) for name in (None, *inputs)])
    widths = {name: _width(draws) for name, draws in results(whole).items()}
    left = [{name: _width(draws) for name, draws in results(one).items()} for one in known]
    return {
        name: sorted(
            (
                (group, 1.0 - widths_left[name] / width)
                for group, widths_left in zip(inputs, left, strict=True)
            ),
            key=lambda item: -item[1],
        )
        if width
        else []
        for name, width in widths.items()
    }


def _knowing(case: Case, group: str | None) -> Case:
    draws = case.draws
    fewer = Draws(min(_DRAWS, draws.size), group, visit=draws.visit, shared=draws.shared, alike=draws.alike)
    return replace(case, draws=fewer)


def _width(draws: FloatArray | None) -> float:
    if draws is None:
        return 0.0
    tail = (1.0 - COVERAGE) / 2.0
    low, high = np.quantile(draws, [tail, 1.0 - tail])
    return float(high - low)
