"""The range in which a formula holds, checked for every caller."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.errors import OutOfDomain
from thermalkit.language import Words, say
from thermalkit.measured import FloatArray as FloatArray


def require_within(name: Words, value: ArrayLike, low: float, high: float) -> FloatArray:
    """`value` as float64, NaN let through (a masked pixel), anything outside refused.

    Raises
    ------
    OutOfDomain
        A value lies outside `low` to `high`; the message names it.

    Examples
    --------
    >>> require_within("relative_humidity", 50.0, 0.01, 1.0)
    Traceback (most recent call last):
    thermalkit.errors.OutOfDomain: relative_humidity = 50 is outside 0.01 to 1
    """
    array = np.asarray(value, dtype=np.float64)
    outside = (array < low) | (array > high)
    if np.any(outside):
        worst = float(array[outside].flat[0]) if array.ndim else float(array)
        raise OutOfDomain(
            say("physics.outside", name=name, value=f"{worst:g}", low=f"{low:g}", high=f"{high:g}")
        )
    return array
