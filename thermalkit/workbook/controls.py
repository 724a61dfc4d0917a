"""Widgets to answer a step, one per form of decision.

A new form of decision registers its widget with `asked_by.register`; there is no list to edit. What
an `Asking` holds is plain data, exactly what goes into the record.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping
from functools import singledispatch
from itertools import groupby
from pathlib import Path
from typing import Any, Protocol

import anywidget
import ipywidgets as widgets
import traitlets

from thermalkit.diagnosis.decisions import NOT_LOOKED, Answers, Asked, MarksOn, OneOf, PairsOn, SomeOf, Words
from thermalkit.language import Sentence, render, say
from thermalkit.workbook.question import Question

HERE = Path(__file__).parent


class Asking(Protocol):
    """A control on the screen."""

    widget: widgets.Widget
    aside: Any  # plain data that is no part of the answer and comes back with a draft

    def value(self) -> Any:
        """What is filled in, as plain data; NotADecision where it cannot be read."""

    def fill_in(self, value: Any) -> None:
        """Show a decision or a proposal."""

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""

    def refresh(self, question: Question) -> None:
        """Other decisions changed; what is being edited stays."""


class Plain:
    """A control that shows nothing of other decisions."""

    aside: Any = None

    def refresh(self, question: Question) -> None:
        """Nothing to show anew."""


class Choice(anywidget.AnyWidget):
    """Radio buttons, or check boxes where several may be chosen, grouped under a legend."""

    _esm = HERE / "choice.js"
    legend = traitlets.Unicode().tag(sync=True)
    options: traitlets.List[list[str]] = traitlets.List().tag(sync=True)
    several = traitlets.Bool(False).tag(sync=True)
    chosen = traitlets.List(traitlets.Unicode()).tag(sync=True)


@singledispatch
def asked_by(control: object, question: Question) -> Asking:
    """The widget that asks a question of a form.

    Raises
    ------
    TypeError
        No widget is registered for this form.
    """
    raise TypeError(f"no widget asks for {type(control).__name__}")


@asked_by.register
def _one_of(control: OneOf, question: Question) -> Asking:
    return AskChoice(question, control.options(question.case), several=False)


@asked_by.register
def _some_of(control: SomeOf, question: Question) -> Asking:
    return AskChoice(question, control.options(question.case), several=True)


@asked_by.register
def _answers(control: Answers, question: Question) -> Asking:
    return AskAnswers(question, control.options(question.case))


@asked_by.register
def _words(control: Words, question: Question) -> Asking:
    return AskWords(question, control)


@asked_by.register
def _marks_on(control: MarksOn, question: Question) -> Asking:
    from thermalkit.workbook.marking import AskMarks

    return AskMarks(question, control)


@asked_by.register
def _pairs_on(control: PairsOn, question: Question) -> Asking:
    from thermalkit.workbook.pairing import AskPairs

    return AskPairs(question, control)


class AskChoice(Plain):
    """One or several of some options."""

    def __init__(self, question: Question, options: Mapping[str, Sentence], *, several: bool) -> None:
        shown = [[id, render(text, question.language)] for id, text in options.items()]
        self.widget = Choice(legend=question.title, options=shown, several=several)
        self.fill_in(question.filled_in)

    def value(self) -> Any:
        """The id, or the list of ids."""
        chosen = list(self.widget.chosen)
        return chosen if self.widget.several else next(iter(chosen), None)

    def fill_in(self, value: Any) -> None:
        """Tick what is given."""
        self.widget.chosen = list(value) if self.widget.several else [value]

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        self.widget.observe(lambda change: heard(), "chosen")


class AskAnswers(Plain):
    """A list of questions, each with its outcomes or *not looked*."""

    def __init__(self, question: Question, options: Mapping[str, Asked]) -> None:
        self._asked = {id: _dropdown(asked, question.language) for id, asked in options.items()}
        rows: list[widgets.Widget] = []
        above: dict[str, str] = {}  # ids by what is asked
        for about, group in groupby(options.items(), lambda item: item[1].about):
            here = {render(asked.title, question.language): id for id, asked in group}
            rows += [widgets.HTML(f"<h4>{html.escape(about)}</h4>")] if about else []
            rows += [self._as_above(above, here, question.language)] if above else []
            rows += [self._asked[id] for id in here.values()]
            above = here
        self.widget = widgets.VBox(rows)
        self.fill_in(question.filled_in)

    def _as_above(self, above: Mapping[str, str], here: Mapping[str, str], language: str) -> widgets.Button:
        """A button that answers what nobody looked at here as it was answered at the place above."""
        button = widgets.Button(
            description=render(say("workbook.as-above"), language), layout={"width": "max-content"}
        )

        def clicked(button: object) -> None:
            for title in above.keys() & here.keys():
                if self._asked[here[title]].value == NOT_LOOKED:
                    self._asked[here[title]].value = self._asked[above[title]].value

        button.on_click(clicked)
        return button

    def value(self) -> Any:
        """Outcomes by question, without those nobody looked at."""
        chosen = {id: asked.value for id, asked in self._asked.items()}
        return {id: outcome for id, outcome in chosen.items() if outcome != NOT_LOOKED}

    def fill_in(self, value: Any) -> None:
        """Choose what is given, *not looked* for all else."""
        for id, asked in self._asked.items():
            asked.value = value.get(id, NOT_LOOKED)

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        for asked in self._asked.values():
            asked.observe(lambda change: heard(), "value")


def _dropdown(asked: Asked, language: str) -> widgets.Dropdown:
    """One question: *not looked at* first, then its outcomes."""
    outcomes = [(render(text, language), outcome) for outcome, text in asked.outcomes.items()]
    return widgets.Dropdown(
        description=f"{render(asked.title, language)} ({render(asked.by, language)})",
        options=[(render(say("workbook.not-looked"), language), NOT_LOOKED), *outcomes],
        layout=widgets.Layout(width="100%"),
        style={"description_width": "50%"},
    )


class AskWords(Plain):
    """A text in Markdown."""

    def __init__(self, question: Question, control: Words) -> None:
        hint = render(say("workbook.markdown", longest=control.longest), question.language)
        self.widget = widgets.Textarea(
            description=render(say("workbook.text"), question.language),
            placeholder=hint,
            rows=6,
            layout=widgets.Layout(width="100%"),
            style={"description_width": "initial"},
        )
        self.fill_in(question.filled_in)

    def value(self) -> Any:
        """The text as it was typed."""
        return self.widget.value

    def fill_in(self, value: Any) -> None:
        """Show a text."""
        self.widget.value = value

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        self.widget.observe(lambda change: heard(), "value")
