"""The first page of a notebook: the visit, typed in without a text editor."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from html import escape
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as widgets
import traitlets

from thermalkit.diagnosis.judging import limit_sets
from thermalkit.errors import Problem, ReadingError, ThermalkitError, printable
from thermalkit.language import catalogue, render, say, words_in
from thermalkit.site.asking import FIRST, AskedTable, asked_tables, entry_name
from thermalkit.site.filling import beside
from thermalkit.site.found import files_found
from thermalkit.site.references import SITE_FILE
from thermalkit.site.sections import asked_at_once, asked_elsewhere, own_keys
from thermalkit.workbook.controls import HERE
from thermalkit.workbook.panels import Panel
from thermalkit.workbook.strip import StripPanel, coloured_files
from thermalkit.workbook.visit import Visit, carried, read_visit, save
from thermalkit.workbook.visit_changes import Field, checked, located_at

if TYPE_CHECKING:
    from thermalkit.workbook.session import Session

ASKED_AT_ONCE = ("site", "surveyor", "weather", "instruments", "rooms", "frames", "references")
# What is each entry's own, and not copied from the one above.
OWN = (
    *("id", "file", "photo", "taken_at", "uncovered_at", "mark", "value", "temperature_degc"),
    *("flow_degc", "return_degc"),
)
MOST_AT_ONCE = 5


class SiteForm(anywidget.AnyWidget):
    """Answers as text, and a message for each that is wrong."""

    _esm = HERE / "site_form.js"
    _css = HERE / "site_form.css"
    tables = traitlets.List(traitlets.Dict()).tag(sync=True)
    files = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    answers = traitlets.Dict().tag(sync=True)
    messages: traitlets.List[list[Any]] = traitlets.List().tag(sync=True)
    opened = traitlets.Bool(True).tag(sync=True)
    drawn = traitlets.Int(0).tag(sync=True)
    saves = traitlets.Int(0).tag(sync=True)
    saved = traitlets.Int(0).tag(sync=True)  # how many wishes to save were answered, well or ill


class SiteFormPanel(Panel):
    """What is missing, the form, and what saving it did."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._top = widgets.HTML()
        self._said = widgets.HTML()
        self._visit: Visit | None = None
        self._form = SiteForm(words=_words(session.language), opened=session.problems != ())
        self._form.observe(self._typed, "answers")
        self._form.observe(self._asked_to_save, "saves")
        try:
            self._read()
        except ReadingError as error:
            self._said.value = f"<span role='alert'>{escape(error.told(session.language))}</span>"
        readable = self._visit is not None and not session.unattended
        strips = [StripPanel(session)] if readable and coloured_files(session) else []
        self.fill(self._top, *([self._form] if readable else []), self._said, *strips)

    def refresh(self) -> None:
        """Say again what is missing."""
        self._top.value = self.as_html()

    def as_text(self) -> str:
        """What is wrong or missing, most useful first."""
        return "\n".join(_lines(self.session))

    def as_html(self) -> str:
        """The same for a screen."""
        session, lines = self.session, _lines(self.session)
        heading = session.say("workbook.visit-problems" if session.problems else "workbook.visit-missing")
        first, rest = (
            "".join(f"<li>{escape(line)}</li>" for line in part)
            for part in (lines[:MOST_AT_ONCE], lines[MOST_AT_ONCE:])
        )
        more = escape(session.say("workbook.more", count=max(len(lines) - MOST_AT_ONCE, 0)))
        title = f"<h4>{escape(session.say('workbook.visit'))}</h4>"
        if not lines:
            return f"{title}<p>{escape(session.say('workbook.visit-complete'))}</p>"
        rest = f"<details><summary>{more}</summary><ul>{rest}</ul></details>" if rest else ""
        return f"{title}<p>{escape(heading)}</p><ul>{first}</ul>{rest}"

    def _read(self, shown: Callable[[Visit], dict[str, Any]] = Visit.answers) -> None:
        """Show the folder as it is now."""
        self._visit = read_visit(self.session.folder)
        answers = shown(self._visit)
        language = self.session.language
        with self._form.hold_sync():
            self._form.files = files_found(self.session.folder)
            self._form.tables = [
                _shown(table, language, self.session.kind)
                for table in asked_tables(language)
                if table.table in answers
            ]
            self._form.answers = answers
            self._form.drawn += 1
        self._tell()

    def _typed(self, change: Any) -> None:
        self._tell()

    def _tell(self) -> None:
        """A message beside each answer that is wrong, and beside those the folder has problems with."""
        if self._visit is None:
            return
        language = self.session.language
        told = {
            at: printable(f"{words_in(problem.read, language)}. {problem.advice(language)}")
            for problem in self.session.problems
            if problem.file == SITE_FILE and (at := located_at(words_in(problem.place, "en")))
        }
        told = {at: text for at, text in told.items() if self._is_as_read(at)}
        wrong = checked(self._form.answers, self._visit).wrong
        told |= {at: beside(problem, language) for at, problem in wrong.items()}
        self._form.messages = [[*at, text] for at, text in told.items()]

    def _is_as_read(self, field: Field) -> bool:
        """Whether the answer still is the one the folder has a problem with."""
        before = self._visit.answers() if self._visit is not None else {}
        return _at(self._form.answers, *field) == _at(before, *field)

    def _asked_to_save(self, change: Any) -> None:
        self.save()
        self._form.saved = self._form.saves

    def save(self) -> None:
        """Write the answers, read the folder again, and let every panel look."""
        if self._visit is None:
            return
        try:
            found, typed = checked(self._form.answers, self._visit), self._form.answers
            save(found, self._visit)
            self.session.read_again()
            self._read(lambda visit: carried(typed, found, visit) if found.wrong else visit.answers())
        except ThermalkitError as error:
            self._said.value = f"<span role='alert'>{escape(error.told(self.session.language))}</span>"
            return
        left_out = found.left_out
        id = "workbook.visit-saved-partly" if left_out else "workbook.visit-saved"
        said = self.session.say(id, count=left_out) if left_out else self.session.say(id)
        if self.session.problems:
            said = f"{said} {self.session.say('workbook.visit-not-yet')}"
        self._said.value = f"<span role='status'>{escape(said)}</span>"


def _at(answers: Any, table: str, number: int, key: str) -> str:
    entries = answers.get(table, {})
    if number < 0:
        return str(entries.get(key, "")) if isinstance(entries, dict) else ""
    return str(entries[number].get(key, "")) if number < len(entries) else ""


def _lines(session: Session) -> list[str]:
    if session.problems:
        return [_problem_line(problem, session.language) for problem in session.problems]
    from thermalkit.site.check import check

    return [item.told(session.language) for item in check(session.site)]


def _problem_line(problem: Problem, language: str) -> str:
    """A problem on one line, in the words of the form where it is one of a field there."""
    at = located_at(words_in(problem.place, "en")) if problem.file == SITE_FILE else None
    read, place = words_in(problem.read, language), words_in(problem.place, language)
    where = (at and _field_words(at, language)) or ", ".join(part for part in (problem.file, place) if part)
    return printable(f"{where}: {read}. {problem.advice(language)}".strip())


def _field_words(at: Field, language: str) -> str:
    """A field by what the form calls it; empty where it has no such field."""
    name, number, key = at
    for table in asked_tables(language):
        for field in table.fields:
            if (table.table, field.key) == (name, key):
                entry = table.title if number < 0 else f"{entry_name(table.title)} {number + 1}"
                return f"{entry}, {field.label}"
    return ""


def _shown(table: AskedTable, language: str, kind: str) -> dict[str, Any]:
    """A table as the page draws it."""
    fields = [asdict(field) for field in table.fields]
    if table.table == "limits":
        fields = [{**f, "form": "choice", "options": list(limit_sets())} for f in fields]
    if table.named:
        rooms = next(t for t in asked_tables(language) if t.table == "rooms")
        fields = [asdict(rooms.fields[0]), *fields]
    return {
        "table": table.table,
        "title": table.title,
        "entry": entry_name(table.title),
        "repeated": table.repeated,
        "named": table.named,
        "asked": table.table in (*ASKED_AT_ONCE, *asked_at_once(kind)),
        "elsewhere": table.table in asked_elsewhere(kind),
        "own": [*OWN, *own_keys()],
        "fields": fields,
        "first": list(FIRST.get(table.table, ())),
    }


def _words(language: str) -> dict[str, str]:
    """Words of the page, and of the choices that have some."""
    ids = (
        "form",
        "save",
        "saving",
        "add",
        "remove",
        "same",
        "more",
        "needed",
        "unstated",
        "proposed",
        "others",
    )
    words = {id: render(say(f"workbook.visit.{id}"), language) for id in ids}
    known = catalogue(language)
    options = {
        word for table in asked_tables() for f in table.fields if f.form == "choice" for word in f.options
    }
    named = {word: known.get(f"choice.{word.replace(' ', '-')}") for word in sorted(options)}
    return (
        words | {"yes": named["yes"] or "", "no": named["no"] or ""} | {k: v for k, v in named.items() if v}
    )
