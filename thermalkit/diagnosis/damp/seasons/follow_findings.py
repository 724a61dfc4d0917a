"""Findings: what the water at a place follows, by which loggers; also that it follows nothing tested."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.damp.seasons.climate import files_of
from thermalkit.diagnosis.damp.seasons.timing import Timing, following_of, timings_of
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, say

_HOURS_A_DAY = 24.0


def follow_findings(case: Case, place: Place) -> Iterator[Finding]:
    """One finding for each thing that could be tested at a place."""
    timings = timings_of(case, place)
    found = following_of(timings)
    for item in timings:
        yield _follows(case, place, item, is_followed=item in found)


def _follows(case: Case, place: Place, item: Timing, *, is_followed: bool) -> Finding:
    chance = Number(max(100.0 * item.follows.chance, 1.0), "%", 0)
    return Finding(
        code="damp.season.follows",
        place=place_label(case, place.mark),
        frame=place.mark.frame,
        mark=place.mark.id,
        statement=say(
            f"damp.season.follows.{'yes' if is_followed else 'no'}",
            place=place_label(case, place.mark),
            seen=say(f"damp.season.follows.seen.{item.seen}"),
            watched=item.watched.id,
            what=say(f"damp.season.follows.what.{item.outcome}"),
            driver=item.driver.id,
            events=item.events,
            days=Number(item.follows.hours / _HOURS_A_DAY, "", 0),
            half=Number(item.follows.half_h, "h", 0),
            chance=chance,
        ),
        evidence=(
            Evidence(kind="picture", reference=place.mark.frame, mark=place.mark.id),
            *(
                Evidence(kind="reading", reference=file)
                for keys in (item.watched, item.driver)
                for file in files_of(case, keys)
            ),
        ),
        sources=(say("damp.season.source.follows"),),
        rests_on=("frames", "suspect"),
    )
