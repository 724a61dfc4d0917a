"""Degree hours of a year from monthly means: what heat a watt per kelvin stands for.

Means hide warm hours of cold months and cold ones of warm months; results are indicative.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within

HEATED_BELOW_DEGC = 15.0  # common practice: monthly mean outdoors below which a home is heated
HOURS = 24.0 * np.array([31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0])


def heating_degree_hours(indoor_degc: ArrayLike, monthly_degc: ArrayLike) -> tuple[FloatArray, float]:
    """Kelvin hours of the heated months, and their hours.

    Parameters
    ----------
    indoor_degc : array_like, any shape
        Room air, -60 to 100 °C.
    monthly_degc : array_like, shape (12,)
        Monthly means outdoors from January, -60 to 60 °C.

    Returns
    -------
    (ndarray, float)
        K h in the shape of `indoor_degc`, and h.

    Raises
    ------
    OutOfDomain
        Not twelve months, or a temperature outside its range.

    Source
    ------
    Degree days with a heating limit of 15 °C, as customary: common practice.

    Examples
    --------
    >>> warm, hours = heating_degree_hours([20.0], (5.0, *[16.0] * 11))
    >>> float(warm[0]), hours
    (11160.0, 744.0)
    """
    outdoor = _twelve(monthly_degc)
    heated = outdoor < HEATED_BELOW_DEGC
    return _kelvin_hours(_indoor(indoor_degc), outdoor, heated), float(HOURS[heated].sum())


def cooling_degree_hours(indoor_degc: ArrayLike, monthly_degc: ArrayLike) -> FloatArray:
    """Kelvin hours by which the months outdoors are warmer than the room; hot hours of cool months left out.

    Parameters
    ----------
    indoor_degc : array_like, any shape
        Air of the cooled room, -60 to 100 °C.
    monthly_degc : array_like, shape (12,)
        Monthly means outdoors from January, -60 to 60 °C.

    Returns
    -------
    ndarray of float64, same shape
        K h, 0 or more.

    Raises
    ------
    OutOfDomain
        Not twelve months, or a temperature outside its range.

    Examples
    --------
    >>> cooling_degree_hours(24.0, (26.0, *[20.0] * 11))
    array(1488.)
    """
    return _kelvin_hours(-_indoor(indoor_degc), -_twelve(monthly_degc), np.ones(12, dtype=np.bool_))


def _kelvin_hours(indoor: FloatArray, outdoor: FloatArray, counted: NDArray[np.bool_]) -> FloatArray:
    """Sum over the months counted of what the room is warmer, each by its hours."""
    above = np.maximum(indoor[..., None] - outdoor[counted], 0.0)
    return np.asarray(above @ HOURS[counted], dtype=np.float64)


def _indoor(value: ArrayLike) -> FloatArray:
    return require_within("indoor_degc", value, -60.0, 100.0)


def _twelve(monthly_degc: ArrayLike) -> FloatArray:
    outdoor = require_within("monthly_degc", monthly_degc, -60.0, 60.0)
    if outdoor.shape != (12,):
        raise OutOfDomain(say("physics.twelve-months", shape=str(outdoor.shape)))
    return outdoor
