"""What is asked about heated floors, and what is proposed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

import numpy as np

from thermalkit.diagnosis.decisions import Answers, Asked, Case, MarksOn, Step
from thermalkit.diagnosis.heating.floor.looked import Floor, fixings, floor_frames, floors, place_on, traced
from thermalkit.diagnosis.proposals import FRAME_READS, written_marks
from thermalkit.imaging.mark import Mark
from thermalkit.imaging.ridges import Centreline
from thermalkit.language import say

READS = (*FRAME_READS, "plans", "floor_loops", "fixings")
WARM, PASSING = "warm", "passing"
_OUTCOMES = {WARM: ("all-warm", "some-cold"), PASSING: ("none", "all-warm", "some-cold")}
_TOLERANCE_PX = 0.4
_MOST_POINTS = 400


def has_floors(case: Case) -> bool:
    """Whether a picture shows a heated floor."""
    return bool(floor_frames(case))


def best_frames(case: Case) -> tuple[str, ...]:
    """Of each floor the picture on which its lines stand out most."""
    return tuple(dict.fromkeys(floor.frame for floor in floors(case)))


def propose_covered(case: Case) -> list[dict[str, Any]]:
    """Furniture, rugs, thresholds and manifolds of the site file."""
    return [mark for name in floor_frames(case) for mark in written_marks(case, name, "covered")]


def propose_pipes(case: Case) -> list[dict[str, Any]]:
    """Pipes drawn in the site file, else every warm line found; what was bridged is a mark of its own."""
    found: list[dict[str, Any]] = []
    for floor in floors(case):
        written = written_marks(case, floor.frame, "pipe")
        found += written or [mark.as_json() for mark in proposed_lines(case, floor)]
    return found


def proposed_lines(case: Case, floor: Floor) -> Iterator[Mark]:
    """Traces of the lines found, longest first."""
    around = traced(case, floor)
    if around is None or floor.keys.heated_by == "electric mat":
        return
    rows, columns = case.site.frames[floor.frame].apparent_degc.shape
    for number, line in enumerate(around.found.lines, start=1):
        pixels = around.plan.onto_frame.mapped(line.line_mm)
        inside = np.clip(pixels, -0.5, (rows - 0.5, columns - 0.5))
        for part, (first, last, is_bridged) in enumerate(_runs(line)):
            points = _simplified(inside[first : last + 1])
            if len(points) >= 2:
                yield Mark(
                    frame=floor.frame,
                    id=f"pipe {number}" + (f" {chr(97 + part)}" if part else ""),
                    shape="trace",
                    points=points,
                    role="bridged" if is_bridged else "pipe",
                )


def propose_fixings(case: Case) -> list[dict[str, Any]]:
    """Holes of the site file where they lie on their picture."""
    marks = []
    for floor in floors(case):
        for keys in fixings(case):
            place = place_on(case, floor, keys) if keys.frame in floor.series else None
            if place is not None:
                mark = Mark(frame=floor.frame, id=keys.id, shape="pin", points=(place,), role="fixing")
                marks.append(mark.as_json())
    return marks


def options(case: Case) -> Mapping[str, Asked]:
    """What only a look at the manifold tells, floor by floor."""
    return {
        f"{floor.id}: {question}": Asked(
            title=say(f"heating.floor.question.{question}"),
            by=say("heating.floor.by"),
            outcomes={o: say(f"heating.floor.outcome.{question}.{o}") for o in outcomes},
            about=floor.place,
        )
        for floor in floors(case)
        for question, outcomes in _OUTCOMES.items()
    }


def propose_answers(case: Case) -> dict[str, str]:
    """What the site file says of the manifold."""
    answers = {}
    for floor in floors(case):
        warm = {"yes": "all-warm", "no": "some-cold"}.get(floor.keys.every_loop_warm)
        passing = floor.keys.passing_pipes.replace(" ", "-")
        if warm is not None:
            answers[f"{floor.id}: {WARM}"] = warm
        if passing != "unknown":
            answers[f"{floor.id}: {PASSING}"] = passing
    return answers


def answer(case: Case, floor: Floor, question: str) -> str | None:
    """What was decided; None where nobody looked."""
    found: str | None = case.decided.get("manifold", {}).get(f"{floor.id}: {question}")
    return found


def _runs(line: Centreline) -> Iterator[tuple[int, int, bool]]:
    """First and last point of each stretch that was seen or bridged; they share their ends."""
    change = np.flatnonzero(np.diff(line.is_bridged.astype(int)))
    ends = [0, *(int(at) for at in change), len(line.is_bridged) - 1]
    for first, last in pairwise(ends):
        yield first, last, bool(line.is_bridged[min(first + 1, last)])


def _simplified(points: np.ndarray[Any, np.dtype[np.float64]]) -> tuple[tuple[float, float], ...]:
    from skimage.measure import approximate_polygon

    fine = approximate_polygon(points, _TOLERANCE_PX)
    step = max(1, len(fine) // _MOST_POINTS)
    return tuple((round(float(row), 2), round(float(column), 2)) for row, column in fine[::step])


STEPS = (
    Step(
        name="covered",
        kind="heating",
        control=MarksOn("covered", floor_frames, of_the_day=True),
        propose=propose_covered,
        reads=READS,
        uses=("frames",),
        applies=has_floors,
    ),
    Step(
        name="pipe",
        kind="heating",
        control=MarksOn("pipe", best_frames, of_the_day=True),
        propose=propose_pipes,
        reads=READS,
        uses=("frames", "covered"),
        applies=has_floors,
    ),
    Step(
        name="manifold",
        kind="heating",
        control=Answers(options),
        propose=propose_answers,
        reads=READS,
        uses=("frames",),
        only_a_person=True,
        applies=has_floors,
    ),
    Step(
        name="fixing",
        kind="heating",
        control=MarksOn("fixing", best_frames),
        propose=propose_fixings,
        reads=READS,
        uses=("frames", "covered", "pipe"),
        applies=has_floors,
    ),
)
