"""What the surveyor is asked about the envelope, and what is proposed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from thermalkit.diagnosis.alignment import photo_pairs_step
from thermalkit.diagnosis.decisions import Answers, Asked, Case, MarksOn, Step
from thermalkit.diagnosis.envelope.air_leaks import UNCHANGED, views_alike
from thermalkit.diagnosis.envelope.examined import junction_at, place_id, sound_on
from thermalkit.diagnosis.envelope.shapes import shape_of, signatures
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.proposals import (
    FRAME_READS,
    appliance_step,
    frames_step,
    limit_step,
    proposed_frames,
    proposed_sound,
    remark_step,
    used_frames,
    written_marks,
)
from thermalkit.diagnosis.suggestions import suggested_places
from thermalkit.diagnosis.surface import statistics_of
from thermalkit.diagnosis.surroundings import is_inner
from thermalkit.imaging.mark import Mark
from thermalkit.language import say
from thermalkit.physics.detail_walls import OpeningEdge
from thermalkit.physics.details import details
from thermalkit.site.sections.junctions import JunctionKeys
from thermalkit.site.sections.pressure import PressureKeys

NO_SHAPE = "none"
MOST_PROPOSED = 3  # places of one frame; a person adds the rest


def _proposed_frames(case: Case) -> list[str]:
    """Frames that no remark excludes, inner walls left out: they are no part of the envelope."""
    return [name for name in proposed_frames(case) if not is_inner(case.site.frames[name])]


def _proposed_suspects(case: Case) -> list[dict[str, Any]]:
    """The places marked in the site file; on a frame without one, what stands out."""
    return [
        mark
        for name in _frames_to_mark(case)
        for mark in written_marks(case, name, "suspect") or _standing_out(case, name)
    ]


def _frames_to_mark(case: Case) -> list[str]:
    """A frame that repeats a view under pressure is read at the places of the first."""
    repeated = {item.frame for item in case.site.sections(PressureKeys)}
    return [name for name in used_frames(case) if name not in repeated]


def _proposed_sound(case: Case) -> list[dict[str, Any]]:
    """An even stretch of each frame that is not a view repeated."""
    frames = _frames_to_mark(case)
    return [mark for mark in proposed_sound(case) if mark["frame"] in frames]


def _standing_out(case: Case, name: str) -> list[dict[str, Any]]:
    return [mark.as_json() for mark in suggested_places(case, name, most=MOST_PROPOSED)]


def _junction_options(case: Case) -> Mapping[str, Asked]:
    """Two questions for each suspect place: what is built there, and what its outline looks like."""
    built = {name: say(f"detail.{name}") for name in details()}
    built |= {"plain": say("envelope.junction.plain"), "unknown": say("answer.unknown")}
    shapes = {name: say(f"envelope.shape.name.{name}") for name in (*signatures(), NO_SHAPE)}
    questions = {}
    for mark in case.decided["suspect"]:
        label = place_label(case, mark)
        for topic, outcomes in (("junction", built), ("shape", shapes)):
            questions[f"{place_id(mark)}: {topic}"] = Asked(
                title=say(f"envelope.question.{topic}"), by=say("by.surveyor"), outcomes=outcomes, about=label
            )
    return questions


def _proposed_junctions(case: Case) -> dict[str, str]:
    """What the site file says is built there, and the outline as it was measured."""
    written = {(item.frame, item.mark): item.detail for item in case.site.sections(JunctionKeys)}
    answers = {}
    for mark in case.decided["suspect"]:
        detail = written.get((mark.frame, mark.id))
        if detail:
            answers[f"{place_id(mark)}: junction"] = detail
        shape = shape_of(case, mark, sound_on(case, mark.frame))
        if shape:
            answers[f"{place_id(mark)}: shape"] = shape
    return answers


def _proposed_traces(case: Case) -> list[dict[str, Any]]:
    """A line from each known junction, level or upright, towards the sound place."""
    return [
        trace.as_json()
        for mark in case.decided["suspect"]
        if junction_at(case, mark) and (trace := _trace(case, mark)) is not None
    ]


def _trace(case: Case, mark: Mark) -> Mark | None:
    """Across the mark's narrow side: from the edge of an opening, or from the coldest spot of a corner."""
    sound, coldest = sound_on(case, mark.frame), statistics_of(case, mark).coldest
    if sound is None or coldest is None:
        return None
    rows, columns = zip(*sound.points, strict=True)
    middle = [(min(rows) + max(rows)) / 2.0, (min(columns) + max(columns)) / 2.0]
    spans = [(min(ends), max(ends)) for ends in zip(*mark.points, strict=True)]
    clear = [axis for axis in (0, 1) if not spans[axis][0] <= middle[axis] <= spans[axis][1]]
    if not clear:
        return None
    across = min(clear, key=lambda axis: spans[axis][1] - spans[axis][0])
    start, end = list(coldest.place), list(coldest.place)
    end[across] = middle[across]
    if issubclass(details()[junction_at(case, mark) or ""], OpeningEdge):
        start[across] = spans[across][0 if middle[across] > start[across] else 1]
    points = ((start[0], start[1]), (end[0], end[1]))
    return Mark(frame=mark.frame, id=f"{mark.id} →", shape="trace", points=points, role="trace")


def _pressure_options(case: Case) -> Mapping[str, Asked]:
    """For each frame, which other one shows the same view without a pressure difference."""
    return {
        name: Asked(
            title=say("envelope.question.pressure", frame=name),
            by=say("by.surveyor"),
            outcomes={
                UNCHANGED: say("envelope.pressure.unchanged"),
                **{other: say("envelope.pressure.same-view", frame=other) for other in others},
            },
            about=name,
        )
        for name, others in views_alike(case).items()
    }


def _proposed_pressure(case: Case) -> dict[str, str]:
    alike = views_alike(case)
    written = {item.frame: item.same_view_as for item in case.site.sections(PressureKeys)}
    return {name: written[name] for name in alike if written.get(name) in alike[name]}


STEPS = (
    frames_step("envelope", _proposed_frames),
    photo_pairs_step("envelope", used_frames),
    limit_step("envelope"),
    Step(
        name="suspect",
        kind="envelope",
        control=MarksOn("suspect", used_frames, suggested_places),
        propose=_proposed_suspects,
        reads=(*FRAME_READS, "pressure"),
        uses=("frames",),
    ),
    Step(
        name="sound",
        kind="envelope",
        control=MarksOn("sound", used_frames),
        propose=_proposed_sound,
        reads=(*FRAME_READS, "pressure"),
        uses=("frames", "suspect"),
    ),
    Step(
        name="junction",
        kind="envelope",
        control=Answers(_junction_options),
        propose=_proposed_junctions,
        reads=(*FRAME_READS, "junctions"),
        uses=("suspect", "sound"),
        applies=lambda case: bool(case.decided["suspect"]),
    ),
    Step(
        name="trace",
        kind="envelope",
        control=MarksOn("trace", used_frames),
        propose=_proposed_traces,
        reads=FRAME_READS,
        uses=("frames", "suspect", "sound", "junction"),
        applies=lambda case: any(junction_at(case, mark) for mark in case.decided["suspect"]),
    ),
    Step(
        name="pressure",
        kind="envelope",
        control=Answers(_pressure_options),
        propose=_proposed_pressure,
        reads=(*FRAME_READS, "pressure"),
        uses=("frames",),
        applies=lambda case: bool(views_alike(case)),
    ),
    appliance_step("envelope"),
    remark_step("envelope"),
)
