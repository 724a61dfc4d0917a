"""Where a visit cannot answer: what is missing, and what would decide; said first."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce

from thermalkit.diagnosis.conditions import frame_remarks, visit_remarks
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, NextStep
from thermalkit.language import Sentence, say
from thermalkit.site.model import RoomKeys
from thermalkit.site.survey import SurveyFrame

_WEATHER = {
    "difference-too-small": "weather",
    "sun-still-there": "sun",
    "no-outdoor": "outdoor",
    "no-indoor": "indoor",
    "low-emissivity": "surface",
}


def unanswered(case: Case) -> Iterator[Finding]:
    """One finding for each room of which pictures were taken and none may be used."""
    used = {case.site.frames[name].keys.room for name in case.decided["frames"]}
    for room in case.site.keys.rooms:
        frames = [frame for frame in case.site.frames.values() if frame.keys.room == room.id]
        if not frames or room.id in used:
            continue
        missing = list(_missing(case, room, frames))
        if missing:
            yield Finding(
                code="damp.unanswered",
                place=room.label,
                statement=say("damp.unanswered", room=room.label, missing=reduce(_and, missing)),
                evidence=(Evidence(kind="reading", reference="site.toml"),),
                next_steps=(
                    NextStep(step=say("damp.unanswered.again"), by=say("by.surveyor")),
                    NextStep(step=say("damp.season.next.surface-logger"), by=say("by.surveyor")),
                ),
                rests_on=("frames",),
            )


def _missing(case: Case, room: RoomKeys, frames: list[SurveyFrame]) -> Iterator[Sentence]:
    if room.relative_humidity_percent is None:
        yield say("damp.unanswered.humidity")
    named = {frame.keys.id for frame in frames}
    if not any(item.frame in named and item.kind != "foil" for item in case.site.keys.references):
        yield say("damp.unanswered.contact")
    remarks = [*visit_remarks(case), *(r for frame in frames for r in frame_remarks(case, frame))]
    found = [r.statement.id.rpartition(".")[2] for r in remarks if r.effect == "excludes"]
    yield from (say(f"damp.unanswered.{_WEATHER[id]}") for id in dict.fromkeys(found) if id in _WEATHER)


def _and(first: Sentence, second: Sentence) -> Sentence:
    return say("damp.unanswered.and", first=first, second=second)
