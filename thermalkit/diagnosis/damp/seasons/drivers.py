"""What may wet a place, hour by hour, and in how many events: driving rain, hot water, cold outdoors."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray

_DRY_BETWEEN_H = 12  # own choice: less apart is one spell of rain
_LEAST_RAIN = 1.0  # own choice: a spell counts from here, in mm or as much driving rain
_HOT_ABOVE_K = 5.0  # own choice: a pipe this far above its coldest hour of the day is in use
_MOSTLY_COLD = 1.0 / 3.0  # own choice: a pipe that is hot longer is one of the heating
_DAY_H = 24
_BEARINGS_DEG = {name: 45.0 * i for i, name in enumerate(("N", "NE", "E", "SE", "S", "SW", "W", "NW"))}


def driving_rain(
    rain_mm: FloatArray, wind_m_s: FloatArray, wind_from_deg: FloatArray, faces: str | None
) -> FloatArray:
    """Rain that wind drives onto a wall, shape (hours,); as far as wind and orientation are known.

    Parameters
    ----------
    rain_mm, wind_m_s, wind_from_deg : ndarray of shape (hours,)
        NaN where not logged: without wind the rain itself, without direction or orientation wind from
        anywhere.
    faces : str or None
        Point of the compass, such as SW.

    Source
    ------
    ISO 15927-3, airfield index, from memory: (2/9) v r^(8/9) cos(D - θ).

    Examples
    --------
    >>> import numpy as np
    >>> rain, wind = np.array([2.0, 2.0]), np.array([6.0, 6.0])
    >>> driving_rain(rain, wind, np.array([270.0, 90.0]), "W").round(2)
    array([2.47, 0.  ])
    """
    if not np.isfinite(wind_m_s).any():
        return rain_mm
    driven = 2.0 / 9.0 * wind_m_s * rain_mm ** (8.0 / 9.0)
    if faces is None or not np.isfinite(wind_from_deg).any():
        return np.where(rain_mm == 0.0, 0.0, driven)
    onto = np.maximum(np.cos(np.radians(wind_from_deg - _BEARINGS_DEG[faces])), 0.0)
    return np.where(rain_mm == 0.0, 0.0, driven * onto)


def rain_spells(rain: FloatArray) -> int:
    """Spells of rain with half a day between them."""
    return sum(
        float(np.nansum(rain[part])) >= _LEAST_RAIN
        for part in _spells(np.nan_to_num(rain) > 0.0, _DRY_BETWEEN_H)
    )


def hot_water(pipe_degc: FloatArray) -> FloatArray:
    """How far a pipe lies above its coldest hour of the day around, in K, shape (hours,); 0 unless in use.

    A pipe that is hot for more than a third of the time is no tap's: it counts as never in use.
    """
    import pandas as pd

    coldest = pd.Series(pipe_degc).rolling(_DAY_H + 1, center=True, min_periods=1).min().to_numpy()
    above_k = pipe_degc - coldest
    in_use = above_k >= _HOT_ABOVE_K
    is_tap = np.count_nonzero(in_use) <= _MOSTLY_COLD * np.count_nonzero(np.isfinite(pipe_degc))
    return np.where(np.isfinite(above_k), np.where(in_use & is_tap, above_k, 0.0), np.nan)


def uses(hot_k: FloatArray) -> int:
    """Times hot water was used."""
    return len(_spells(np.nan_to_num(hot_k) > 0.0, 1))


def cold_spells(outdoor_degc: FloatArray) -> int:
    """Times that the mean of a day fell below that of the record."""
    import pandas as pd

    daily = pd.Series(outdoor_degc).rolling(_DAY_H, min_periods=_DAY_H // 2).mean().to_numpy()
    return len(_spells(daily < np.nanmean(outdoor_degc), _DAY_H)) if np.isfinite(daily).any() else 0


def _spells(during: NDArray[np.bool_], apart_h: int) -> list[NDArray[np.intp]]:
    """Hours of each spell; breaks shorter than `apart_h` do not part it."""
    at = np.flatnonzero(during)
    return [part for part in np.split(at, np.flatnonzero(np.diff(at) > apart_h) + 1) if part.size]
