"""Outdoor air at cool surfaces: summer in heavy rooms, and any time in cooled ones.

Where the outdoor dew point lies above the surface, outdoor air brings water instead of taking it away.
"""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.damp.seasons.climate import SHORTEST_H, room_of
from thermalkit.diagnosis.damp.seasons.series import PlaceSeries
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.places import Place
from thermalkit.diagnosis.surroundings import half_width
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import saturation_temperature_degc, vapour_pressure_over_water_pa

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
    room = room_of(case, place.mark.frame)
    mode = (room.climate_mode if room is not None else None) or case.site.keys.site.climate_mode
    weather = case.site.keys.weather
    if mode != "cooling" or weather.air_temperature_degc is None or weather.relative_humidity_percent is None:
        return None
    meter = case.site.keys.instruments[weather.instrument] if weather.instrument else None
    name = weather.instrument or "unnamed"
    read = weather.air_temperature_degc
    width = half_width(case, meter, "outdoor-air-accuracy", read)
    temperature = read + case.draws.rectangular(f"outdoor-air-accuracy {name}", width)
    accuracy = meter.accuracy_percent_rh if meter is not None else None
    if accuracy is None:
        accuracy = case.assumed("relative-humidity-accuracy").half_width
    error = case.draws.rectangular(f"relative-humidity-accuracy {name}", accuracy)
    humidity = np.clip((weather.relative_humidity_percent + error) / 100.0, 0.01, 1.0)
    dew_point = saturation_temperature_degc(vapour_pressure_over_water_pa(temperature, humidity))
    return place.surface_degc - dew_point
