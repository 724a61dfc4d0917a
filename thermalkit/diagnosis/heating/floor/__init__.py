"""Heated floors: does each work, where do its pipes run, and is one near a planned hole."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Chart, Finding, Picture, Remark
from thermalkit.diagnosis.heating.floor.compared import compared as compared
from thermalkit.diagnosis.heating.floor.fixings import fixing_findings
from thermalkit.diagnosis.heating.floor.looked import Floor, covered_on, floors, minutes_of
from thermalkit.diagnosis.heating.floor.loops import loop_findings
from thermalkit.diagnosis.heating.floor.steps import STEPS as STEPS
from thermalkit.diagnosis.heating.floor.warming import warming_charts
from thermalkit.language import say

SUBJECTS = ("floor",)


def findings(case: Case) -> Iterator[Finding]:
    """Planned holes first, then floor by floor."""
    yield from fixing_findings(case)
    yield from loop_findings(case)


def charts(case: Case) -> Iterator[Chart]:
    """How a floor warms up."""
    yield from warming_charts(case)


def pictures(case: Case) -> Iterator[Picture]:
    """Each floor with its pipes, what covers it, and the planned holes."""
    for floor in floors(case):
        marks = tuple(
            mark
            for step in ("fixing", "pipe")
            for mark in case.decided.get(step, ())
            if mark.frame == floor.frame
        )
        marks = (*marks, *covered_on(case, floor))
        yield Picture(frame=floor.frame, marks=marks)


def remarks(case: Case) -> Iterator[Remark]:
    """What a picture of a floor cannot tell, and why."""
    for floor in floors(case):
        yield from _plan_remarks(floor)
        if floor.keys.heated_by != "electric mat" and minutes_of(case, floor, floor.frame) is None:
            yield Remark(
                statement=say("heating.remark.steady-floor", place=floor.place),
                effect="none",
                frame=floor.frame,
            )


def shared(new: Case, old: Case) -> Iterator[str]:
    """Nothing."""
    yield from ()


def _plan_remarks(floor: Floor) -> Iterator[Remark]:
    if floor.plan is None:
        yield Remark(
            statement=floor.why_no_plan or say("heating.remark.no-plan", place=floor.place),
            effect="widens",
            frame=floor.frame,
        )
    elif not floor.plan.is_checked:
        yield Remark(
            statement=say("heating.remark.unchecked-plan", place=floor.place),
            effect="widens",
            frame=floor.frame,
        )
