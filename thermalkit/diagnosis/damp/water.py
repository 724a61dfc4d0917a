"""Which water is at a marked place: what is already known, what it says, what to look at next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from thermalkit.diagnosis.causes import answers_at, reasons
from thermalkit.diagnosis.damp.causes import PREFIX, table
from thermalkit.diagnosis.damp.causes.evidence import (
    afternoon_answers,
    dry_wall_answers,
    house_answers,
    sample_answers,
    verdict_answers,
)
from thermalkit.diagnosis.damp.causes.wording import cautions, next_steps, source, statement
from thermalkit.diagnosis.damp.seasons import season_evidence
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Alternative, Evidence, Finding, quantity
from thermalkit.diagnosis.judging import limit_sets, verdict
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import Place, place
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.diagnosis.weighing import UNKNOWN, Weighing, posterior
from thermalkit.imaging.mark import Mark
from thermalkit.language import Sentence, say
from thermalkit.measured import measured
from thermalkit.site.sections.samples import SampleKeys

ONLY_WHEN_COOLED = ("streak", "dew-point")
MORE_LIKELY_THAN_NOT = 0.5
SURE_ENOUGH = 0.9  # own choice: from here on nothing more is asked to be measured
_LIQUID = ("ground", "bridged", "rain", "plumbing", "construction")
CONSIDERED_FROM = 0.02  # below it an explanation is not worth a line


def place_id(mark: Mark) -> str:
    """Names a place in a form: marks of different frames may share a name."""
    return f"{mark.frame}/{mark.id}"


def known_answers(case: Case, mark: Mark) -> dict[str, str]:
    """Answers that follow from frame, loggers, samples and notes, by question."""
    room = case.site.frames[mark.frame].room
    room_id = room.id if room is not None else None
    samples = [item for item in case.site.sections(SampleKeys) if item.room == room_id]
    found = place(case, mark, limit_sets()[case.decided["limit"]])
    return {
        **house_answers(case.site, room_id),
        **sample_answers(samples),
        **_frame_answers(case, found),
        **_dry_wall_answers(case, found),
        **season_evidence(case, found),
    }


def weighed(case: Case, mark: Mark) -> Weighing:
    """How likely each source is at a place, by the answers decided on."""
    return posterior(table(), _answers(case, mark))


def source_probabilities(case: Case, mark: Mark) -> Mapping[str, float] | None:
    """Probability of each source, or None where nothing was asked."""
    return weighed(case, mark).probability if "water" in case.decided else None


def comes_from_elsewhere(case: Case, mark: Mark) -> bool:
    """Whether liquid water from elsewhere is the likelier explanation: it cools the place by drying."""
    probability = source_probabilities(case, mark) or {}
    return any(probability.get(name, 0.0) >= MORE_LIKELY_THAN_NOT for name in _LIQUID)


def water(case: Case, mark: Mark) -> Iterator[Finding]:
    """Which water, how sure, what speaks for it, and what to look at next."""
    if "water" not in case.decided:
        return
    answers, found = _answers(case, mark), weighed(case, mark)
    settled = found.first != UNKNOWN and found.probability[found.first] >= SURE_ENOUGH
    left_out = () if answers.get("cooled") == "cooled" else ONLY_WHEN_COOLED
    yield Finding(
        code="damp.cause",
        place=place_label(case, mark),
        frame=mark.frame,
        mark=mark.id,
        statement=statement(found, place_label(case, mark), is_dry=answers.get("wet-now") == "dry"),
        probability=None if found.first == UNKNOWN else round(found.probability[found.first], 2),
        reasons=_reasons(found),
        alternatives=tuple(
            Alternative(name=source(id), probability=round(probability, 2))
            for id, probability in found.probability.items()
            if probability >= CONSIDERED_FROM
        ),
        evidence=(Evidence(kind="answer", reference="water"),),
        sources=(say("source.weighing"),),
        cautions=cautions(answers, most=0 if settled else 3, leave_out=left_out),
        next_steps=() if settled else next_steps(answers, leave_out=left_out),
        rests_on=("water", "factors"),
    )


def _answers(case: Case, mark: Mark) -> dict[str, str]:
    return answers_at(case.decided.get("water", {}), place_id(mark))


def _reasons(found: Weighing) -> tuple[Sentence, ...]:
    leading = next(id for id in found.probability if id != UNKNOWN)
    return reasons(found, leading, PREFIX, most=3)


def _dry_wall_answers(case: Case, found: Place) -> dict[str, str]:
    """Of a wall between rooms: a bound on how cold it could be dry follows from the air of both."""
    frame = case.site.frames[found.mark.frame]
    beyond = next((room for room in case.site.keys.rooms if room.id == frame.keys.far_side), None)
    airs = (room_air(case, frame.room), room_air(case, beyond))
    read = [air.temperature_degc for air in airs if air is not None]
    if len(read) < len(airs):
        return {}
    return dry_wall_answers(measured(found.surface_degc - np.minimum(*read), "K"))


def _frame_answers(case: Case, found: Place) -> dict[str, str]:
    limits = limit_sets()[case.decided["limit"]]
    if found.humidity_percent is None:
        return {}
    humidity = quantity("surface-humidity", measured(found.humidity_percent, "%"))
    judged_factor = None
    if found.factor is not None:
        factor = quantity("temperature-factor", measured(found.factor, ""))
        judged_factor = verdict(factor, limits.factor_limit)
    return {
        **verdict_answers(verdict(humidity, limits.humidity_limit("surface-humidity")), judged_factor),
        **afternoon_answers(humidity.measured),
    }
