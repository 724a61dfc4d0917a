"""Damp: how moist is the air at cold places of the envelope, and what would follow from it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from thermalkit.diagnosis.cautions import cautions
from thermalkit.diagnosis.conditions import survey as survey
from thermalkit.diagnosis.damp.advice import next_steps
from thermalkit.diagnosis.damp.at_mark import quantities_at as quantities_at
from thermalkit.diagnosis.damp.compared import compared as compared
from thermalkit.diagnosis.damp.cures import cure_charts, cure_findings
from thermalkit.diagnosis.damp.seasons import room_season_findings, season_charts, season_findings
from thermalkit.diagnosis.damp.steps import STEPS as STEPS
from thermalkit.diagnosis.damp.unanswered import unanswered
from thermalkit.diagnosis.damp.water import comes_from_elsewhere, source_probabilities, water
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Chart,
    Evidence,
    Finding,
    Limit,
    Line,
    Picture,
    Quantity,
    Verdict,
    quantity,
)
from thermalkit.diagnosis.judging import LimitSet, limit_sets, verdict
from thermalkit.diagnosis.labels import house_label, mark_name, place_label, room_label
from thermalkit.diagnosis.places import Place, place
from thermalkit.diagnosis.surroundings import RoomAir, room_air
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import critical_surface_temperature_degc

SATURATED_PERCENT = 100.0
MOST_CHARTED = 12  # own choice: more charts than anybody reads
HARM_BY = "damp.temperature-factor"  # what many sites are ranked and counted by
_PLANNING = ("damp.next.construction", "damp.season.next.look")
_SOURCES = {
    "damp.surface-humidity": ("source.surface-humidity", "source.radiation"),
    "damp.temperature-factor": ("source.temperature-factor", "source.radiation"),
    "damp.surface-humidity-at-conditions": ("source.surface-humidity",),
    "damp.colder-than-sound": ("source.radiation",),
    "damp.room-air": ("source.surface-humidity",),
}


def findings(case: Case) -> Iterator[Finding]:
    """Every finding: the air of each room, then place by place, suspect places first."""
    limits = limit_sets()[case.decided["limit"]]
    yield from unanswered(case)
    yield from _rooms(case, limits)
    for room in case.site.keys.rooms:
        yield from room_season_findings(case, room, limits)
    places = _places(case, limits)
    for item in places:
        cures = list(_cures(case, item, limits))
        is_planned = any(finding.code == "damp.cure.combined" for finding in cures)
        for finding in (*_at(case, item, places, limits), *cures):
            yield _without_planning(finding) if is_planned else finding
    yield from _frames_without_places(case)
    yield from _few_charts(case)


def _at(case: Case, item: Place, places: list[Place], limits: LimitSet) -> Iterator[Finding]:
    """What a place is, and which water is there."""
    yield from _humidity(case, item, limits)
    if not case.site.is_cooled(case.site.frames[item.mark.frame].room):
        yield from _factor(case, item, limits)
        yield from _humidity_at_conditions(case, item, limits)
    yield from _colder_than_sound(case, item, places)
    yield from season_findings(case, item, limits)
    if item.mark.role == "suspect":
        yield from water(case, item.mark)


def _cures(case: Case, item: Place, limits: LimitSet) -> Iterator[Finding]:
    if item.mark.role == "suspect":
        yield from cure_findings(case, item, limits, source_probabilities(case, item.mark))


def _without_planning(finding: Finding) -> Finding:
    """Nothing asks to have a cure planned where the ways are weighed already, each with its own step."""
    steps = tuple(step for step in finding.next_steps if step.step.id not in _PLANNING)
    return replace(finding, next_steps=steps)


def charts(case: Case) -> Iterator[Chart]:
    """What happens over time at the worst suspect places and in their rooms, and what cures would do."""
    limits = limit_sets()[case.decided["limit"]]
    suspects = [place(case, mark, limits) for mark in case.decided["suspect"]]
    worst = set(map(id, sorted(suspects, key=_how_dry)[:MOST_CHARTED]))
    charted = [item for item in suspects if id(item) in worst]
    yield from season_charts(case, charted, limits)
    for item in charted:
        yield from cure_charts(case, item, limits, source_probabilities(case, item.mark))


def _how_dry(item: Place) -> float:
    """Less is worse: by the air at the surface, by its temperature where that was not read."""
    humidity = item.humidity_percent
    worst = float(np.median(item.surface_degc if humidity is None else -humidity))
    return worst if np.isfinite(worst) else np.inf


def _few_charts(case: Case) -> Iterator[Finding]:
    """Which places have charts, where not all have."""
    count = len(case.decided["suspect"])
    if count > MOST_CHARTED:
        yield Finding(
            code="damp.charted",
            place=house_label(case),
            statement=say("damp.charted", few=MOST_CHARTED, all=count),
            rests_on=("frames", "suspect"),
        )


def _places(case: Case, limits: LimitSet) -> list[Place]:
    return [place(case, mark, limits) for mark in case.decided["suspect"] + case.decided["sound"]]


def pictures(case: Case) -> Iterator[Picture]:
    """Each frame in use with its marks, the room's dew point and the temperature of the mould criterion."""
    limits = limit_sets()[case.decided["limit"]]
    for name in case.decided["frames"]:
        marks = tuple(m for m in case.decided["suspect"] + case.decided["sound"] if m.frame == name)
        air = room_air(case, case.site.frames[name].room)
        yield Picture(frame=name, marks=marks, lines=tuple(_lines(air, limits)))


def _lines(air: RoomAir | None, limits: LimitSet) -> Iterator[Line]:
    for humidity, id in ((1.0, "line.dew-point"), (limits.surface_humidity, "line.critical")):
        draws = _critical_degc(air, humidity)
        if draws is not None:
            middle = float(np.median(draws))
            percent = Number(100.0 * humidity, "%", 0)
            yield Line(temperature_degc=middle, label=say(id, humidity=percent))


def _critical_degc(air: RoomAir | None, surface_humidity: float) -> FloatArray | None:
    """Coldest surface that stays below a humidity, shape (draws,)."""
    if air is None or air.relative_humidity is None:
        return None
    return critical_surface_temperature_degc(
        air.temperature_degc, air.relative_humidity, surface_humidity=surface_humidity
    )


def _rooms(case: Case, limits: LimitSet) -> Iterator[Finding]:
    for room in case.site.keys.rooms:
        air = room_air(case, room)
        dew_point, critical = _critical_degc(air, 1.0), _critical_degc(air, limits.surface_humidity)
        if air is None or dew_point is None or critical is None or air.relative_humidity is None:
            continue
        quantities = (
            quantity("air-temperature", measured(air.temperature_degc, "degC")),
            quantity("relative-humidity", measured(100.0 * air.relative_humidity, "%")),
            quantity("dew-point", measured(dew_point, "degC")),
            quantity("critical-surface-temperature", measured(critical, "degC")),
        )
        yield Finding(
            code="damp.room-air",
            place=room.label,
            statement=say(
                "damp.room-air",
                room=room.label,
                critical=quantities[3].shown(),
                humidity=Number(100.0 * limits.surface_humidity, "%", 0),
            ),
            quantities=quantities,
            evidence=(Evidence(kind="reading", reference="site.toml"),),
            sources=_sources("damp.room-air"),
            rests_on=("limit",),
            is_context=True,
        )


def _humidity(case: Case, item: Place, limits: LimitSet) -> Iterator[Finding]:
    if item.humidity_percent is None:
        return
    first = quantity("surface-humidity", measured(item.humidity_percent, "%"))
    second = quantity("surface-temperature", measured(item.surface_degc, "degC"))
    limit = limits.humidity_limit("surface-humidity")
    yield _judged(case, item, "damp.surface-humidity", (first, second), limit)


def _factor(case: Case, item: Place, limits: LimitSet) -> Iterator[Finding]:
    if item.factor is not None:
        first = quantity("temperature-factor", measured(item.factor, ""))
        yield _judged(case, item, "damp.temperature-factor", (first,), limits.factor_limit)


def _humidity_at_conditions(case: Case, item: Place, limits: LimitSet) -> Iterator[Finding]:
    if item.humidity_at_conditions_percent is None:
        return
    first = quantity("surface-humidity-at-conditions", measured(item.humidity_at_conditions_percent, "%"))
    limit = limits.humidity_limit("surface-humidity-at-conditions")
    conditions = {
        "indoor": Number(limits.indoor_degc, "degC", 0),
        "room_humidity": Number(100.0 * limits.indoor_humidity, "%", 0),
        "outdoor": Number(limits.outdoor_degc, "degC", 0),
    }
    yield _judged(case, item, "damp.surface-humidity-at-conditions", (first,), limit, **conditions)


def _judged(
    case: Case, item: Place, code: str, quantities: tuple[Quantity, ...], limit: Limit, **values: Number
) -> Finding:
    """A finding that holds the first quantity against a limit."""
    judged = verdict(quantities[0], limit)
    is_drying = code != "damp.surface-humidity" and comes_from_elsewhere(case, item.mark)
    statement = say(
        f"{code}.{_said(quantities[0], limit, judged, is_drying=is_drying)}",
        place=place_label(case, item.mark),
        value=quantities[0].shown(),
        limit=Number(limit.value, limit.term.unit, limit.term.shown),
        **values,
    )
    return Finding(
        code=code,
        place=place_label(case, item.mark),
        frame=item.mark.frame,
        mark=item.mark.id,
        statement=statement,
        verdict=judged,
        quantities=quantities,
        limit=limit,
        evidence=(Evidence(kind="picture", reference=item.mark.frame, mark=item.mark.id),),
        sources=_sources(code),
        cautions=(say("caution.drying"),) if is_drying else cautions(case, item.mark, judged),
        next_steps=() if is_drying else next_steps(case, item.mark, code, judged),
        rests_on=("frames", "limit", "suspect", "sound", *(("water",) if is_drying else ())),
    )


def _said(first: Quantity, limit: Limit, judged: Verdict, *, is_drying: bool) -> str:
    """Which sentence a verdict is told by; a wall that dries is colder than its construction."""
    if judged != "indicated":
        return judged.replace(" ", "-")
    if is_drying:
        return "drying"
    is_wet = limit.term.unit == "%" and first.measured.low > SATURATED_PERCENT
    return "condensing" if is_wet else judged


def _colder_than_sound(case: Case, item: Place, places: list[Place]) -> Iterator[Finding]:
    """How much colder than the sound place of its frame; what both share cancels."""
    sound = next((p for p in places if p.mark.role == "sound" and p.mark.frame == item.mark.frame), None)
    if sound is None or item.mark.role == "sound":
        return
    draws = sound.surface_degc - item.surface_degc
    difference = quantity("temperature-difference", measured(draws, "K"))
    id = (
        "colder" if difference.measured.low > 0.0 else "warmer" if difference.measured.high < 0.0 else "alike"
    )
    shown = quantity("temperature-difference", measured(-draws, "K")) if id == "warmer" else difference
    yield Finding(
        code="damp.colder-than-sound",
        place=place_label(case, item.mark),
        frame=item.mark.frame,
        mark=item.mark.id,
        statement=say(
            f"damp.colder-than-sound.{id}",
            place=place_label(case, item.mark),
            sound=mark_name(sound.mark.id, case.site.keys.report.language),
            value=shown.shown(),
        ),
        quantities=(difference,),
        evidence=(Evidence(kind="picture", reference=item.mark.frame, mark=item.mark.id),),
        sources=_sources("damp.colder-than-sound"),
        rests_on=("frames", "suspect", "sound"),
    )


def _frames_without_places(case: Case) -> Iterator[Finding]:
    """Looked, nothing found: is a finding too."""
    marked = {mark.frame for mark in case.decided["suspect"]}
    for name in case.decided["frames"]:
        if name not in marked:
            yield Finding(
                code="damp.nothing-cold",
                place=room_label(case, name),
                frame=name,
                statement=say("damp.nothing-cold", frame=name),
                evidence=(Evidence(kind="picture", reference=name),),
                rests_on=("frames", "suspect"),
            )


def _sources(code: str) -> tuple[Sentence, ...]:
    return tuple(say(id) for id in _SOURCES[code])
