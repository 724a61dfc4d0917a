"""What came back from a learner: the record, wherever it lies, and what can be said of its being genuine.

A record that was made on another case, or on pictures that were changed, does not fit the fingerprints of
what was handed out. What cannot be proven: a record is plain text that anybody can write, its times are
those of the learner's own clock, and nothing tells who sat at the screen.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from thermalkit.diagnosis.class_.choices import OPEN
from thermalkit.diagnosis.class_.questions import questions
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.diagnosis.decisions import Case, NotADecision
from thermalkit.errors import ReadingError, ThermalkitError
from thermalkit.exercise.key import LearnerKeys
from thermalkit.exercise.plan import name_form
from thermalkit.language import Sentence, say
from thermalkit.record.fingerprint import fingerprint
from thermalkit.record.store import Record, read_record_file

KIND = "class"
MARKS = ("suspect", "sound")
_LARGEST_FILE = 64_000_000


class Unmarkable(ThermalkitError):
    """A hand-in that cannot be marked; it says why in one sentence, `state` in one word."""

    def __init__(self, state: str, said: Sentence) -> None:
        super().__init__(said)
        self.state = state


@dataclass(frozen=True, slots=True, kw_only=True)
class HandIn:
    """Answers of one learner in the form their controls give; a step that was not answered is missing.

    `predicted` is what was foretold first, `hints` every hint that was ever taken; `refused` are steps whose
    answer was no answer.
    """

    answers: Mapping[str, Any]
    predicted: str | None
    hints: tuple[str, ...]
    refused: tuple[str, ...] = ()
    by: str = ""
    record: Record | None = field(default=None, repr=False)


def read_hand_in(folder: Path, learner: LearnerKeys) -> HandIn:
    """The hand-in of a learner: `NAME/record/class.json`, or a saved file `NAME-class.json` in the folder.

    Raises
    ------
    Unmarkable
        Missing, handed in twice, broken, of another case, or on changed files.
    """
    own = [path for path in sorted(folder.iterdir()) if name_form(path.name) == name_form(learner.name)]
    found = [path for path in _candidates(folder, own, learner.name) if path.exists() or path.is_symlink()]
    if not found:
        raise Unmarkable("missing", say("exercise.handin.missing"))
    if len(found) > 1:
        names = ", ".join(sorted(path.relative_to(folder).as_posix() for path in found))
        raise Unmarkable("several", say("exercise.handin.several", files=names))
    try:
        record = read_record_file(found[0], KIND)
    except ReadingError as error:
        problem = error.problems[0]
        raise Unmarkable("broken", say("exercise.handin.broken", read=problem.read)) from error
    changed = [name for place in own for name in _changed_files(place, learner)]
    if changed:
        raise Unmarkable("altered", say("exercise.handin.files", files=", ".join(changed)))
    if not record.entries:
        raise Unmarkable("empty", say("exercise.handin.empty"))
    _require_own_pictures(record, learner)
    return _answers(record, learner)


def _candidates(folder: Path, own: Sequence[Path], name: str) -> Iterator[Path]:
    """Where a record may lie; a browser counts what it saves twice: `07-class (1).json`.

    A folder that is a link, perhaps to a neighbour's, stands for a record that is one.
    """
    yield from (path if path.is_symlink() else path / "record" / f"{KIND}.json" for path in own)
    saved = re.compile(rf"{re.escape(name_form(name))}-{KIND}(?: ?\(\d+\))?\.json")
    for place in (folder, *(path for path in own if path.is_dir() and not path.is_symlink())):
        yield from (path for path in sorted(place.iterdir()) if saved.fullmatch(name_form(path.name)))


def _changed_files(folder: Path, learner: LearnerKeys) -> Iterator[str]:
    """Files of the hand-out that came back otherwise; those that did not come back are no matter."""
    for name, digest in learner.files.items():
        path = folder / name
        if path.is_symlink():
            yield name
        elif path.is_file():
            whole = path.stat().st_size <= _LARGEST_FILE
            if not whole or hashlib.sha256(path.read_bytes()).hexdigest() != digest:
                yield name


def _require_own_pictures(record: Record, learner: LearnerKeys) -> None:
    """Marks carry the fingerprint of the pictures they were drawn on, and of the answers before them."""
    before: dict[str, Any] = {}
    uses = {step.name: step.uses for step in STEPS}
    for entry in record.entries:
        if entry.step in MARKS:
            try:
                decisions = {name: before.get(name, OPEN) for name in uses[entry.step]}
                inputs = {**learner.inputs, "decisions": decisions}
                fits = fingerprint(inputs) == entry.inputs
            except (ValueError, RecursionError):
                fits = False
            if not fits:
                raise Unmarkable("altered", say("exercise.handin.other-pictures"))
        before[entry.step] = entry.value


def _answers(record: Record, learner: LearnerKeys) -> HandIn:
    case, answers, refused = _case(learner), {}, []
    for step in STEPS:
        entry = record.last(step.name)
        if entry is None:
            continue
        try:
            answers[step.name] = step.control.checked(entry.value, case)
        except (NotADecision, RecursionError):
            refused.append(step.name)
    hints = {
        hint
        for entry in record.entries
        if entry.step == "hints" and isinstance(entry.value, list)
        for hint in entry.value
        if isinstance(hint, str)
    }
    known = next(step for step in STEPS if step.name == "hints").control.options(case)  # type: ignore[attr-defined]
    return HandIn(
        answers=answers,
        predicted=_first(record, "predict"),
        hints=tuple(hint for hint in known if hint in hints),
        refused=tuple(refused),
        by=record.entries[-1].by,
        record=record,
    )


def _first(record: Record, step: str) -> str | None:
    """What was answered first and was an answer: later ones may have been made with the numbers in sight."""
    values = (entry.value for entry in record.entries if entry.step == step)
    return next((value for value in values if isinstance(value, str) and value != OPEN), None)


def _case(learner: LearnerKeys) -> Case:
    """Frames of the right size, and the kind, which answers are checked by; pictures need not come back."""
    truth = learner.truth
    blank = SimpleNamespace(apparent_degc=np.zeros(truth.shape), path="")
    own = questions(truth.kind).shown_by
    site = SimpleNamespace(
        frames=dict.fromkeys((truth.frame, truth.frame_of_another_room, *truth.same_view), blank),
        sections=lambda section: (section,) if section is own else (),
    )
    return Case(site=cast(Any, site))
