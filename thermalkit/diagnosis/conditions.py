"""Can these pictures answer this question? Each remark says what it does to the result."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Remark, Survey
from thermalkit.diagnosis.surface import reference_disagrees
from thermalkit.diagnosis.surroundings import UNSTEADY_BELOW_H, is_inner
from thermalkit.imaging.statistics import spot_size_m
from thermalkit.language import Number, Sentence, say

if TYPE_CHECKING:
    from thermalkit.site.survey import SurveyFrame

ENOUGH_DIFFERENCE_K = 10.0  # practice text citing EN 13187
LEAST_DIFFERENCE_K = 3.0  # own choice: below it a factor says nothing
LOWEST_EMISSIVITY = 0.5  # common practice: mostly a mirror below
STRONG_WIND_M_S = 5.0  # ISO 6781, from memory
SUN_GONE_H = 12.0  # EN 13187 / ISO 6781:1983 annex, from memory
SUN_STILL_THERE_H = 2.0  # practice text, light constructions
DRY_AFTER_H = 24.0  # practice text, masonry
UNCOVERED_LONG_ENOUGH_H = 12.0  # own choice: a wall behind furniture settles overnight
SUBJECTS = ("wall", "opening", "ceiling", "floor")


def survey(case: Case) -> Survey:
    """Every remark on the visit, and whether any frame is left to judge by."""
    remarks = tuple(remark for frame in case.site.frames.values() for remark in frame_remarks(case, frame))
    visit = tuple(visit_remarks(case))
    used = case.decided.get("frames", ())
    return Survey(usable=bool(used), remarks=visit + remarks)


def usable_frames(case: Case) -> tuple[str, ...]:
    """Frames of the envelope that no remark excludes."""
    return tuple(
        name
        for name, frame in case.site.frames.items()
        if frame.keys.subject in SUBJECTS
        and not any(remark.effect == "excludes" for remark in frame_remarks(case, frame))
    )


def is_covered_late(frame: SurveyFrame) -> bool:
    """Whether furniture stood before the surface until shortly before the frame."""
    uncovered, taken = frame.keys.uncovered_at, frame.keys.taken_at
    if uncovered is None or taken is None:
        return False
    return (taken - uncovered).total_seconds() / 3600.0 < UNCOVERED_LONG_ENOUGH_H


def has_late_sun(case: Case) -> bool:
    """Whether the sun reached the surface within the last half day."""
    since = case.site.keys.weather.hours_since_sun
    return since is not None and since < SUN_GONE_H


def visit_remarks(case: Case) -> Iterator[Remark]:
    """What concerns every frame of the visit."""
    weather = case.site.keys.weather
    if weather.air_temperature_degc is None and weather.mean_24h_air_temperature_degc is None:
        yield _remark("no-outdoor", "excludes")
    elif weather.mean_24h_air_temperature_degc is None:
        yield _remark("no-daily-mean", "widens")
    if weather.hours_steady is None:
        yield _remark("steadiness-unknown", "none")
    elif weather.hours_steady < UNSTEADY_BELOW_H:
        yield _remark("unsteady", "widens", hours=Number(weather.hours_steady, "h", 0))
    if weather.hours_since_sun is None:
        yield _remark("sun-unknown", "none")
    elif SUN_STILL_THERE_H <= weather.hours_since_sun < SUN_GONE_H:
        yield _remark("sun", "widens", hours=Number(weather.hours_since_sun, "h", 0))
    if weather.hours_since_rain is not None and weather.hours_since_rain < DRY_AFTER_H:
        yield _remark("rain", "none", hours=Number(weather.hours_since_rain, "h", 0))
    if weather.wind_speed_m_s is not None and weather.wind_speed_m_s > STRONG_WIND_M_S:
        yield _remark("wind", "none", wind=Number(weather.wind_speed_m_s, "m/s", 1))


def frame_remarks(case: Case, frame: SurveyFrame) -> Iterator[Remark]:
    """What concerns one frame."""
    name = frame.keys.id
    if frame.keys.subject not in SUBJECTS:
        yield _remark("other-subject", "excludes", name)
        return
    emissivity = frame.keys.emissivity
    if emissivity is not None and emissivity < LOWEST_EMISSIVITY:
        yield _remark("low-emissivity", "excludes", name, emissivity=Number(emissivity, "", 2))
    yield from _inner(case, frame) if is_inner(frame) else _difference(case, frame)
    since_sun = None if is_inner(frame) else case.site.keys.weather.hours_since_sun
    if since_sun is not None and since_sun < SUN_STILL_THERE_H:
        yield _remark("sun-still-there", "excludes", name, hours=Number(since_sun, "h", 1))
    if is_covered_late(frame):
        yield _remark("covered", "widens", name)
    if reference_disagrees(case, name):
        yield _remark("reference-disagrees", "none", name)
    yield from _sharpness(frame)


def _difference(case: Case, frame: SurveyFrame) -> Iterator[Remark]:
    weather = case.site.keys.weather
    outdoor = weather.air_temperature_degc
    if outdoor is None:
        outdoor = weather.mean_24h_air_temperature_degc
    name = frame.keys.id
    if frame.room is None or frame.room.air_temperature_degc is None:
        yield _remark("no-indoor", "excludes", name)
        return
    if outdoor is None:
        return
    difference = frame.room.air_temperature_degc - outdoor
    shown = Number(abs(difference), "K", 1)
    if abs(difference) < LEAST_DIFFERENCE_K:
        yield _remark("difference-too-small", "excludes", name, difference=shown)
    elif abs(difference) < ENOUGH_DIFFERENCE_K:
        yield _remark("difference-small", "widens", name, difference=shown)
    else:
        yield _remark("difference-enough", "none", name, difference=shown)


def _inner(case: Case, frame: SurveyFrame) -> Iterator[Remark]:
    """A wall between rooms: no temperature factor, and no limit that goes with it."""
    name, beyond = frame.keys.id, frame.keys.far_side
    if frame.room is None or frame.room.air_temperature_degc is None:
        yield _remark("no-indoor", "excludes", name)
    rooms = {room.id: room.label for room in case.site.keys.rooms}
    what: Sentence | str = rooms[beyond] if beyond in rooms else say(f"conditions.far-side.{beyond}")
    yield _remark("inner", "none", name, beyond=what)


def _sharpness(frame: SurveyFrame) -> Iterator[Remark]:
    camera, distance = frame.camera, frame.keys.distance_m
    name = frame.keys.id
    if frame.pixel_scale > 1:
        yield _remark("enlarged", "none", name, factor=Number(frame.pixel_scale, "", 1))
    if frame.strip is not None:
        ends, step = max(frame.strip.ends_k), float(np.median(frame.strip.step_k))
        yield _remark("coloured", "widens", name, ends=Number(ends, "K", 1), step=Number(step, "K", 2))
    if camera is None or camera.field_of_view_deg is None or distance is None:
        yield _remark("no-spot-size", "none", name)
        return
    columns = round(frame.apparent_degc.shape[1] / frame.pixel_scale)
    spot_m = float(spot_size_m(camera.field_of_view_deg[0], columns, distance))
    yield _remark("spot-size", "none", name, spot=Number(1000.0 * spot_m, "mm", 0))


def _remark(id: str, effect: str, frame: str | None = None, **values: Number | Sentence | str) -> Remark:
    statement: Sentence = say(f"conditions.{id}", **values, **({"frame": frame} if frame else {}))
    return Remark(statement=statement, effect=effect, frame=frame)  # type: ignore[arg-type]
