"""How much drier, warmer or better insulated a place has to be to stay below a humidity at its surface.

Every argument broadcasts; NaN passes through. Where no amount is enough the answer is infinite.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.measured import FloatArray

_LEAST_FACTOR = 0.01
_LARGEST_FACTOR = 0.99


def ventilation_ratio(excess_pa: ArrayLike, outdoor_pa: ArrayLike, highest_pa: ArrayLike) -> FloatArray:
    """Air change over the present one at which the room stays below a vapour pressure.

    Parameters
    ----------
    excess_pa, outdoor_pa, highest_pa : array_like, broadcastable
        Vapour pressure of the room above outdoors, that of outdoors, and the one not to be exceeded.

    Returns
    -------
    ndarray of float64, broadcast shape
        1 where the present air change is enough, infinite where outdoor air is too moist itself.

    Source
    ------
    Steady moisture balance, excess proportional to 1/n (ISO 13788); the same moisture given off, the
    same room temperature.

    Examples
    --------
    >>> ventilation_ratio(900.0, 300.0, [1300.0, 900.0, 300.0])
    array([1. , 1.5, inf])
    """
    excess, outdoor, highest = (np.asarray(v, dtype=np.float64) for v in (excess_pa, outdoor_pa, highest_pa))
    allowed = highest - outdoor
    needed = excess / np.where(allowed > 0.0, allowed, np.nan)
    ratio = np.where(allowed > 0.0, np.maximum(needed, 1.0), np.inf)
    ratio = np.where(outdoor + excess <= highest, 1.0, ratio)
    return np.asarray(ratio + 0.0 * (excess + allowed), dtype=np.float64)


def extra_warmth_k(
    factor: ArrayLike, indoor_degc: ArrayLike, outdoor_degc: ArrayLike, critical_degc: ArrayLike
) -> FloatArray:
    """Warmer room air, with the same vapour in it, at which a surface reaches a temperature.

    Parameters
    ----------
    factor : array_like, broadcastable
        Temperature factor of the place; below 0.01 taken as that.
    indoor_degc, outdoor_degc, critical_degc : array_like, broadcastable
        Room air, outdoor air and the temperature to be reached.

    Returns
    -------
    ndarray of float64, broadcast shape
        K, 0 where nothing is needed.

    Source
    ------
    Definition of the temperature factor (ISO 13788), solved for the room.

    Examples
    --------
    >>> extra_warmth_k(0.5, 20.0, 0.0, [9.0, 12.0])
    array([0., 4.])
    """
    f = np.maximum(np.asarray(factor, dtype=np.float64), _LEAST_FACTOR)
    outdoor = np.asarray(outdoor_degc, dtype=np.float64)
    needed = outdoor + (np.asarray(critical_degc, dtype=np.float64) - outdoor) / f
    return np.asarray(np.maximum(needed - np.asarray(indoor_degc), 0.0), dtype=np.float64)


def wall_resistance_m2k_w(factor: ArrayLike, film_m2k_w: ArrayLike) -> FloatArray:
    """Resistance between an inner surface and outdoors that a temperature factor stands for.

    Parameters
    ----------
    factor : array_like, broadcastable
        Taken as 0.01 to 0.99.
    film_m2k_w : array_like, broadcastable
        The inner surface resistance it is stated for.

    Source
    ------
    Resistances in series: R + R_se = R_si f/(1-f).

    Examples
    --------
    >>> wall_resistance_m2k_w(0.75, 0.25).round(2)
    np.float64(0.75)
    """
    f = np.clip(np.asarray(factor, dtype=np.float64), _LEAST_FACTOR, _LARGEST_FACTOR)
    return np.asarray(np.asarray(film_m2k_w) * f / (1.0 - f), dtype=np.float64)


def added_resistance_m2k_w(
    factor: ArrayLike, required: ArrayLike, film_m2k_w: ArrayLike, effect: ArrayLike = 1.0
) -> FloatArray:
    """Insulation that lifts a temperature factor to a required one.

    Parameters
    ----------
    factor, required : array_like, broadcastable
        What the place has and needs, both for one film.
    film_m2k_w : array_like, broadcastable
        That film, R_si.
    effect : array_like, broadcastable
        Share of the added resistance that counts at the place; below 1 where heat arrives from the side.

    Returns
    -------
    ndarray of float64, broadcast shape
        m²K/W, 0 where nothing is needed, infinite where the required factor is 1 or more.

    Source
    ------
    Resistances in series; exact for heat flowing straight through.

    Examples
    --------
    >>> added_resistance_m2k_w(0.5, [0.4, 0.75, 1.1], 0.25)
    array([0. , 0.5, inf])
    """
    f, wanted = (np.asarray(v, dtype=np.float64) for v in (factor, required))
    present, needed = (wall_resistance_m2k_w(v, film_m2k_w) for v in (f, wanted))
    added = np.maximum(needed - present, 0.0) / np.asarray(effect)
    return np.asarray(np.where(wanted >= 1.0, np.inf, added), dtype=np.float64)


def factor_with_insulation(
    factor: ArrayLike, added_m2k_w: ArrayLike, film_m2k_w: ArrayLike, effect: ArrayLike = 1.0
) -> FloatArray:
    """Temperature factor of a place once insulation is added; the way back from the function above.

    Parameters
    ----------
    factor, added_m2k_w, film_m2k_w, effect : array_like, broadcastable
        As in `added_resistance_m2k_w`.

    Examples
    --------
    >>> factor_with_insulation(0.5, [0.0, 0.5], 0.25)
    array([0.5 , 0.75])
    """
    whole = wall_resistance_m2k_w(factor, film_m2k_w) + np.asarray(added_m2k_w) * np.asarray(effect)
    return np.asarray(whole / (whole + np.asarray(film_m2k_w)), dtype=np.float64)
