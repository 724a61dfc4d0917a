"""Control cabinets: what is overloaded, what is badly connected, how urgent. For qualified persons only."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Chart, Finding, Line, Picture
from thermalkit.diagnosis.panel.cause import causes
from thermalkit.diagnosis.panel.charts import conductor_charts
from thermalkit.diagnosis.panel.compared import compared as compared
from thermalkit.diagnosis.panel.conditions import survey as survey
from thermalkit.diagnosis.panel.examined import Examined, examined
from thermalkit.diagnosis.panel.judged import judged
from thermalkit.diagnosis.panel.round import in_order, mirrors, not_seen
from thermalkit.diagnosis.panel.steps import STEPS as STEPS
from thermalkit.language import say


def findings(case: Case) -> Iterator[Finding]:
    """What is out of the ordinary, the furthest first; then what is in order; then what was not seen."""
    items = examined(case)
    for item in exceptions(items):
        yield from judged(case, item)
        yield from causes(case, item)
    yield from mirrors(case, items)
    yield from in_order(case, items)
    yield from not_seen(case, items)


def exceptions(items: tuple[Examined, ...]) -> list[Examined]:
    """Circuits out of the ordinary, the furthest first; mirrored spots are told by cabinet."""
    found = (item for item in items if item.is_exception and not item.is_reflection)
    return sorted(found, key=lambda item: -item.urgency)


def charts(case: Case) -> Iterator[Chart]:
    """Along the conductors of what is out of the ordinary."""
    for item in exceptions(examined(case)):
        yield from conductor_charts(case, item)


def pictures(case: Case) -> Iterator[Picture]:
    """Each frame in use: every terminal, whole circuits out of the ordinary, what the insulation bears."""
    items = examined(case)
    told = {mark for item in exceptions(items) for mark in item.way.marks.values()}
    rest = (*case.decided["conductors"], *case.decided["devices"])
    marks = (*case.decided["terminals"], *(mark for mark in rest if mark in told))
    bounds_degc = {
        item.way.first.frame: item.bound.value
        for item in items
        if item.way.first is not None and item.bound is not None
    }
    for name in case.decided["frames"]:
        bound = bounds_degc.get(name)
        lines = () if bound is None else (Line(temperature_degc=bound, label=say("panel.line.insulation")),)
        yield Picture(frame=name, marks=tuple(m for m in marks if m.frame == name), lines=lines)
