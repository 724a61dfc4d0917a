"""What only a class exercise asks in a notebook: judged at sight, numbers of one's own, hints that cost."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets as widgets
import numpy as np

from thermalkit.annex.photos import photo_uri
from thermalkit.annex.thumbnails import coloured
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import words as in_words
from thermalkit.diagnosis.class_.controls import Hints, Numbers, OneAtSight, SomeAtSight
from thermalkit.diagnosis.class_.notes import notes
from thermalkit.diagnosis.class_.questions import AskedNumber, kind_of
from thermalkit.diagnosis.decisions import NotADecision
from thermalkit.language import Sentence, say, words_in
from thermalkit.site.survey import SurveyFrame
from thermalkit.workbook.controls import AskChoice, Plain, asked_by
from thermalkit.workbook.evidence import evidence_of
from thermalkit.workbook.question import Question

_STILL_PX = 420
_NOT_THE_LAMP = 0.97


@evidence_of.register
def _pictures_without_numbers(control: OneAtSight, question: Question) -> list[widgets.Widget]:
    """Stills and drawings, no scale and nothing to read off."""
    words = Wording(question.language)
    shown = "".join(
        _still_html(question, name, frame, words) for name, frame in question.case.site.frames.items()
    )
    return [widgets.HTML(f"<div>{shown}</div>")]


@evidence_of.register
def _notes_of_the_visit(control: SomeAtSight, question: Question) -> list[widgets.Widget]:
    """What was written down."""
    words = Wording(question.language)
    rows = "".join(
        f"<tr><th scope='row' style='text-align:start'>{escape(words.text(title))}</th>"
        f"<td style='text-align:start'>{escape(words_in(text, words.language))}</td></tr>"
        for title, text in notes(question.case.site)
    )
    return [widgets.HTML(f"<table>{rows}</table>")]


def _still_html(question: Question, name: str, frame: SurveyFrame, words: Wording) -> str:
    uris = [(_still_uri(frame), words.say("class.still"))]
    photo = photo_uri(question.case.site.folder / frame.photo) if frame.photo is not None else None
    if photo is not None:
        uris.append((photo, words.say("class.photo")))
    tags = "".join(f"<img src='{uri}' alt='{escape(alt)}' width='{_STILL_PX}'> " for uri, alt in uris)
    place = f"{frame.room.label} – {name}" if frame.room is not None else name
    return f"<figure style='margin:0 0 1em'>{tags}<figcaption>{escape(place)}</figcaption></figure>"


def _still_uri(frame: SurveyFrame) -> str:
    """The picture without a scale; a lamp does not take all the colours."""
    apparent = frame.apparent_degc
    low, high = np.nanquantile(apparent, [0.002, _NOT_THE_LAMP])
    rows, columns = apparent.shape
    picture = coloured(np.clip(apparent, low, high + 0.5))
    stream = io.BytesIO()
    picture.resize((_STILL_PX, round(rows * _STILL_PX / columns))).save(stream, "PNG", optimize=True)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode("ascii")


class AskHints(Plain):
    """Hints to tick; the text of each that was kept stands below."""

    def __init__(self, question: Question, control: Hints) -> None:
        self._control = control
        self._choice = AskChoice(question, control.options(question.case), several=True)
        self._told = widgets.HTML()
        self.widget = widgets.VBox([self._choice.widget, self._told])
        self.refresh(question)

    def value(self) -> Any:
        """The list of ids."""
        return self._choice.value()

    def fill_in(self, value: Any) -> None:
        """Tick what is given."""
        self._choice.fill_in(value)

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        self._choice.watch(heard)

    def refresh(self, question: Question) -> None:
        """Texts of the hints that the record holds."""
        words = Wording(question.language)
        kept = question.filled_in if question.entry is not None else ()
        told = (escape(words.text(self._control.text(question.case, id))) for id in kept)
        self._told.value = "".join(f"<p role='status'>{text}</p>" for text in told)


class AskNumbers(Plain):
    """A field for each number; an empty one is no answer."""

    def __init__(self, question: Question, control: Numbers) -> None:
        words = Wording(question.language)
        kind = kind_of(question.case.site)
        self._asked = control.asked(question.case)
        self._names = {name: in_words(kind, "numbers", name) for name in self._asked}
        self._fields = {
            name: widgets.Text(
                description=words.text(self._names[name]),
                layout={"width": "100%"},
                style={"description_width": "70%"},
            )
            for name in self._asked
        }
        self.widget = widgets.VBox([*self._fields.values()])
        self.fill_in(question.filled_in)

    def value(self) -> Any:
        """Numbers by name; NotADecision where a text is none."""
        return {
            name: _as_number(self._names[name], typed, self._asked[name])
            for name, field in self._fields.items()
            if (typed := field.value.strip())
        }

    def fill_in(self, value: Any) -> None:
        """Show numbers."""
        for name, field in self._fields.items():
            field.value = f"{value[name]:g}" if name in value else ""

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        for field in self._fields.values():
            field.observe(lambda change: heard(), "value")


@asked_by.register
def _hints(control: Hints, question: Question) -> AskHints:
    return AskHints(question, control)


@asked_by.register
def _numbers(control: Numbers, question: Question) -> AskNumbers:
    return AskNumbers(question, control)


def _as_number(name: Sentence, typed: str, asked: AskedNumber) -> float:
    """A number with decimal point or comma, a minus of either kind, and its unit or none."""
    unit = next((unit for unit in asked.units if unit and typed.endswith(unit)), "")
    try:
        return float(typed.removesuffix(unit).strip().replace(",", ".").replace("\u2212", "-"))
    except ValueError as error:
        raise NotADecision(say("decision.number", name=name, read=f"{typed!r:.60}")) from error
