"""The envelope: where it leaks heat or lets it in, how much, and what a cure would bring."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.conditions import survey as survey
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.air_leaks import leaks
from thermalkit.diagnosis.envelope.at_mark import quantities_at as quantities_at
from thermalkit.diagnosis.envelope.calculated import calculated_charts, calculated_findings
from thermalkit.diagnosis.envelope.compared import compared as compared
from thermalkit.diagnosis.envelope.cooling import judged_in_summer
from thermalkit.diagnosis.envelope.costs import losses, rough_transmittance, shape
from thermalkit.diagnosis.envelope.examined import all_examined, limits_of
from thermalkit.diagnosis.envelope.house import house_charts, house_findings
from thermalkit.diagnosis.envelope.in_place import in_place_charts, in_place_findings
from thermalkit.diagnosis.envelope.judged import judged_in_winter
from thermalkit.diagnosis.envelope.steps import STEPS as STEPS
from thermalkit.diagnosis.finding import Chart, Finding, Line, Picture
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.language import Number, say
from thermalkit.physics.moist_air import critical_surface_temperature_degc

HARM_BY = "envelope.temperature-factor"  # what many sites are ranked and counted by


def findings(case: Case) -> Iterator[Finding]:
    """The house and its rooms, then place by place, suspect places first."""
    items = all_examined(case)
    yield from house_findings(case, items)
    for item in items:
        yield from leaks(case, item)
        yield from judged_in_summer(case, item) if item.is_cooled else judged_in_winter(case, item)
        yield from losses(case, item)
        yield from shape(case, item)
        yield from calculated_findings(case, item)
        yield from rough_transmittance(case, item)
    yield from in_place_findings(case)


def charts(case: Case) -> Iterator[Chart]:
    """Places and rooms side by side, measured beside calculated, and how measurements in place settled."""
    items = all_examined(case)
    yield from house_charts(case, items)
    for item in items:
        yield from calculated_charts(case, item)
    yield from in_place_charts(case)


def pictures(case: Case) -> Iterator[Picture]:
    """Each frame in use with its marks and the temperature at which the room's air turns damp on it."""
    marks = case.decided["suspect"] + case.decided["sound"]
    for name in case.decided["frames"]:
        here = tuple(m for m in (*marks, *case.decided.get("trace", ())) if m.frame == name)
        yield Picture(frame=name, marks=here, lines=tuple(_lines(case, name)))


def _lines(case: Case, frame: str) -> Iterator[Line]:
    air = room_air(case, case.site.frames[frame].room)
    if air is None or air.relative_humidity is None:
        return
    humidity = limits_of(case).surface_humidity
    draws = critical_surface_temperature_degc(
        air.temperature_degc, air.relative_humidity, surface_humidity=humidity
    )
    percent = Number(100.0 * humidity, "%", 0)
    yield Line(temperature_degc=float(np.median(draws)), label=say("line.critical", humidity=percent))
