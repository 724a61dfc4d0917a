"""Findings about a room over time: what is missing, its year, its moisture excess."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.seasons.climate import (
    HOURS_A_DAY,
    files_of,
    has_monthly_temperature,
    holds,
    logger_of,
    record_of,
)
from thermalkit.diagnosis.damp.seasons.excess import Balance, Excess, balance_of, excess_of
from thermalkit.diagnosis.damp.seasons.months import months_of
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, NextStep, quantity
from thermalkit.diagnosis.judging import LimitSet
from thermalkit.language import Number, say
from thermalkit.measured import measured
from thermalkit.physics.ventilation import humidity_class_of_excess
from thermalkit.site.loggers import LoggerSeries
from thermalkit.site.model import RoomKeys


def room_season_findings(case: Case, room: RoomKeys, limits: LimitSet) -> Iterator[Finding]:
    """What the record of a room tells as a whole, or what it lacks."""
    yield from _missing(case, room)
    yield from _read_out(case, room)
    yield from _months(case, room, limits)
    excess = excess_of(case, room)
    if excess is not None:
        yield _excess(case, room, excess)
        balance = balance_of(case, excess)
        if balance is not None:
            yield _balance(case, room, excess, balance)


def _missing(case: Case, room: RoomKeys) -> Iterator[Finding]:
    record = record_of(case, room)
    inside = [s for s in logger_of(case, "room", room) if holds(s, "relative_humidity")]
    if record is not None and record.is_long_enough:
        return
    id = "both" if record is not None else "outdoor" if inside else "room"
    days = record.hours / HOURS_A_DAY if record is not None else 0.0
    yield Finding(
        code="damp.season.missing",
        place=room.label,
        statement=say(f"damp.season.missing.{id}", room=room.label, days=Number(days, "", 1)),
        next_steps=(NextStep(step=say("damp.next.logger"), by=say("by.surveyor")),),
    )


def _read_out(case: Case, room: RoomKeys) -> Iterator[Finding]:
    """Loggers of the room, and outdoors, that were read out more than once, with the time in between."""
    there = [*logger_of(case, "room", room), *logger_of(case, "surface", room), *logger_of(case, "outdoor")]
    for series in there:
        if not series.parts:
            continue
        silent_h = sum((gap.end - gap.start).total_seconds() for gap in series.gaps) / 3600.0
        yield Finding(
            code="damp.season.read-out",
            place=room.label,
            statement=say(
                f"damp.season.read-out.{'gap' if series.gaps else 'whole'}",
                room=room.label,
                logger=series.keys.id,
                times=len(series.parts),
                silent=Number(silent_h, "h", 0),
                longest=_longest(series),
            ),
            evidence=tuple(Evidence(kind="reading", reference=file) for file in series.files),
        )


def _longest(series: LoggerSeries) -> str:
    """From and to of the longest gap, in UTC."""
    if not series.gaps:
        return ""
    gap = max(series.gaps, key=lambda item: item.end - item.start)
    return f"{gap.start:%Y-%m-%d %H:%M} – {gap.end:%Y-%m-%d %H:%M}"


def _months(case: Case, room: RoomKeys, limits: LimitSet) -> Iterator[Finding]:
    months = months_of(case, room, limits)
    if months is None:
        if not has_monthly_temperature(case.site.keys.climate):
            return
        yield Finding(
            code="damp.season.months",
            place=room.label,
            statement=say("damp.season.months.nothing", room=room.label),
            rests_on=("limit",),
        )
        return
    yield Finding(
        code="damp.season.months",
        place=room.label,
        statement=say(
            "damp.season.months.asked",
            room=room.label,
            humidity_class=months.humidity_class,
            basis=say(f"damp.season.class.{months.basis}"),
            month=say(f"damp.season.month.{months.critical_month}"),
            factor=Number(months.highest, "", 2),
            indoor=Number(limits.indoor_degc, "degC", 0),
        ),
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        sources=(say("damp.season.source.months"),),
        rests_on=("limit",),
    )


def _excess(case: Case, room: RoomKeys, excess: Excess) -> Finding:
    pressure = quantity("moisture-excess", measured(excess.mean_pa, "Pa"))
    grams = quantity("moisture-excess-concentration", measured(excess.mean_g_m3, "g/m³"))
    told = [
        float(humidity_class_of_excess(value, excess.mean_outdoor_degc))
        for value in (pressure.measured.low, pressure.measured.high)
    ]
    id = "warm" if not np.isfinite(told[0]) else "one" if told[0] == told[1] else "two"
    low, high = (0, 0) if id == "warm" else (int(told[0]), int(told[1]))
    return Finding(
        code="damp.season.excess",
        place=room.label,
        statement=say(
            f"damp.season.excess.{id}",
            room=room.label,
            value=grams.shown(),
            low=low,
            high=high,
            days=Number(excess.hours / HOURS_A_DAY, "", 1),
        ),
        quantities=(grams, pressure),
        evidence=_loggers(case, excess),
        sources=(say("damp.season.source.months"),),
    )


def _balance(case: Case, room: RoomKeys, excess: Excess, balance: Balance) -> Finding:
    carried = quantity("moisture-carried-off", balance.carried_off)
    id = balance.outcome or "open"
    low, high = balance.air_change.low, balance.air_change.high
    steps = (
        () if id == "as-expected" else (NextStep(step=say("damp.season.next.water"), by=say("by.surveyor")),)
    )
    return Finding(
        code="damp.season.balance",
        place=room.label,
        statement=say(
            f"damp.season.balance.{id}",
            room=room.label,
            value=carried.shown(),
            low=Number(balance.explained_low, "", 0),
            high=Number(balance.explained_high, "kg", 0),
            volume=Number(balance.volume_m3, "m³", 0),
            change_low=Number(low, "", 1),
            change_high=Number(high, "", 1),
            basis=say(
                f"damp.season.air-change.{'measured' if balance.is_air_change_measured else 'assumed'}"
            ),
        ),
        quantities=(carried,),
        evidence=_loggers(case, excess),
        sources=(say("damp.season.source.balance"),),
        next_steps=steps,
    )


def _loggers(case: Case, excess: Excess) -> tuple[Evidence, ...]:
    logged = [keys for keys in (excess.record.room, excess.record.outdoor) if keys is not None]
    files = [file for keys in logged for file in files_of(case, keys)]
    return tuple(Evidence(kind="reading", reference=file) for file in files)
