"""Findings about one place over time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.cautions import cautions
from thermalkit.diagnosis.damp.seasons.air import (
    LONG_WET_H,
    has_seen_summer,
    hours_below_outdoor_dew_point,
    leaked_air_margin_k,
)
from thermalkit.diagnosis.damp.seasons.climate import HOURS_A_DAY, SHORTEST_H, files_of, room_of
from thermalkit.diagnosis.damp.seasons.follow_findings import follow_findings
from thermalkit.diagnosis.damp.seasons.growth import FIRST_GROWTH, VISIBLE, Growth, growth_of
from thermalkit.diagnosis.damp.seasons.months import months_of
from thermalkit.diagnosis.damp.seasons.series import PlaceSeries, interval, place_series
from thermalkit.diagnosis.damp.seasons.spells import highest_mean, hours_at_least, longest_spell_h
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, Limit, NextStep, Quantity, Verdict, quantity
from thermalkit.diagnosis.judging import LimitSet, verdict
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import Place
from thermalkit.glossary import TERMS
from thermalkit.language import Interval, Number, Sentence, say
from thermalkit.measured import measured

MONTH_H = 30 * HOURS_A_DAY
_MONTH_LEAST_H = 25 * HOURS_A_DAY
_RESTS_ON = ("frames", "limit", "suspect", "sound")


def season_findings(case: Case, place: Place, limits: LimitSet) -> Iterator[Finding]:
    """What happens over time at a place: humidity, spells, mould, months, outdoor air."""
    series = place_series(case, place)
    if series is not None and series.logged_h >= SHORTEST_H and series.known.any():
        yield _over_weeks(case, place, series, limits)
        yield _spells(case, place, series, limits)
        yield _mould(case, place, series, growth_of(case, series))
        yield from _outdoor_air(case, place, series)
    elif series is not None and series.is_direct:
        yield _too_short(case, place, series)
    if place.mark.role == "suspect":
        yield from follow_findings(case, place)
    yield from _leaked_air(case, place)
    yield from _critical_month(case, place, limits)


def _over_weeks(case: Case, place: Place, series: PlaceSeries, limits: LimitSet) -> Finding:
    """The monthly mean that the mould criterion asks for, or that of the record where it is shorter."""
    means = highest_mean(np.minimum(series.humidity, 1.0), MONTH_H, _MONTH_LEAST_H)
    item = quantity("surface-humidity-over-time", interval(100.0 * means, "%"))
    limit = limits.humidity_limit("surface-humidity-over-time")
    judged = verdict(item, limit)
    days = min(int(np.count_nonzero(series.known)), MONTH_H) // HOURS_A_DAY
    return _finding(
        case,
        place,
        "damp.season.surface-humidity",
        judged,
        (item,),
        series,
        sentence="indicated-by-logger" if judged == "indicated" and series.has_own_humidity else None,
        limit=limit,
        how=_how(series),
        value=item.shown(),
        limit_value=Number(limit.value, "%", 0),
        days=days,
    )


def _spells(case: Case, place: Place, series: PlaceSeries, limits: LimitSet) -> Finding:
    known = int(np.count_nonzero(series.known))
    share = 100.0 / known
    damp = quantity(
        "time-damp", interval(share * hours_at_least(series.humidity, limits.surface_humidity), "%")
    )
    wet = quantity("time-condensing", interval(share * hours_at_least(series.humidity, 1.0), "%"))
    spell = longest_spell_h(series.humidity, limits.surface_humidity)
    longest = quantity("longest-damp-spell", interval(spell, "h"))
    return _finding(
        case,
        place,
        "damp.season.spells",
        None,
        (damp, wet, longest),
        series,
        sentence="gaps" if series.missing_h else "whole",
        damp=damp.shown(),
        limit_value=Number(100.0 * limits.surface_humidity, "%", 0),
        wet=wet.shown(),
        longest=longest.shown(),
        days=Number(known / HOURS_A_DAY, "", 1),
        missing=Number(series.missing_h, "h", 0),
    )


def _mould(case: Case, place: Place, series: PlaceSeries, growth: Growth) -> Finding:
    item = quantity("mould-index", growth.greatest())
    limit = Limit(
        term=TERMS["mould-index"],
        sense="at_most",
        value=FIRST_GROWTH,
        source=say("damp.season.limit.mould"),
    )
    return _finding(
        case,
        place,
        "damp.season.mould-index",
        verdict(item, limit),
        (item,),
        series,
        limit=limit,
        sources=("damp.season.source.mould",),
        value=item.shown(),
        first=_when(growth, FIRST_GROWTH),
        visible=_when(growth, VISIBLE),
    )


def _when(growth: Growth, level: float) -> Sentence:
    """A range of days, never one."""
    early, late = growth.reached(level)
    if early is None:
        return say("damp.season.when.not-within")
    if late is None:
        return say("damp.season.when.from", early=_day(early))
    return say("damp.season.when.between", early=_day(early), late=_day(late))


def _day(moment: np.datetime64) -> str:
    return str(moment.astype("datetime64[D]"))


def _outdoor_air(case: Case, place: Place, series: PlaceSeries) -> Iterator[Finding]:
    """Hours in which outdoor air would have condensed on the surface: summer, or a cooled room."""
    hours = hours_below_outdoor_dew_point(series)
    if hours is None:
        return
    item = quantity("time-below-outdoor-dew-point", interval(hours, "h"))
    low, high = item.measured.low, item.measured.high
    id = "some" if low >= LONG_WET_H else "possibly" if high >= LONG_WET_H else "none"
    if id == "none" and not has_seen_summer(series):
        return
    step = NextStep(step=say("damp.season.next.summer"), by=say("by.surveyor"))
    yield _finding(
        case,
        place,
        "damp.season.outdoor-dew-point",
        None,
        (item,),
        series,
        sentence=id,
        next_steps=() if id == "none" else (step,),
        value=item.shown(),
        days=Number(np.count_nonzero(series.known) / HOURS_A_DAY, "", 1),
    )


def _leaked_air(case: Case, place: Place) -> Iterator[Finding]:
    """A cooled room at the visit: outdoor air that leaked in to the surface."""
    margin = leaked_air_margin_k(case, place)
    if margin is None:
        return
    item = quantity("outdoor-dew-point-margin", measured(margin, "K"))
    limit = Limit(
        term=TERMS["outdoor-dew-point-margin"],
        sense="at_least",
        value=0.0,
        source=say("damp.season.limit.leaked-air"),
    )
    below = quantity("outdoor-dew-point-margin", measured(-margin, "K"))
    judged = verdict(item, limit)
    yield _finding(
        case,
        place,
        "damp.season.leaked-air",
        judged,
        (item,),
        None,
        limit=limit,
        value=(below if judged == "indicated" else item).shown(),
        below=Number(max(below.measured.high, 0.0), "K", 1),
        above=Number(max(item.measured.high, 0.0), "K", 1),
    )


def _critical_month(case: Case, place: Place, limits: LimitSet) -> Iterator[Finding]:
    """The place's factor, with the limit's film, against what the critical month asks for."""
    room = room_of(case, place.mark.frame)
    months = None if room is None or place.factor is None else months_of(case, room, limits)
    if months is None or place.factor is None:
        return
    item = quantity("temperature-factor", measured(place.factor, ""))
    limit = Limit(
        term=TERMS["temperature-factor"],
        sense="at_least",
        value=round(months.highest, 3),
        source=say("damp.season.limit.months", humidity_class=months.humidity_class),
    )
    yield _finding(
        case,
        place,
        "damp.season.critical-month",
        verdict(item, limit),
        (item,),
        None,
        limit=limit,
        sources=("damp.season.source.months",),
        value=item.shown(),
        limit_value=Number(limit.value, "", 2),
        month=say(f"damp.season.month.{months.critical_month}"),
    )


def _too_short(case: Case, place: Place, series: PlaceSeries) -> Finding:
    return _finding(
        case,
        place,
        "damp.season.too-short",
        None,
        (),
        series,
        next_steps=(NextStep(step=say("damp.next.logger"), by=say("by.surveyor")),),
        days=Number(series.logged_h / HOURS_A_DAY, "", 1),
    )


def _how(series: PlaceSeries) -> Sentence:
    return say(f"damp.season.how.{'logger' if series.is_direct else 'factor'}")


def _finding(
    case: Case,
    place: Place,
    code: str,
    judged: Verdict | None,
    quantities: tuple[Quantity, ...],
    series: PlaceSeries | None,
    *,
    limit: Limit | None = None,
    sentence: str | None = None,
    sources: tuple[str, ...] = ("source.surface-humidity",),
    next_steps: tuple[NextStep, ...] | None = None,
    **values: str | int | Number | Interval | Sentence,
) -> Finding:
    """A finding about the place, with the cautions and next steps that its verdict asks for."""
    suffix = sentence or (judged.replace(" ", "-") if judged else None)
    logged = series.loggers if series is not None else ()
    files = tuple(file for keys in logged for file in files_of(case, keys))
    picture = Evidence(kind="picture", reference=place.mark.frame, mark=place.mark.id)
    label = place_label(case, place.mark)
    return Finding(
        code=code,
        place=label,
        frame=place.mark.frame,
        mark=place.mark.id,
        statement=say(f"{code}.{suffix}" if suffix else code, place=label, **values),
        verdict=judged,
        quantities=quantities,
        limit=limit,
        evidence=(picture, *(Evidence(kind="reading", reference=file) for file in files)),
        sources=tuple(say(id) for id in sources),
        cautions=cautions(case, place.mark, judged) if judged is not None else (),
        next_steps=_next_steps(case, place, series, judged) if next_steps is None else next_steps,
        rests_on=_RESTS_ON,
    )


def _next_steps(
    case: Case, place: Place, series: PlaceSeries | None, judged: Verdict | None
) -> tuple[NextStep, ...]:
    """Look where it is damp; where it stays open and was calculated, log the surface itself."""
    if place.mark.role != "suspect" or judged in (None, "not indicated"):
        return ()
    if judged == "indicated":
        id = "look-cooled" if case.site.is_cooled(room_of(case, place.mark.frame)) else "look"
        return (NextStep(step=say(f"damp.season.next.{id}"), by=say("by.surveyor")),)
    if series is None or series.is_direct:
        return ()
    return (NextStep(step=say("damp.season.next.surface-logger"), by=say("by.surveyor")),)
