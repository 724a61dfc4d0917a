"""Marks: drawn on the picture, or written as numbers beside it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape
from typing import Any

import ipywidgets as widgets

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.decisions import MarksOn, NotADecision
from thermalkit.errors import ThermalkitError
from thermalkit.language import render, say
from thermalkit.workbook.evidence import FrameViewer, picture_of
from thermalkit.workbook.faces import quantity_text
from thermalkit.workbook.picture import Picture
from thermalkit.workbook.question import Question

Marks = list[dict[str, Any]]
_LINE = re.compile(r"^\s*(?P<id>.+?)\s*:\s*(?P<shape>pin|patch|trace)\s+(?P<points>[^:]*)$")


def marks_text(marks: Marks) -> str:
    r"""Marks of one frame, one a line: name, shape, points as row,column.

    Examples
    --------
    >>> marks_text([{"id": "corner", "shape": "trace", "points": [[4, 1.5], [4, 6]]}])
    'corner: trace 4,1.5 4,6'
    """
    return "\n".join(
        f"{mark['id']}: {mark['shape']} "
        + " ".join(f"{row:.12g},{column:.12g}" for row, column in mark["points"])
        for mark in marks
    )


def marks_written(text: str, frame: str, role: str, language: str = "en") -> Marks:
    """Marks read back from such lines; empty lines do not count.

    Raises
    ------
    NotADecision
        A line has another form.
    """
    return [_mark(line, frame, role, language) for line in text.splitlines() if line.strip()]


def _mark(line: str, frame: str, role: str, language: str) -> dict[str, Any]:
    found = _LINE.match(line)
    pairs = [point.split(",") for point in found["points"].split()] if found else []
    try:
        points = [[float(row), float(column)] for row, column in pairs]
    except ValueError:
        points = []
    if not found or not points:
        raise NotADecision(render(say("workbook.mark-line", line=line.strip()[:80]), language))
    return {"frame": frame, "id": found["id"], "shape": found["shape"], "points": points, "role": role}


def marks_drawn(drawn: Marks, frame: str, role: str) -> Marks:
    """Marks as the picture gives them, under the surveyor's own names where there are any.

    Examples
    --------
    >>> pin = {"id": "pin-1", "name": "reveal", "shape": "pin", "points": [[1, 2]]}
    >>> [mark["id"] for mark in marks_drawn([pin, {**pin, "name": ""}], "f", "suspect")]
    ['reveal', 'pin-1']
    """
    return [
        {
            "frame": frame,
            "id": (mark.get("name") or "").strip() or mark["id"],
            "shape": mark["shape"],
            "points": mark["points"],
            "role": role,
        }
        for mark in drawn
    ]


class AskMarks:
    """A picture to draw on and the same marks as numbers, one frame at a time."""

    def __init__(self, question: Question, control: MarksOn) -> None:
        self._question, self._role = question, control.role
        self._frames = control.frames(question.case)
        self._marks: dict[str, Marks] = {}
        self._following = False
        self._said = widgets.HTML()
        self._numbers = widgets.Textarea(
            description=self._say("workbook.numbers"),
            placeholder=self._say("workbook.numbers-hint"),
            rows=3,
            continuous_update=False,
            layout={"width": "100%"},
            style={"description_width": "initial"},
        )
        self._numbers.observe(self._typed, "value")
        self._sort(question.filled_in)
        if not self._frames:
            self.widget = widgets.VBox([widgets.HTML(escape(self._say("workbook.no-frames")))])
            return
        self._viewer = FrameViewer(question, self._frames, self._picture)
        self._viewer.choice.observe(self._follow_marks, "value")
        hint = widgets.HTML(escape(self._say("workbook.numbers-hint")))
        self.widget = widgets.VBox([self._viewer.widget, self._said, self._numbers, hint])
        self._follow_marks()

    def value(self) -> Any:
        """All marks of all frames, in the order of the frames."""
        if self._frames:
            self._marks[self._viewer.frame] = self._as_typed()
        return [mark for frame in self._frames for mark in self._marks[frame]]

    def fill_in(self, value: Any) -> None:
        """Show marks; those on frames that are not asked about fall away."""
        self._sort(value)
        if self._frames:
            self._redraw()
            self._follow_marks()

    def _sort(self, value: Marks) -> None:
        self._marks = {frame: [mark for mark in value if mark["frame"] == frame] for frame in self._frames}

    def _picture(self, frame: str) -> Picture:
        picture = picture_of(self._question, frame, _named(self._marks[frame]), role=self._role)
        picture.observe(self._drawn, "marks")
        return picture

    def _as_typed(self) -> Marks:
        """Marks of the shown frame; untouched numbers stand for the marks they were made from."""
        frame = self._viewer.frame
        if self._numbers.value == marks_text(self._marks[frame]):
            return self._marks[frame]
        return marks_written(self._numbers.value, frame, self._role, self._question.language)

    def _typed(self, change: Mapping[str, Any]) -> None:
        """Numbers were typed: the picture follows once they can be read."""
        if self._following:
            return
        try:
            self._marks[self._viewer.frame] = self._as_typed()
        except NotADecision as error:
            self._said.value = escape(str(error))
            return
        self._redraw()
        self._follow_marks()

    def _drawn(self, change: Mapping[str, Any]) -> None:
        """Something was drawn: the numbers follow."""
        if not self._following:
            frame = self._viewer.frame
            self._marks[frame] = marks_drawn(change["new"], frame, self._role)
            self._follow_marks()

    def _redraw(self) -> None:
        self._following = True
        self._viewer.picture.replace_marks(_named(self._marks[self._viewer.frame]))
        self._following = False

    def _follow_marks(self, change: Mapping[str, Any] | None = None) -> None:
        """Numbers and summary say what the marks are now."""
        frame = self._viewer.frame
        self._following = True
        self._numbers.value = marks_text(self._marks[frame])
        self._following = False
        self._viewer.picture.numbers = self._readings(frame)
        none = self._say("workbook.none")
        each = (
            f"{frame}: {', '.join(m['id'] for m in marks) or none}" for frame, marks in self._marks.items()
        )
        self._said.value = escape(self._say("workbook.marks", marks="; ".join(each)))

    def _readings(self, frame: str) -> dict[str, list[str]]:
        """What would be found at each mark of a frame as it is now, by the picture's own ids."""
        marks, words = self._marks[frame], Wording(self._question.language)
        try:
            found = self._question.conclude(marks)
        except ThermalkitError:
            return {}
        texts: dict[str, list[str]] = {mark["id"]: [] for mark in marks}
        for finding in found:
            if finding.frame == frame and finding.mark in texts:
                texts[finding.mark] += [quantity_text(item, words) for item in finding.quantities]
        drawn = self._viewer.picture.marks
        return {seen["id"]: texts[mark["id"]] for seen, mark in zip(drawn, marks, strict=True)}

    def _say(self, id: str, **values: str) -> str:
        return render(say(id, **values), self._question.language)


def _named(marks: Marks) -> Marks:
    return [{**mark, "name": mark["id"]} for mark in marks]
