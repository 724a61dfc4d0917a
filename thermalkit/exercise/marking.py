"""Marking a class from what was handed in: a row for every learner, whatever came back."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from thermalkit.annex.tables import table_cell
from thermalkit.annex.wording import Wording
from thermalkit.exercise.handin import HandIn, Unmarkable, read_hand_in
from thermalkit.exercise.key import Key, LearnerKeys
from thermalkit.exercise.misconceptions import all_misconceptions, misconceptions
from thermalkit.exercise.rubric import Rubric
from thermalkit.exercise.scoring import shares, total
from thermalkit.language import Sentence
from thermalkit.record.whole import write_whole

MARKED = "marked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One learner: points part by part, or why nothing could be marked."""

    learner: LearnerKeys
    state: str = MARKED
    reason: Sentence | None = None
    given: HandIn | None = None
    shares: dict[str, float] = field(default_factory=dict)
    points: float = 0.0
    misconceptions: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The learner's."""
        return self.learner.name


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassMarked:
    """All rows, and the files that were written."""

    rows: tuple[Row, ...]
    files: tuple[Path, ...]

    @property
    def unmarked(self) -> int:
        """How many hand-ins could not be marked."""
        return sum(row.state != MARKED for row in self.rows)


def marked(folder: Path, key: Key, rubric: Rubric) -> tuple[Row, ...]:
    """A row for every learner of the key, in its order; nothing that was handed in ends the run."""
    return tuple(row_of(folder, learner, rubric) for learner in key.learners)


def row_of(folder: Path, learner: LearnerKeys, rubric: Rubric) -> Row:
    """The row of one learner."""
    try:
        given = read_hand_in(folder, learner)
    except Unmarkable as error:
        return Row(learner=learner, state=error.state, reason=error.said)
    reached = shares(given, learner.truth, rubric)
    return Row(
        learner=learner,
        given=given,
        shares=reached,
        points=round(total(reached, len(given.hints), rubric), 1),
        misconceptions=misconceptions(given, learner.truth, rubric),
    )


def mark_class(
    folder: Path, key: Key, out: Path, rubric: Rubric, hand_out: Path | None = None
) -> ClassMarked:
    """Mark a class and write a page for each learner, one about the class, and a table for a gradebook.

    Parameters
    ----------
    folder : Path
        What came back: a folder for each learner with its record, or saved files `NAME-class.json`.
    key : Key
    out : Path
        Gets `feedback/NAME.html`, `class.html` and `grades.csv`.
    rubric : Rubric
    hand_out : Path, optional
        The folders as they were handed out, for the pictures on the pages; without it outlines are shown.

    Raises
    ------
    WritingError
        It could not be written.
    """
    from thermalkit.exercise.feedback import class_page, learner_page

    rows = marked(folder, key, rubric)
    words = Wording(key.plan.language)
    files = {f"feedback/{row.name}.html": learner_page(row, key, rubric, hand_out) for row in rows}
    files["class.html"] = class_page(rows, key, rubric)
    files["grades.csv"] = gradebook(rows, rubric, words)
    for name, content in files.items():
        write_whole(out / name, content)
    return ClassMarked(rows=rows, files=tuple(out / name for name in files))


def gradebook(rows: Iterable[Row], rubric: Rubric, words: Wording) -> bytes:
    """Comma-separated rows; points of each part, why there are none, misconceptions by their ids."""
    parts = list(rubric.points.model_dump())
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(
        ["learner", "state", "points", "out_of", *parts, "hints", "misconceptions", "by", "reason"]
    )
    full = rubric.points.model_dump()
    for row in rows:
        points = [round(full[part] * row.shares[part], 1) if row.shares else "" for part in parts]
        hints = len(row.given.hints) if row.given else ""
        cells = [row.name, row.state, row.points, rubric.out_of, *points, hints, " ".join(row.misconceptions)]
        cells += [row.given.by if row.given else "", words.text(row.reason) if row.reason else ""]
        writer.writerow([table_cell(cell) for cell in cells])
    return b"\xef\xbb\xbf" + stream.getvalue().encode("utf-8", "replace")


def commonest(rows: Sequence[Row]) -> list[tuple[str, int]]:
    """Misconceptions by how many show them, none left out that anybody shows."""
    counts = Counter(name for row in rows for name in row.misconceptions)
    order = list(all_misconceptions())
    return sorted(counts.items(), key=lambda item: (-item[1], order.index(item[0])))


def to_discuss(rows: Sequence[Row]) -> Row | None:
    """The case that shows most: of those with the commonest misconception the one that lost most points."""
    found = commonest(rows)
    shown = [row for row in rows if row.state == MARKED and (not found or found[0][0] in row.misconceptions)]
    return min(shown, key=lambda row: (row.points, row.name), default=None)
