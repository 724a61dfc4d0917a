"""Heating: do radiators and heated floors work, and what do they give?

Parts are folders beside this file; each states its subjects, steps, remarks, findings, pictures, charts, and
what compares between visits.
"""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.alignment import photo_pairs_step
from thermalkit.diagnosis.change import Compared
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Chart, Finding, Picture, Remark, Survey
from thermalkit.diagnosis.heating import floor, radiators
from thermalkit.diagnosis.proposals import FRAME_READS, frames_step, remark_step, used_frames
from thermalkit.language import say
from thermalkit.site.sections.floors import FixingKeys, FloorLoopKeys
from thermalkit.site.sections.radiators import RadiatorKeys

PARTS = (radiators, floor)
SUBJECTS = tuple(subject for part in PARTS for subject in part.SUBJECTS)


def _propose_frames(case: Case) -> list[str]:
    """Frames of what is heated, and those that an entry of the site file names."""
    sections = case.site.sections
    named = {keys.frame for keys in sections(RadiatorKeys)}
    named |= {keys.frame for keys in sections(FloorLoopKeys)} | {keys.frame for keys in sections(FixingKeys)}
    return [n for n, f in case.site.frames.items() if f.keys.subject in SUBJECTS or n in named]


STEPS = (
    frames_step("heating", _propose_frames, reads=(*FRAME_READS, "radiators", "floor_loops", "fixings")),
    photo_pairs_step("heating", used_frames),
    *(step for part in PARTS for step in part.STEPS),
    remark_step("heating"),
)


def survey(case: Case) -> Survey:
    """Every remark, and whether there is anything to judge."""
    remarks = tuple(remark for part in PARTS for remark in part.remarks(case))
    usable = bool(case.decided.get("answers") or case.decided["frames"])
    nothing = () if usable else (Remark(statement=say("heating.remark.nothing"), effect="excludes"),)
    return Survey(usable=usable, remarks=(*nothing, *remarks))


def findings(case: Case) -> Iterator[Finding]:
    """Findings of every part."""
    for part in PARTS:
        yield from part.findings(case)


def pictures(case: Case) -> Iterator[Picture]:
    """Pictures of every part."""
    for part in PARTS:
        yield from part.pictures(case)


def charts(case: Case) -> Iterator[Chart]:
    """Charts of every part."""
    for part in PARTS:
        yield from part.charts(case)


def compared(case: Case) -> Iterator[Compared]:
    """What compares between visits, of every part."""
    for part in PARTS:
        yield from part.compared(case)


def shared(new: Case, old: Case) -> Iterator[str]:
    """Draws that both visits share, of every part."""
    for part in PARTS:
        yield from part.shared(new, old)
