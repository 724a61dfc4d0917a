"""What is held against a limit at a place of a heated building, and what follows for the room's air."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from thermalkit.diagnosis.cautions import cautions
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.advice import next_steps
from thermalkit.diagnosis.envelope.examined import Examined, limits_of
from thermalkit.diagnosis.finding import Evidence, Finding, Limit, Quantity, Verdict, quantity
from thermalkit.diagnosis.judging import LimitSet, verdict
from thermalkit.diagnosis.surroundings import is_inner
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import measured
from thermalkit.physics.envelope import highest_indoor_humidity, surface_temperature_from_factor_degc

AT_MARK = ("frames", "limit", "suspect", "sound")


def at_place(
    item: Examined,
    code: str,
    statement: Sentence,
    quantities: tuple[Quantity, ...] = (),
    *,
    judged: Verdict | None = None,
    limit: Limit | None = None,
    sources: tuple[str, ...] = (),
    rests_on: tuple[str, ...] = AT_MARK,
) -> Finding:
    """A finding about a marked place."""
    return Finding(
        code=code,
        place=item.label,
        frame=item.mark.frame,
        mark=item.mark.id,
        statement=statement,
        verdict=judged,
        quantities=quantities,
        limit=limit,
        evidence=(Evidence(kind="picture", reference=item.mark.frame, mark=item.mark.id),),
        sources=tuple(say(id) for id in sources),
        rests_on=rests_on,
    )


def judged_in_winter(case: Case, item: Examined) -> Iterator[Finding]:
    """Temperature factor, the humidity at which the place turns damp, the surface at the set's conditions."""
    if item.place.factor is None:
        if item.is_suspect:
            is_inside = is_inner(case.site.frames[item.mark.frame])
            statement = say(
                "envelope.no-factor-inside" if is_inside else "envelope.no-factor", place=item.label
            )
            yield at_place(item, "envelope.no-factor", statement)
        return
    limits = limits_of(case)
    yield _factor(case, item, limits)
    if item.is_suspect:
        yield _highest_humidity(item, limits)
        yield _at_conditions(item, limits)


def _factor(case: Case, item: Examined, limits: LimitSet) -> Finding:
    shown = quantity("temperature-factor", measured(item.place.factor, ""))  # type: ignore[arg-type]
    judged = verdict(shown, limits.factor_limit)
    statement = say(
        f"envelope.temperature-factor.{judged.replace(' ', '-')}",
        place=item.label,
        value=shown.shown(),
        limit=Number(limits.factor, "", 2),
        film=Number(limits.film_m2k_w, "m2K/W", 2),
    )
    found = at_place(
        item,
        "envelope.temperature-factor",
        statement,
        (shown,),
        judged=judged,
        limit=limits.factor_limit,
        sources=("source.temperature-factor", "source.radiation"),
    )
    return replace(
        found, cautions=cautions(case, item.mark, judged), next_steps=next_steps(case, item, judged)
    )


def _conditions(limits: LimitSet) -> dict[str, Number]:
    return {
        "indoor": Number(limits.indoor_degc, "degC", 0),
        "outdoor": Number(limits.outdoor_degc, "degC", 0),
        "surface_humidity": Number(100.0 * limits.surface_humidity, "%", 0),
    }


def _highest_humidity(item: Examined, limits: LimitSet) -> Finding:
    """Room humidity at which the surface reaches the limit's, at the set's temperatures."""
    humidity = highest_indoor_humidity(
        np.asarray(item.place.factor),
        limits.indoor_degc,
        limits.outdoor_degc,
        surface_humidity=limits.surface_humidity,
    )
    shown = quantity("highest-room-humidity", measured(100.0 * np.minimum(humidity, 1.0), "%"))
    statement = say("envelope.turns-damp", place=item.label, value=shown.shown(), **_conditions(limits))
    return at_place(item, "envelope.turns-damp", statement, (shown,), sources=("source.surface-humidity",))


def _at_conditions(item: Examined, limits: LimitSet) -> Finding:
    """Temperature and humidity of the surface at the set's conditions."""
    surface = surface_temperature_from_factor_degc(
        np.asarray(item.place.factor), limits.indoor_degc, limits.outdoor_degc
    )
    degrees = quantity("surface-temperature-at-conditions", measured(surface, "degC"))
    humidity = quantity(
        "surface-humidity-at-conditions",
        measured(np.asarray(item.place.humidity_at_conditions_percent), "%"),
    )
    limit = limits.humidity_limit("surface-humidity-at-conditions")
    judged = verdict(humidity, limit)
    statement = say(
        f"envelope.at-conditions.{judged.replace(' ', '-')}",
        place=item.label,
        degrees=degrees.shown(),
        humidity=humidity.shown(),
        room_humidity=Number(100.0 * limits.indoor_humidity, "%", 0),
        limit=Number(limit.value, "%", 0),
        indoor=Number(limits.indoor_degc, "degC", 0),
        outdoor=Number(limits.outdoor_degc, "degC", 0),
    )
    return at_place(
        item,
        "envelope.at-conditions",
        statement,
        (humidity, degrees),
        judged=judged,
        limit=limit,
        sources=("source.surface-humidity",),
    )
