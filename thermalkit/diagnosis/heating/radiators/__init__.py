"""Radiators: does each work, what does it give, and is the house's water shared as its rooms need it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.change import Compared
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Chart, Finding, Line, Picture, Remark
from thermalkit.diagnosis.heating.radiators.cooled import cooled_findings, is_cooled
from thermalkit.diagnosis.heating.radiators.house import house_charts, house_findings, need_findings
from thermalkit.diagnosis.heating.radiators.output import (
    RESTS_ON,
    output_findings,
    standard_output_w,
    wall_findings,
)
from thermalkit.diagnosis.heating.radiators.reading import (
    is_metallic,
    is_mirror,
    is_settled,
    shown,
    zone_ratios,
)
from thermalkit.diagnosis.heating.radiators.steps import STEPS as STEPS
from thermalkit.diagnosis.heating.radiators.steps import radiator_frames
from thermalkit.diagnosis.heating.radiators.subject import radiators
from thermalkit.diagnosis.heating.radiators.wording import cause_finding
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.language import Number, say

SUBJECTS = ("radiator",)
_PERCENT = 100.0


def findings(case: Case) -> Iterator[Finding]:
    """The house first, then radiator by radiator."""
    yield from house_findings(case)
    for item in radiators(case):
        if is_cooled(case, item):
            yield from cooled_findings(case, item)
            continue
        found = shown(case, item)
        yield from need_findings(case, item)
        yield cause_finding(case, item, found)
        yield from output_findings(case, item, found)
        yield from wall_findings(case, item, found)


def charts(case: Case) -> Iterator[Chart]:
    """Water and rooms side by side."""
    yield from house_charts(case)


def pictures(case: Case) -> Iterator[Picture]:
    """Each frame with outlines and what hides them, and the room's temperature."""
    for name in radiator_frames(case):
        marks = tuple(
            m for step in ("radiator", "hidden") for m in case.decided.get(step, ()) if m.frame == name
        )
        air = room_air(case, case.site.frames[name].room)
        lines = (
            (Line(temperature_degc=float(np.median(air.temperature_degc)), label=say("heating.line.room")),)
            if air is not None
            else ()
        )
        yield Picture(frame=name, marks=marks, lines=lines)


def remarks(case: Case) -> Iterator[Remark]:
    """What a picture cannot tell of a radiator, and why."""
    for item in radiators(case):
        if item.mark is None:
            continue
        frame = item.mark.frame
        if is_mirror(case, item):
            yield Remark(
                statement=say("heating.remark.mirror", place=item.place), effect="excludes", frame=frame
            )
        elif is_metallic(case, item):
            yield Remark(
                statement=say("heating.remark.metallic", place=item.place), effect="widens", frame=frame
            )
        if item.keys.minutes_steady is None:
            yield Remark(
                statement=say("heating.remark.time-unknown", place=item.place), effect="none", frame=frame
            )
        elif not is_settled(item):
            minutes = Number(item.keys.minutes_steady, "min", 0)
            yield Remark(
                statement=say("heating.remark.unsettled", place=item.place, minutes=minutes),
                effect="excludes",
                frame=frame,
            )
        if item.room is None or item.room.air_temperature_degc is None:
            yield Remark(
                statement=say("heating.remark.no-room", place=item.place), effect="excludes", frame=frame
            )


def compared(case: Case) -> Iterator[Compared]:
    """What of each radiator compares between visits: ratios of excess, and output at the same water."""
    for item in radiators(case):
        found = shown(case, item)
        if found is None or item.mark is None or not is_settled(item):
            continue
        ratios = zone_ratios(case, item, found)
        given = standard_output_w(case, item, found)
        terms = {
            "output-at-55": given,
            "warm-share": _PERCENT * ratios["warm"],
            "top-ratio": _PERCENT * ratios["top"] if "top" in ratios else None,
            "bottom-ratio": _PERCENT * ratios["bottom"] if "bottom" in ratios else None,
        }
        for term, draws in terms.items():
            if draws is not None:
                yield Compared(
                    place=item.place,
                    term=term,
                    draws=draws,
                    room=item.room.id if item.room is not None else None,
                    frame=item.mark.frame,
                    mark=item.mark.id,
                    rests_on=RESTS_ON,
                )


def shared(new: Case, old: Case) -> Iterator[str]:
    """Draws of a radiator that is the same on both visits: its rating, exponent and paint."""
    then = {item.id: item.keys for item in radiators(old)}
    same = ("type", "height_mm", "length_mm", "rated_output_w", "exponent", "finish")
    for item in radiators(new):
        before = then.get(item.id)
        if before is not None and all(getattr(before, key) == getattr(item.keys, key) for key in same):
            for name in ("output-by-type", "output-by-plate", "exponent-by-type", "water-above-surface"):
                yield f"{name} {item.id}"
