"""A room as found: how much moister than outdoors, from two weeks of loggers or from the visit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.damp.seasons.excess import Excess, excess_of
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.surroundings import outdoor_degc, outdoor_humidity, room_air
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import vapour_pressure_over_water_pa

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case

_LEAST_SHARE = 0.2  # of the winter's moisture excess, so that a mild visit is not blown up
_NO_EXCESS_FROM_DEGC = 20.0  # ISO 13788, Annex A, from memory


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
    return kept(case, ("room moisture", frame_id), lambda: _room_moisture(case, frame_id))


def _room_moisture(case: Case, frame_id: str) -> RoomMoisture | None:
    frame = case.site.frames[frame_id]
    excess = excess_of(case, frame.room) if frame.room is not None else None
    if excess is not None:
        return _logged(excess)
    air, outdoor = room_air(case, frame.room), outdoor_degc(case, frame)
    if air is None or air.vapour_pressure_pa is None or outdoor is None:
        return None
    return _visited(case, air.temperature_degc, air.vapour_pressure_pa, float(np.median(outdoor)))


def _logged(excess: Excess) -> RoomMoisture:
    return RoomMoisture(
        indoor_degc=excess.indoor_degc,
        excess_pa=np.maximum(excess.mean_pa, 0.0),
        outdoor_degc=excess.mean_outdoor_degc,
        outdoor_pa=excess.outdoor_pa,
        from_loggers=True,
    )


def _visited(case: Case, indoor_degc: FloatArray, indoor_pa: FloatArray, outdoor: float) -> RoomMoisture:
    weather = case.site.keys.weather
    now = weather.air_temperature_degc if weather.air_temperature_degc is not None else outdoor
    read = outdoor_humidity(case)
    pressure = outdoor_pa_draws(case, now, None if read is None else 100.0 * read)
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


def outdoor_pa_draws(
    case: Case, outdoor_degc: float, humidity_percent: FloatArray | float | None
) -> FloatArray:
    """Vapour pressure outdoors, shape (draws,); an assumed humidity where none is known."""
    if humidity_percent is None:
        row = case.assumed("outdoor-humidity")
        humidity_percent = case.draws.between("outdoor-humidity season", row.low, row.high)
    humidity = np.full(case.draws.size, humidity_percent) / 100.0
    return vapour_pressure_over_water_pa(outdoor_degc, np.clip(humidity, 0.01, 1.0))
