"""Steps, their proposals, and the decisions that keep or change them.

A decision is plain data (what stands in the record). Its *control* says of which form it is, checks
it, and tells a screen how to ask for it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from thermalkit.diagnosis.assumptions import Assumption, assumptions
from thermalkit.errors import ThermalkitError
from thermalkit.imaging.alignment import LEAST_PAIRS, MOST_PAIRS, Unaligned, align
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.language import Sentence, say
from thermalkit.measured import Draws
from thermalkit.site.earlier import EARLIER
from thermalkit.site.sections.clocks import ClockKeys

if TYPE_CHECKING:
    from thermalkit.site.survey import Site

NOT_LOOKED = "not-looked"


MOST_MARKS = 2000
MOST_POINTS = 2000  # of one mark, as in the site file
LARGEST_PHOTO = 100_000.0  # pixels along a side


class NotADecision(ThermalkitError):
    """A value that cannot be an answer to its step."""


class Control(Protocol):
    """The form of a decision."""

    def checked(self, value: Any, case: Case) -> Any:
        """The value as the step uses it; NotADecision where it is no answer."""


@dataclass(frozen=True, slots=True)
class MarksOn:
    """Marks on frames, all of one role; `frames` gives the ids they may lie on.

    `suggest` gives places of a frame that a person may want to mark. What was seen on the day itself
    (`of_the_day`), such as warm pipes or a rug, is not looked for on the picture of another visit.
    """

    role: str
    frames: Callable[[Case], tuple[str, ...]]
    suggest: Callable[[Case, str], tuple[Mark, ...]] = lambda case, frame: ()
    of_the_day: bool = False

    def checked(self, value: Any, case: Case) -> tuple[Mark, ...]:
        """Marks as a tuple of `Mark`."""
        if not isinstance(value, list) or len(value) > MOST_MARKS:
            raise NotADecision(say("decision.marks", most=MOST_MARKS, read=_read(value)))
        marks = tuple(_mark(item, case, self.frames(case)) for item in value)
        places = [(mark.frame, mark.id) for mark in marks]
        for frame, id in places:
            if places.count((frame, id)) > 1:
                raise NotADecision(say("decision.same-name", frame=_read(frame), name=_read(id)))
        return marks


Pairs = tuple[tuple[tuple[float, float], tuple[float, float]], ...]


@dataclass(frozen=True, slots=True)
class PairsOn:
    """Pairs of points by frame: the same place on the frame and on its photo, [row, column] each.

    A photo's points are pixels of its file held upright. Fewer than four pairs lay nothing over anything,
    and may stand.
    """

    frames: Callable[[Case], tuple[str, ...]]

    def checked(self, value: Any, case: Case) -> dict[str, Pairs]:
        """Pairs of the frames that have any, in the order of the frames."""
        if not isinstance(value, dict):
            raise NotADecision(say("decision.pairs-by-frame", read=_read(value)))
        frames = self.frames(case)
        for frame in value:
            if frame not in frames:
                raise NotADecision(say("decision.pairs-where", frame=_read(frame), allowed=", ".join(frames)))
        found = {frame: _pairs(value[frame], frame, case) for frame in frames if frame in value}
        return {frame: pairs for frame, pairs in found.items() if pairs}


@dataclass(frozen=True, slots=True)
class OneOf:
    """One option; `options` maps ids to what is shown."""

    options: Callable[[Case], Mapping[str, Sentence]]

    def checked(self, value: Any, case: Case) -> str:
        """The id of the option."""
        options = self.options(case)
        if not isinstance(value, str) or value not in options:
            raise NotADecision(say("decision.one-of", read=_read(value), allowed=", ".join(options)))
        return value


@dataclass(frozen=True, slots=True)
class SomeOf:
    """Any number of options."""

    options: Callable[[Case], Mapping[str, Sentence]]

    def checked(self, value: Any, case: Case) -> tuple[str, ...]:
        """The ids of the options, in the order of the options."""
        options = self.options(case)
        if not isinstance(value, list) or not all(isinstance(v, str) and v in options for v in value):
            raise NotADecision(say("decision.some-of", read=_read(value), allowed=", ".join(options)))
        return tuple(option for option in options if option in value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question with its outcomes; `by` says who or what answers it, `about` what it is asked of."""

    title: Sentence
    by: Sentence
    outcomes: Mapping[str, Sentence]
    about: str = ""


@dataclass(frozen=True, slots=True)
class Answers:
    """An outcome for any number of questions; one that was not looked at is left out or "not-looked"."""

    options: Callable[[Case], Mapping[str, Asked]]

    def checked(self, value: Any, case: Case) -> dict[str, str]:
        """The questions that were looked at with their outcomes, in the order of the questions."""
        options = self.options(case)
        if not isinstance(value, dict):
            raise NotADecision(say("decision.answers", read=_read(value)))
        for question, outcome in value.items():
            if question not in options:
                raise NotADecision(say("decision.question", read=_read(question), allowed=", ".join(options)))
            allowed = (*options[question].outcomes, NOT_LOOKED)
            if not isinstance(outcome, str) or outcome not in allowed:
                raise NotADecision(
                    say(
                        "decision.outcome",
                        question=question,
                        read=_read(outcome),
                        allowed=", ".join(allowed),
                    )
                )
        return {q: value[q] for q in options if value.get(q, NOT_LOOKED) != NOT_LOOKED}


@dataclass(frozen=True, slots=True)
class Words:
    """Text in Markdown, for the client."""

    longest: int = 5000

    def checked(self, value: Any, case: Case) -> str:
        """The text."""
        if not isinstance(value, str) or len(value) > self.longest:
            raise NotADecision(say("decision.text", most=self.longest, read=_read(value)))
        return value


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One question of an investigation.

    `reads` names the sections of the site file whose values the proposal uses ("frames" brings the
    bytes of the frames along, "earlier" all of an earlier visit), `uses` the earlier steps.
    `only_a_person` marks a question that no computation can answer: unattended, its proposal stands for
    *unknown*. `applies` tells whether the question arises at all. `titled` words it for a case, where not
    every case is asked in the same words.
    """

    name: str
    kind: str
    control: Control
    propose: Callable[[Case], Any]
    reads: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()
    only_a_person: bool = False
    applies: Callable[[Case], bool] = lambda case: True
    titled: Callable[[Case], Sentence] | None = None

    @property
    def title(self) -> Sentence:
        """What is asked, in a few words."""
        return say(f"{self.kind}.step.{self.name}")

    def title_for(self, case: Case) -> Sentence:
        """The same in the words of a case."""
        return self.title if self.titled is None else self.titled(case)


@dataclass(slots=True, kw_only=True)
class Case:
    """A site under investigation: what was decided so far and the random inputs of this run."""

    site: Site
    values: dict[str, Any] = field(default_factory=dict)
    decided: dict[str, Any] = field(default_factory=dict)
    confirmed: dict[str, bool] = field(default_factory=dict)
    draws: Draws = field(default_factory=Draws)
    _assumed: set[str] = field(default_factory=set)

    def assumed(self, name: str) -> Assumption:
        """A row of the table of assumptions, noted as used in this run."""
        self._assumed.add(name)
        return assumptions()[name]

    def assumptions_used(self) -> tuple[Assumption, ...]:
        """Every assumption that a result of this run rests on, in the table's order."""
        return tuple(row for name, row in assumptions().items() if name in self._assumed)

    def inputs(self, step: Step) -> dict[str, Any]:
        """What a decision rests on: site values, earlier decisions, bytes of files; plain data.

        What nobody wrote down is left out, so a key that the site file learns does not make records stale.
        """
        site, files = self.site, self.site.files
        values = site.keys.model_dump(mode="json", include=set(step.reads), exclude_defaults=True)
        if "frames" in step.reads and (clocks := site.sections(ClockKeys)):
            values["clocks"] = [clock.model_dump(mode="json") for clock in clocks]  # of frames' times
        if "readings" in step.reads:
            values["readings"] = [
                reading.model_dump(mode="json", exclude_defaults=True) for reading in site.readings
            ]
        paths = [frame.path for frame in site.frames.values()] if "frames" in step.reads else []
        if "earlier" in step.reads:
            paths += [path for path in files if path.startswith(f"{EARLIER}/")]
        if "photos" in step.reads:
            paths += [frame.photo for frame in site.frames.values() if frame.photo is not None]
        if "loggers" in step.reads:
            paths += [logger.file for logger in site.keys.loggers]
        return {
            "site": values,
            "decisions": {name: self.values[name] for name in step.uses if name in self.values},
            "files": {path: files[path] for path in sorted(paths)},
        }


def _read(value: Any) -> str:
    """What was given, short."""
    return f"{value!r:.60}"


def _pairs(value: Any, frame: str, case: Case) -> Pairs:
    """Pairs of one frame; four or more must fix how the photo lies."""
    if not isinstance(value, list) or len(value) > MOST_PAIRS:
        raise NotADecision(say("decision.pairs", frame=frame, most=MOST_PAIRS, read=_read(value)))
    try:
        pairs = tuple(
            ((float(row), float(column)), (float(row_), float(column_)))
            for (row, column), (row_, column_) in value
        )
    except (OverflowError, TypeError, ValueError) as error:
        raise NotADecision(say("decision.pair", frame=frame, read=_read(value))) from error
    shape = case.site.frames[frame].apparent_degc.shape
    if not all(-0.5 <= at <= end - 0.5 for pair in pairs for at, end in zip(pair[0], shape, strict=True)):
        raise NotADecision(say("decision.point-outside", frame=frame, rows=shape[0], columns=shape[1]))
    if not all(-0.5 <= at <= LARGEST_PHOTO for pair in pairs for at in pair[1]):
        raise NotADecision(say("decision.point-off-photo", frame=frame))
    if len(pairs) >= LEAST_PAIRS:
        try:
            align(*np.moveaxis(np.array(pairs), 1, 0), shape=shape)
        except Unaligned as error:
            raise NotADecision(say("decision.unaligned", frame=frame, why=error.said)) from error
    return pairs


def _mark(item: Any, case: Case, frames: tuple[str, ...]) -> Mark:
    try:
        mark = Mark(
            frame=item["frame"],
            id=item["id"],
            shape=item["shape"],
            points=tuple((float(row), float(column)) for row, column in item["points"]),
            role=item.get("role", "suspect"),
        )
        if not all(isinstance(text, str) for text in (mark.frame, mark.id, mark.shape, mark.role)):
            raise TypeError("no text")
    except (AttributeError, KeyError, OverflowError, TypeError, ValueError) as error:
        raise NotADecision(say("decision.mark", read=_read(item))) from error
    if mark.frame not in frames:
        raise NotADecision(
            say(
                "decision.mark-where", name=_read(mark.id), frame=_read(mark.frame), allowed=", ".join(frames)
            )
        )
    least = {"pin": 1, "patch": 3, "trace": 2}.get(mark.shape)
    most = 1 if mark.shape == "pin" else MOST_POINTS
    if least is None or not least <= len(mark.points) <= most:
        raise NotADecision(
            say("decision.mark-points", name=_read(mark.id), shape=_read(mark.shape), count=len(mark.points))
        )
    frame = case.site.frames[mark.frame]
    rows, columns = frame.apparent_degc.shape
    if not all(-0.5 <= r <= rows - 0.5 and -0.5 <= c <= columns - 0.5 for r, c in mark.points):
        raise NotADecision(say("decision.mark-outside", name=_read(mark.id), rows=rows, columns=columns))
    if not np.any(np.isfinite(frame.apparent_degc[mark_mask(mark, (rows, columns))])):
        raise NotADecision(say("decision.mark-masked", name=_read(mark.id), file=frame.path))
    return mark
