"""A room as found: how much moister than outdoors, from two weeks of loggers or from the visit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.surroundings import half_width, outdoor_degc, room_air
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import vapour_pressure_over_water_pa

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.site.loggers.series import LoggerSeries

_LEAST_SHARE = 0.2  # of the winter's moisture excess, so that a mild visit is not blown up
_NO_EXCESS_FROM_DEGC = 20.0  # ISO 13788, Annex A, from memory
_ROOM_DEGC = 20.0  # where an accuracy in percent of the reading is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomMoisture:
    """A room as found: its air, and by how much vapour pressure it lies above outdoors; shape (draws,).

    `outdoor_degc` is what it was outdoors meanwhile; `from_loggers` tells weeks from one visit.
    """

    indoor_degc: FloatArray
    excess_pa: FloatArray
    outdoor_degc: float
    outdoor_pa: FloatArray
    from_loggers: bool

    def excess_at(self, outdoor_degc: float) -> FloatArray:
        """The same use of the room at another outdoor temperature.

        Source
        ------
        ISO 13788, Annex A, from memory: constant up to 0 °C, falling to nothing at 20 °C.
        """
        here, there = (
            float(np.clip((_NO_EXCESS_FROM_DEGC - v) / _NO_EXCESS_FROM_DEGC, 0.0, 1.0))
            for v in (self.outdoor_degc, outdoor_degc)
        )
        return self.excess_pa * there / max(here, _LEAST_SHARE)


def room_moisture(case: Case, frame_id: str) -> RoomMoisture | None:
    """The room of a frame as found; None where its humidity or the outdoor temperature is not known.

    From loggers of room and outdoors where both ran for two weeks, else from the visit.
    """
    frame = case.site.frames[frame_id]
    logged = _logged(case, frame.keys.room)
    if logged is not None:
        return logged
    air, outdoor = room_air(case, frame.room), outdoor_degc(case, frame)
    if air is None or air.vapour_pressure_pa is None or outdoor is None:
        return None
    return _visited(case, air.temperature_degc, air.vapour_pressure_pa, float(np.median(outdoor)))


def _visited(case: Case, indoor_degc: FloatArray, indoor_pa: FloatArray, outdoor: float) -> RoomMoisture:
    weather = case.site.keys.weather
    now = weather.air_temperature_degc if weather.air_temperature_degc is not None else outdoor
    pressure = outdoor_pa_draws(case, now, _read_outdoor_percent(case))
    row = case.assumed("moisture-of-visit")
    share = case.draws.between("moisture-of-visit visit", row.low, row.high)
    excess = np.maximum(indoor_pa - pressure, 0.0) * share
    return RoomMoisture(
        indoor_degc=indoor_degc,
        excess_pa=excess,
        outdoor_degc=outdoor,
        outdoor_pa=pressure,
        from_loggers=False,
    )


def room_and_outdoor_loggers(case: Case, room: str | None) -> tuple[LoggerSeries, LoggerSeries] | None:
    """A room's logger and one outdoors that both ran for two weeks."""
    from thermalkit.site.loggers.series import is_long_enough

    long_enough = [s for s in case.site.loggers.values() if is_long_enough(s)]
    inside = next((s for s in long_enough if s.keys.place == "room" and s.keys.room == room), None)
    outside = next((s for s in long_enough if s.keys.place == "outdoor"), None)
    return (inside, outside) if room is not None and inside and outside else None


def logger_errors(case: Case, series: LoggerSeries) -> tuple[FloatArray, FloatArray]:
    """Errors of a logger, in K and as a fraction of humidity, each of shape (draws,)."""
    name = series.keys.instrument
    meter = case.site.keys.instruments[name] if name is not None else None
    accuracy_k = half_width(case, meter, "air-temperature-accuracy", _ROOM_DEGC)
    stated = meter.accuracy_percent_rh if meter is not None else None
    accuracy_rh = stated if stated is not None else case.assumed("relative-humidity-accuracy").half_width
    label = name or series.keys.id
    return (
        case.draws.rectangular(f"air-temperature-accuracy {label}", accuracy_k),
        case.draws.rectangular(f"relative-humidity-accuracy {label}", accuracy_rh) / 100.0,
    )


def _logged(case: Case, room: str | None) -> RoomMoisture | None:
    from thermalkit.site.loggers.series import hourly

    pair = room_and_outdoor_loggers(case, room)
    if pair is None:
        return None
    table = hourly(pair[0]).add_suffix("_i").join(hourly(pair[1]).add_suffix("_e"), how="inner")
    table = table.dropna(
        subset=["temperature_degc_i", "relative_humidity_i", "temperature_degc_e", "relative_humidity_e"]
    )
    if table.empty:
        return None
    means = []
    for series, end in zip(pair, ("i", "e"), strict=True):
        theta, phi = (
            table[f"{q}_{end}"].to_numpy(dtype=np.float64) for q in ("temperature_degc", "relative_humidity")
        )
        error_k, error_rh = logger_errors(case, series)
        pressure = float(np.mean(vapour_pressure_over_water_pa(theta, np.clip(phi, 0.01, 1.0))))
        middle, humid = float(np.mean(theta)), float(np.mean(phi))
        about = vapour_pressure_over_water_pa(middle + error_k, np.clip(humid + error_rh, 0.01, 1.0))
        means.append((middle + error_k, pressure * about / vapour_pressure_over_water_pa(middle, humid)))
    (indoor, indoor_pa), (outdoor, outdoor_pa) = means
    return RoomMoisture(
        indoor_degc=indoor,
        excess_pa=np.maximum(indoor_pa - outdoor_pa, 0.0),
        outdoor_degc=float(np.median(outdoor)),
        outdoor_pa=outdoor_pa,
        from_loggers=True,
    )


def outdoor_pa_draws(
    case: Case, outdoor_degc: float, humidity_percent: FloatArray | float | None
) -> FloatArray:
    """Vapour pressure outdoors, shape (draws,); an assumed humidity where none is known."""
    if humidity_percent is None:
        row = case.assumed("outdoor-humidity")
        humidity_percent = case.draws.between("outdoor-humidity season", row.low, row.high)
    humidity = np.full(case.draws.size, humidity_percent) / 100.0
    return vapour_pressure_over_water_pa(outdoor_degc, np.clip(humidity, 0.01, 1.0))


def _read_outdoor_percent(case: Case) -> FloatArray | None:
    """Humidity outdoors as read at the visit, shape (draws,)."""
    weather = case.site.keys.weather
    if weather.relative_humidity_percent is None:
        return None
    meter = case.site.keys.instruments[weather.instrument] if weather.instrument is not None else None
    width = meter.accuracy_percent_rh if meter is not None else None
    if width is None:
        width = case.assumed("relative-humidity-accuracy").half_width
    name = f"relative-humidity-accuracy {weather.instrument or 'unnamed'}"
    return weather.relative_humidity_percent + case.draws.rectangular(name, width)
