"""Air indoors and outdoors as draws: what the surface is compared with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import (
    saturation_temperature_degc,
    vapour_pressure_over_water_pa,
    vapour_pressure_pa,
)

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.site.model import InstrumentKeys, RoomKeys
    from thermalkit.site.survey import SurveyFrame

HOURS_A_DAY = 24.0
UNSTEADY_BELOW_H = 12.0
OUTDOORS = "outdoors"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomAir:
    """Draws of a room's air, shape (draws,): °C, fraction, Pa; None where it was not read."""

    temperature_degc: FloatArray
    relative_humidity: FloatArray | None
    vapour_pressure_pa: FloatArray | None


def half_width(case: Case, instrument: InstrumentKeys | None, assumed: str, reading: float) -> float:
    """Accuracy of an instrument at a reading, in K; the assumed one where none is written down."""
    accuracies = [] if instrument is None else _accuracies(instrument, reading)
    return max(accuracies) if accuracies else case.assumed(assumed).half_width


def humidity_half_width(case: Case, instrument: InstrumentKeys | None) -> float:
    """Accuracy of a hygrometer in % of relative humidity; the assumed one where none is written down."""
    stated = instrument.accuracy_percent_rh if instrument is not None else None
    return case.assumed("relative-humidity-accuracy").half_width if stated is None else stated


def room_air(case: Case, room: RoomKeys | None) -> RoomAir | None:
    """Air of a room during the visit; None where its temperature was not read.

    Errors belong to the instrument: two rooms read with the same one share them.
    """
    if room is None or room.air_temperature_degc is None:
        return None
    read = room.air_temperature_degc
    meter, name = _instrument(case, room.instrument)
    accuracy_k = half_width(case, meter, "air-temperature-accuracy", read)
    temperature = read + case.draws.rectangular(f"air-temperature-accuracy {name}", accuracy_k)
    if room.relative_humidity_percent is None:
        return RoomAir(temperature_degc=temperature, relative_humidity=None, vapour_pressure_pa=None)
    humidity = _humidity_draws(case, room.relative_humidity_percent, room.instrument)
    pressure = vapour_pressure_pa(temperature, humidity)
    return RoomAir(temperature_degc=temperature, relative_humidity=humidity, vapour_pressure_pa=pressure)


def is_inner(frame: SurveyFrame) -> bool:
    """Whether something else than outdoors lies behind the surface of a frame."""
    return frame.keys.far_side != OUTDOORS


def indoor_degc(case: Case, air: RoomAir) -> FloatArray:
    """Indoor temperature that the wall has settled to, shape (draws,).

    The air's, wider where heating or cooling changed within half a day.
    """
    steady = case.site.keys.weather.hours_steady
    if steady is None or steady >= UNSTEADY_BELOW_H:
        return air.temperature_degc
    return air.temperature_degc + _assumed_draws(case, "indoor-unsteady", "visit")


def outdoor_degc(case: Case, frame: SurveyFrame) -> FloatArray | None:
    """Outdoor temperature that the surface in a frame answers to, shape (draws,).

    A wall passes on the daily swing damped by exp(-x) and late by x radians (a semi-infinite solid);
    x is not known from the surface. The mean is that of the last 24 hours where it was written down,
    else the reading at the visit less the swing at that hour.

    Returns
    -------
    ndarray or None
        None where no outdoor temperature was written down, or the far side of the surface is not outdoors.

    Source
    ------
    Periodic conduction in a semi-infinite solid (Carslaw and Jaeger, Conduction of Heat in Solids, 2.6).
    """
    if is_inner(frame):
        return None
    weather = case.site.keys.weather
    now, mean = weather.air_temperature_degc, weather.mean_24h_air_temperature_degc
    if now is None and mean is None:
        return None
    meter, name = _instrument(case, weather.instrument)
    read = mean if mean is not None else now
    accuracy_k = half_width(case, meter, "outdoor-air-accuracy", read if read is not None else 0.0)
    error = case.draws.rectangular(f"outdoor-air-accuracy {name}", accuracy_k)
    swing_k, phase = _daily_swing(case, frame)
    lag = _assumed_draws(case, "wall-lag", frame.keys.id)
    passed_on_k = swing_k * np.exp(-lag) * np.cos(phase - lag)
    if mean is not None:
        return mean + error + passed_on_k
    return np.asarray(now, dtype=np.float64) + error - swing_k * np.cos(phase) + passed_on_k


def outdoor_humidity(case: Case) -> FloatArray | None:
    """Humidity outdoors during the visit as a fraction, shape (draws,); None where it was not read."""
    weather = case.site.keys.weather
    if weather.relative_humidity_percent is None:
        return None
    return _humidity_draws(case, weather.relative_humidity_percent, weather.instrument)


def outdoor_vapour_pa(case: Case) -> FloatArray | None:
    """Vapour pressure outdoors during the visit, shape (draws,); None where it was not read."""
    weather = case.site.keys.weather
    read = weather.air_temperature_degc
    if read is None or weather.relative_humidity_percent is None:
        return None
    meter, name = _instrument(case, weather.instrument)
    accuracy_k = half_width(case, meter, "outdoor-air-accuracy", read)
    air = read + case.draws.rectangular(f"outdoor-air-accuracy {name}", accuracy_k)
    humidity = _humidity_draws(case, weather.relative_humidity_percent, weather.instrument)
    return vapour_pressure_over_water_pa(air, humidity)


def outdoor_dew_point_degc(case: Case) -> FloatArray | None:
    """Dew point outdoors during the visit, shape (draws,); None where it was not read."""
    pressure = outdoor_vapour_pa(case)
    return None if pressure is None else saturation_temperature_degc(pressure)


def _humidity_draws(case: Case, read_percent: float, instrument: str | None) -> FloatArray:
    meter, name = _instrument(case, instrument)
    width = humidity_half_width(case, meter)
    error = case.draws.rectangular(f"relative-humidity-accuracy {name}", width)
    return np.clip((read_percent + error) / 100.0, 0.01, 1.0)


def _daily_swing(case: Case, frame: SurveyFrame) -> tuple[FloatArray, FloatArray]:
    """Half the difference of day and night outdoors in K, and how far the day is past its warmest hour."""
    sky = case.site.keys.weather.sky
    if sky is None:
        low, high = case.assumed("daily-swing-overcast").low, case.assumed("daily-swing-clear").high
    else:
        low, high = case.assumed(f"daily-swing-{sky}").low, case.assumed(f"daily-swing-{sky}").high
    swing_k = case.draws.between("daily-swing visit", low, high)
    warmest = _assumed_draws(case, "hour-of-warmest", "visit")
    taken = frame.keys.taken_at or case.site.keys.site.surveyed_at
    hour = taken.hour + taken.minute / 60.0
    return swing_k, 2.0 * np.pi * (hour - warmest) / HOURS_A_DAY


def _assumed_draws(case: Case, name: str, detail: str) -> FloatArray:
    row = case.assumed(name)
    return case.draws.between(f"{name} {detail}", row.low, row.high)


def _accuracies(instrument: InstrumentKeys, reading: float) -> list[float]:
    percent = instrument.accuracy_percent
    share = None if percent is None else percent / 100.0 * abs(reading)
    return [value for value in (instrument.accuracy_k, share) if value is not None]


def _instrument(case: Case, name: str | None) -> tuple[InstrumentKeys | None, str]:
    return (case.site.keys.instruments[name], name) if name is not None else (None, "unnamed")
