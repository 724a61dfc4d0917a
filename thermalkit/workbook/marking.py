"""Marks: drawn on the picture, or written as numbers beside it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import partial
from html import escape
from typing import Any

import ipywidgets as widgets

from thermalkit.annex.pictures import mark_details, number_rows
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.decisions import MarksOn, NotADecision
from thermalkit.diagnosis.labels import mark_name
from thermalkit.diagnosis.marks import FrameReader, MarkNumbers
from thermalkit.diagnosis.run import investigation
from thermalkit.diagnosis.suggestions import carried_marks, not_yet_marked
from thermalkit.errors import ThermalkitError
from thermalkit.imaging.mark import Mark
from thermalkit.language import render, say
from thermalkit.workbook.evidence import FrameViewer, picture_of
from thermalkit.workbook.picture import Picture
from thermalkit.workbook.question import Question

Marks = list[dict[str, Any]]
_UNNAMED = re.compile(r"(pin|patch|trace)-\d+")
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


def marks_written(text: str, frame: str, role: str) -> Marks:
    """Marks read back from such lines; empty lines do not count.

    Raises
    ------
    NotADecision
        A line has another form.
    """
    return [_mark(line, frame, role) for line in text.splitlines() if line.strip()]


def _mark(line: str, frame: str, role: str) -> dict[str, Any]:
    found = _LINE.match(line)
    pairs = [point.split(",") for point in found["points"].split()] if found else []
    try:
        points = [[float(row), float(column)] for row, column in pairs]
    except ValueError:
        points = []
    if not found or not points:
        raise NotADecision(say("workbook.mark-line", line=line.strip()[:80]))
    return {"frame": frame, "id": found["id"], "shape": found["shape"], "points": points, "role": role}


def marks_drawn(drawn: Marks, frame: str, role: str, language: str = "en") -> Marks:
    """Marks as the picture gives them, under the surveyor's own names where there are any.

    A proposed name that is shown in the reader's language stays as it was proposed.

    Examples
    --------
    >>> pin = {"id": "pin-1", "name": "reveal", "shape": "pin", "points": [[1, 2]]}
    >>> [mark["id"] for mark in marks_drawn([pin, {**pin, "name": ""}], "f", "suspect")]
    ['reveal', 'pin-1']
    """
    return [
        {
            "frame": frame,
            "id": _name_given(mark, language) or mark["id"],
            "shape": mark["shape"],
            "points": mark["points"],
            "role": role,
        }
        for mark in drawn
    ]


def _name_given(mark: Mapping[str, Any], language: str) -> str:
    """The name that a person typed; nothing where it is the one shown for the mark's own."""
    name = (mark.get("name") or "").strip()
    return "" if name == mark_name(mark["id"], language) else name


class AskMarks:
    """A picture to draw on and the same marks as numbers, one frame at a time."""

    def __init__(self, question: Question, control: MarksOn) -> None:
        self._question, self._control, self._role = question, control, control.role
        self._frames = control.frames(question.case)
        self._marks: dict[str, Marks] = {}
        self._suggested: dict[str, Marks] = {}
        self._readers: dict[str, FrameReader] = {}
        self._said_of: dict[MarkNumbers, list[list[str] | str]] = {}
        self._following = False
        self._heard: Callable[[], None] = lambda: None
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
        typed = widgets.Accordion([widgets.VBox([self._numbers, hint])], selected_index=None)
        typed.set_title(0, self._say("workbook.numbers"))
        self.widget = widgets.VBox([self._viewer.widget, self._said, typed])
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
            self._heard()

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        self._heard = heard

    def refresh(self, question: Question) -> None:
        """Marks of other questions, and the numbers that rest on them."""
        self._question = question
        self._readers = {}
        if self._frames:
            frame, picture = self._viewer.frame, self._viewer.picture
            picture.context = context_marks(question, frame)
            picture.numbers, picture.details = self._readings(frame)

    @property
    def aside(self) -> Any:
        """Suggestions that are neither accepted nor dismissed, by frame."""
        return {frame: [mark["id"] for mark in left] for frame, left in self._suggested.items()}

    @aside.setter
    def aside(self, value: Any) -> None:
        for frame, left in value.items() if isinstance(value, dict) else ():
            if frame in self._frames and isinstance(left, list):
                self._suggested[frame] = [m for m in self._suggestions(frame) if m["id"] in left]

    def _sort(self, value: Marks) -> None:
        self._marks = {frame: [mark for mark in value if mark["frame"] == frame] for frame in self._frames}

    def _picture(self, frame: str) -> Picture:
        picture = picture_of(
            self._question,
            frame,
            self._named(self._marks[frame]),
            role=self._role,
            suggestions=self._suggestions(frame),
            context=context_marks(self._question, frame),
        )
        # A change may arrive after another frame was chosen: it belongs to the one it was made on.
        picture.observe(partial(self._drawn, frame), "marks")
        picture.observe(partial(self._judged, frame), "suggestions")
        return picture

    def _suggestions(self, frame: str) -> Marks:
        """Places worth a look that no mark covers, until the question is decided."""
        if self._question.state == "decided":
            return []
        if frame not in self._suggested:
            self._suggested[frame] = self._found(frame)
        return self._suggested[frame]

    def _found(self, frame: str) -> Marks:
        """Marks of overlapping frames first, then places that stand out."""
        case, marks = self._question.case, _as_marks(self._marks[frame])
        shape = case.site.frames[frame].apparent_degc.shape
        elsewhere = [mark for name in self._frames if name != frame for mark in _as_marks(self._marks[name])]
        said = {item.mark: item.said for item in carried_marks(case, frame, elsewhere)}
        carried = not_yet_marked(said, marks, shape)
        found = not_yet_marked(self._control.suggest(case, frame), [*marks, *carried], shape)
        taken = {mark.id for mark in marks}
        shown: Marks = []
        for mark in (*carried, *found):
            if mark.id not in taken:
                taken.add(mark.id)
                note = {"note": render(said[mark], self._question.language)} if mark in said else {}
                shown.append({**mark.as_json(), **note})
        return self._named(shown)

    def _as_typed(self) -> Marks:
        """Marks of the shown frame; untouched numbers stand for the marks they were made from."""
        frame = self._viewer.frame
        if self._numbers.value == marks_text(self._marks[frame]):
            return self._marks[frame]
        return marks_written(self._numbers.value, frame, self._role)

    def _typed(self, change: Mapping[str, Any]) -> None:
        """Numbers were typed: the picture follows once they can be read."""
        if self._following:
            return
        try:
            self._marks[self._viewer.frame] = self._as_typed()
        except NotADecision as error:
            self._said.value = escape(error.told(self._question.language))
            return
        self._redraw()
        self._follow_marks()
        self._heard()

    def _drawn(self, frame: str, change: Mapping[str, Any]) -> None:
        """Something was drawn: the numbers follow, at once and before anything is written."""
        if not self._following:
            self._marks[frame] = marks_drawn(change["new"], frame, self._role, self._question.language)
            self._follow_marks()
            self._heard()

    def _judged(self, frame: str, change: Mapping[str, Any]) -> None:
        """A suggestion was accepted or dismissed."""
        if not self._following:
            self._suggested[frame] = list(change["new"])
            self._heard()

    def _redraw(self) -> None:
        frame = self._viewer.frame
        self._following = True
        self._viewer.picture.replace_marks(self._named(self._marks[frame]), self._suggestions(frame))
        self._following = False

    def _follow_marks(self, change: Mapping[str, Any] | None = None) -> None:
        """Numbers and summary say what the marks are now."""
        frame, picture = self._viewer.frame, self._viewer.picture
        numbers, details = self._readings(frame)
        with picture.hold_sync():
            picture.numbers, picture.details = numbers, details
        self._following = True
        self._numbers.value = marks_text(self._marks[frame])
        self._following = False
        none = self._say("workbook.none")
        each = (
            f"{frame}: {', '.join(m['name'] for m in self._named(marks)) or none}"
            for frame, marks in self._marks.items()
        )
        self._said.value = escape(self._say("workbook.marks", marks="; ".join(each)))

    def _readings(self, frame: str) -> tuple[dict[str, Any], dict[str, Any]]:
        """Numbers of all that is drawn on a frame, and what goes with them, by the picture's ids."""
        picture, words = self._viewer.picture, Wording(self._question.language)
        ids = [mark["id"] for mark in (*picture.marks, *picture.context, *picture.suggestions)]
        names = [mark["id"] for mark in self._marks[frame]]
        if len(set(names)) < len(names):  # numbers go by name
            return {}, {}
        drawn = [*self._marks[frame], *_own(picture.context), *picture.suggestions]
        reader = self._readers.setdefault(frame, frame_reader(self._question, frame))
        try:
            found = reader.numbers(_as_marks(drawn))
        except ThermalkitError:
            return {}, {}
        self._said_of = {item: self._said_of.get(item) or number_rows(item, words) for item in found}
        read = dict(zip(ids, found, strict=True))
        details = {id: mark_details(item) for id, item in read.items()}
        return {id: self._said_of[item] for id, item in read.items()}, details

    def _named(self, marks: Marks) -> Marks:
        """Marks with the names they are shown by."""
        return [{**mark, "name": mark_name(mark["id"], self._question.language)} for mark in marks]

    def _say(self, id: str, **values: str) -> str:
        return render(say(id, **values), self._question.language)


def frame_reader(question: Question, frame: str) -> FrameReader:
    """Numbers of one frame, with what the investigation adds to them."""
    further = getattr(investigation(question.step.kind), "quantities_at", None)
    return FrameReader(case=question.case, frame=frame, further=further)


def readings_of(question: Question, frame: str, places: Marks) -> dict[str, Any]:
    """What marks of other steps read on a frame, by their ids; nothing where it cannot be worked out."""
    try:
        found = frame_reader(question, frame).numbers(_as_marks(_own(places)))
    except ThermalkitError:
        return {}
    words = Wording(question.language)
    return {mark["id"]: number_rows(item, words) for mark, item in zip(places, found, strict=True)}


def unnamed(marks: Marks) -> list[str]:
    """Names that the picture gave because nobody typed one.

    Examples
    --------
    >>> unnamed([{"id": "pin-1"}, {"id": "reveal"}, {"id": "cold 2"}])
    ['pin-1']
    """
    return [mark["id"] for mark in marks if _UNNAMED.fullmatch(mark["id"])]


def context_marks(question: Question, frame: str) -> Marks:
    """Marks of a frame that answer other questions, each with a note of what it is."""
    case, words = question.case, Wording(question.language)
    shown = []
    for step in investigation(question.step.kind).STEPS:
        if not isinstance(step.control, MarksOn) or step.name == question.step.name:
            continue
        kept = "kept" if case.confirmed.get(step.name) else "proposed"
        note = words.say(f"workbook.{kept}-there")
        for mark in case.decided.get(step.name, ()):
            if mark.frame == frame:
                plain = mark.as_json()
                shown.append(
                    {
                        **plain,
                        "id": f"{step.name}/{mark.id}",
                        "name": mark_name(mark.id, question.language),
                        "note": note,
                    }
                )
    return shown


def _own(marks: Marks) -> Marks:
    """Marks of other steps under their own names."""
    return [{**mark, "id": mark["id"].partition("/")[2]} for mark in marks]


def _as_marks(marks: Marks) -> list[Mark]:
    """Plain marks, readable as they are, as `Mark`."""
    return [
        Mark(
            frame=mark["frame"],
            id=mark["id"],
            shape=mark["shape"],
            points=tuple((float(row), float(column)) for row, column in mark["points"]),
            role=mark["role"],
        )
        for mark in marks
    ]
