"""Outdoor air at cool surfaces: summer in heavy rooms, and any time in cooled ones.

Where the outdoor dew point lies above the surface, outdoor air brings water instead of taking it away.
"""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.damp.seasons.climate import SHORTEST_H, room_of
from thermalkit.diagnosis.damp.seasons.series import PlaceSeries
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.places import Place
from thermalkit.diagnosis.surroundings import outdoor_dew_point_degc
from thermalkit.measured import FloatArray

# Own choices: what warm air outdoors is, and that a day below the outdoor dew point leaves its mark.
SUMMER_FROM_DEGC = 15.0
LONG_WET_H = 24.0


def has_seen_summer(series: PlaceSeries) -> bool:
    """Whether the record holds fourteen days of warm hours; else it tells nothing of summer."""
    warm = series.outdoor_degc[series.known] >= SUMMER_FROM_DEGC
    return bool(np.count_nonzero(warm) >= SHORTEST_H)


def hours_below_outdoor_dew_point(series: PlaceSeries) -> FloatArray | None:
    """Hours with the surface below the outdoor dew point, shape (draws,); None where that is not known."""
    dew_point = series.outdoor_dew_point_degc
    if dew_point is None or not np.isfinite(dew_point[series.known]).any():
        return None
    below = (series.surface_degc < dew_point) & series.known[:, None]
    return np.asarray(np.count_nonzero(below, axis=0), dtype=np.float64)


def leaked_air_margin_k(case: Case, place: Place) -> FloatArray | None:
    """Surface less the outdoor dew point during the visit, shape (draws,); None where not cooled or not read.

    Outdoor air that leaks in behind linings meets the surface as it is, so the surface is held against the
    outdoor dew point; in factors, its outdoor share has to exceed (θ_d,e - θ_i)/(θ_e - θ_i).
    """
    if not case.site.is_cooled(room_of(case, place.mark.frame)):
        return None
    dew_point = outdoor_dew_point_degc(case)
    return None if dew_point is None else place.surface_degc - dew_point
