"""What water at a place follows by its loggers: rain on the wall, use of hot water, cold outdoors.

Water shows as a surface moister than the room's air, or, where only its temperature was logged, colder than
room and weather explain. A warm pipe warms a wall without wetting it, so use is judged by moisture only;
and every outer wall is a little more humid when it is cold, so cold counts where humidity exceeds 70 %.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermalkit.diagnosis.damp.causes.evidence import LOW_HUMIDITY
from thermalkit.diagnosis.damp.seasons.climate import (
    SHORTEST_H,
    Record,
    holds,
    loggers_of,
    record_of,
    room_of,
)
from thermalkit.diagnosis.damp.seasons.drivers import (
    cold_spells,
    driving_rain,
    hot_water,
    rain_spells,
    uses,
)
from thermalkit.diagnosis.damp.seasons.follows import Following, faded, following
from thermalkit.diagnosis.damp.seasons.series import on_grid, surface_logger
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.places import Place
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import vapour_pressure_over_water_pa
from thermalkit.site.loggers import LoggerSeries
from thermalkit.site.model import LoggerKeys

_ONE_IN_TWENTY = 0.05  # false claims at a place, all its tests together
_REMEMBERED_H = (1.0, 6.0, 24.0, 72.0)
# Own choices: the longest delay, and how many events tell a habit from an accident.
_LONGEST_H = {"rain": 48, "use": 12, "winter": 24}
_FEWEST = {"rain": 3, "use": 10, "winter": 3}

Outcome = Literal["rain", "use", "winter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """How what a logger shows of water answers to one thing, counted in its events."""

    outcome: Outcome
    seen: Literal["moister", "colder", "damper"]
    follows: Following
    events: int
    watched: LoggerKeys
    driver: LoggerKeys


@dataclass(frozen=True, slots=True, kw_only=True)
class _Driver:
    outcome: Outcome
    course: FloatArray
    events: int
    keys: LoggerKeys


def timings_of(case: Case, place: Place) -> tuple[Timing, ...]:
    """Everything that could be tested at a place; nothing without fourteen days and enough events."""
    key = ("timing", place.mark, tuple(case.decided.get("suspect", ())))
    return kept(case, key, lambda: tuple(_timings_of(case, place)))


def following_of(timings: tuple[Timing, ...]) -> tuple[Timing, ...]:
    """Those that the water does follow; all tests together claim falsely one time in twenty."""
    return tuple(item for item in timings if item.follows.chance <= _ONE_IN_TWENTY / len(timings))


def timing_answers(timings: tuple[Timing, ...]) -> dict[str, str]:
    """When it is worse; none where it follows nothing, or two things at once."""
    found = following_of(timings)
    return {"timing": found[0].outcome} if len(found) == 1 else {}


def _timings_of(case: Case, place: Place) -> Iterator[Timing]:
    room, logger = room_of(case, place.mark.frame), surface_logger(case, place)
    record = record_of(case, room) if room is not None else None
    if record is None or record.outdoor is None or logger is None:
        return
    for driver in _drivers(case, place, record):
        seen, course = _water(record, logger, driver.outcome)
        if driver.events < _FEWEST[driver.outcome] or _known_h(course, driver.course) < SHORTEST_H:
            continue
        found = following(course, driver.course, _LONGEST_H[driver.outcome])
        if found is not None:
            yield Timing(
                outcome=driver.outcome,
                seen=seen,
                follows=found,
                events=driver.events,
                watched=logger.keys,
                driver=driver.keys,
            )


def _drivers(case: Case, place: Place, record: Record) -> Iterator[_Driver]:
    """Rain, hot water and cold, as far as they were logged."""
    faces = case.site.frames[place.mark.frame].keys.orientation
    loggers = loggers_of(case)
    gauge = next((s for s in loggers if s.keys.place == "outdoor" and holds(s, "rain_mm")), None)
    if gauge is not None:
        rain, wind, wind_from = (
            on_grid(gauge, record.time, name) for name in ("rain_mm", "wind_speed_m_s", "wind_from_deg")
        )
        driven = driving_rain(rain, wind, wind_from, faces)
        yield _Driver(outcome="rain", course=driven, events=rain_spells(driven), keys=gauge.keys)
    for pipe in loggers:
        if pipe.keys.place == "supply" and pipe.keys.room == record.room.room:
            hot_k = hot_water(on_grid(pipe, record.time, "temperature_degc"))
            yield _Driver(outcome="use", course=hot_k, events=uses(hot_k), keys=pipe.keys)
    if record.outdoor is not None:
        cold = cold_spells(record.outdoor_degc)
        yield _Driver(outcome="winter", course=-record.outdoor_degc, events=cold, keys=record.outdoor)


def _water(
    record: Record, logger: LoggerSeries, outcome: Outcome
) -> tuple[Literal["moister", "colder", "damper"], FloatArray]:
    """What the logger shows of water that room, weather and a steady change do not explain; NaN: nothing."""
    surface = on_grid(logger, record.time, "temperature_degc")
    humidity = on_grid(logger, record.time, "relative_humidity")
    if outcome == "winter":
        return "damper", _left_over(np.maximum(humidity - LOW_HUMIDITY, 0.0), ())
    room_pa = _pressure_pa(record.indoor_degc, record.indoor_humidity)
    weather = tuple(faded(record.outdoor_degc, hours) for hours in _REMEMBERED_H)
    if holds(logger, "relative_humidity"):
        moist = _pressure_pa(surface, humidity) - room_pa
        return "moister", _left_over(moist, (record.indoor_degc, *weather))
    if outcome == "use":
        return "moister", np.full(surface.shape, np.nan)
    return "colder", _left_over(-surface, (record.indoor_degc, room_pa, *weather))


def _left_over(course: FloatArray, explained_by: tuple[FloatArray, ...]) -> FloatArray:
    """What a straight line in time and in these courses does not explain; NaN where one is not known."""
    columns = np.stack([np.ones(course.size), np.arange(course.size) / course.size, *explained_by], axis=1)
    known = np.isfinite(course) & np.isfinite(columns).all(axis=1)
    left = np.full(course.size, np.nan)
    if known.any():
        shares = np.linalg.lstsq(columns[known], course[known], rcond=None)[0]
        left[known] = course[known] - columns[known] @ shares
    return left


def _pressure_pa(temperature_degc: FloatArray, humidity: FloatArray) -> FloatArray:
    return vapour_pressure_over_water_pa(temperature_degc, np.clip(humidity, 0.01, 1.0))


def _known_h(course: FloatArray, driver: FloatArray) -> int:
    return int(np.count_nonzero(np.isfinite(course) & np.isfinite(driver)))
