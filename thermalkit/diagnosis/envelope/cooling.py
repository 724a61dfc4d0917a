"""Places of a cooled building: heat that comes in, and moisture from the room's air or from outdoors.

In a humid climate it is outdoor air that wets cooled surfaces, wherever it finds a way in. Where the room's
own air stays dry on a surface, leaked outdoor air may not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from thermalkit.diagnosis.cautions import cautions
from thermalkit.diagnosis.conditions import LEAST_DIFFERENCE_K
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.examined import Examined, limits_of
from thermalkit.diagnosis.envelope.judged import at_place
from thermalkit.diagnosis.finding import Finding, Limit, NextStep, Quantity, quantity
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.surroundings import indoor_degc, outdoor_vapour_pa, room_air
from thermalkit.glossary import TERMS
from thermalkit.language import Number, say
from thermalkit.measured import measured
from thermalkit.physics.moist_air import surface_humidity

CONDENSING_PERCENT = 100.0


def judged_in_summer(case: Case, item: Examined) -> Iterator[Finding]:
    """Outdoor share, the room's air on the surface, outdoor air leaked to it, heat coming in now."""
    yield from _share(item)
    yield from _room_air(case, item)
    if item.is_suspect:
        yield from _leaked_air(case, item)
        yield from _gain(case, item)


def _share(item: Examined) -> Iterator[Finding]:
    """How much of outdoors is in the surface."""
    if item.place.factor_as_found is None:
        return
    shown = quantity("outdoor-share", measured(1.0 - item.place.factor_as_found, ""))
    statement = say("envelope.outdoor-share", place=item.label, value=shown.shown())
    sources = ("source.temperature-factor", "source.radiation")
    yield at_place(item, "envelope.outdoor-share", statement, (shown,), sources=sources)


def _room_air(case: Case, item: Examined) -> Iterator[Finding]:
    held = room_air_held(case, item)
    if held is not None:
        yield _humid(case, item, "room-air", *held)


def _leaked_air(case: Case, item: Examined) -> Iterator[Finding]:
    held = leaked_air_held(case, item)
    if held is not None:
        yield _humid(case, item, "leaked-air", *held)


def room_air_held(case: Case, item: Examined) -> tuple[Quantity, Limit] | None:
    """Humidity of the room's air at the surface and its limit; None where it was not read."""
    if item.place.humidity_percent is None:
        return None
    shown = quantity("surface-humidity", measured(item.place.humidity_percent, "%"))
    return shown, limits_of(case).humidity_limit("surface-humidity")


def leaked_air_held(case: Case, item: Examined) -> tuple[Quantity, Limit] | None:
    """That of outdoor air that reaches the surface through a leak, against condensation."""
    pressure = outdoor_vapour_pa(case)
    if pressure is None:
        return None
    humidity = 100.0 * surface_humidity(pressure, item.place.surface_degc)
    limit = Limit(
        term=TERMS["leaked-air-humidity"],
        sense="at_most",
        value=CONDENSING_PERCENT,
        source=say("envelope.leaked-air.limit"),
    )
    return quantity("leaked-air-humidity", measured(humidity, "%")), limit


def _humid(case: Case, item: Examined, which: str, shown: Quantity, limit: Limit) -> Finding:
    judged = verdict(shown, limit)
    statement = say(
        f"envelope.{which}.{judged.replace(' ', '-')}",
        place=item.label,
        value=shown.shown(),
        limit=Number(limit.value, "%", 0),
    )
    found = at_place(
        item,
        f"envelope.{which}",
        statement,
        (shown,),
        judged=judged,
        limit=limit,
        sources=("source.surface-humidity",),
    )
    is_open = item.is_suspect and judged != "not indicated"
    step = NextStep(step=say(f"envelope.next.{which}"), by=say("by.ventilation"))
    return replace(found, cautions=cautions(case, item.mark, judged), next_steps=(step,) if is_open else ())


def _gain(case: Case, item: Examined) -> Iterator[Finding]:
    """Extra heat coming in at the difference of the visit."""
    extra = item.loss.extra_w_k
    air = room_air(case, case.site.frames[item.mark.frame].room)
    outdoor = case.site.keys.weather.air_temperature_degc
    if extra is None or air is None or outdoor is None:
        return
    difference = outdoor - float(np.median(indoor_degc(case, air)))
    if difference < LEAST_DIFFERENCE_K:
        return
    shown = quantity("extra-heat-gain", measured(extra * difference, "W"))
    statement = say(
        "envelope.loss.gain-now",
        place=item.label,
        value=shown.shown(),
        difference=Number(difference, "K", 0),
    )
    yield at_place(
        item, "envelope.loss.gain-now", statement, (shown,), sources=("envelope.source.extra-flow",)
    )
