"""Widgets per form of decision, and how a new form gets its own."""

import ipywidgets as widgets
import pytest
from pytest import raises

from thermalkit.diagnosis.decisions import Answers, Asked, Case, OneOf, SomeOf, Step, Words
from thermalkit.language import say
from thermalkit.site.folder import read_site
from thermalkit.workbook.controls import asked_by
from thermalkit.workbook.question import Question


def options(case):
    return {"a": say("answer.yes"), "b": say("answer.no"), "c": say("answer.unknown")}


@pytest.fixture
def question(site_folder):
    def of(control, proposal):
        step = Step(name="limit", kind="damp", control=control, propose=lambda case: proposal)
        case = Case(site=read_site(site_folder))
        return Question(
            step=step, case=case, propose=lambda: proposal, entry=None, state="missing", language="en"
        )

    return of


@pytest.mark.parametrize(
    ("control", "proposal", "other"),
    [(OneOf(options), "b", "c"), (SomeOf(options), ["a", "c"], []), (Words(), "", "**Wet** floor")],
    ids=lambda item: type(item).__name__,
)
def test_a_control_gives_back_what_is_filled_in(question, control, proposal, other):
    """What the record holds goes in and comes out unchanged."""
    asked = question(control, proposal)
    asking = asked_by(control, asked)
    assert asking.value() == proposal
    asking.fill_in(other)
    assert asking.value() == other
    control.checked(asking.value(), asked.case)


def test_a_choice_is_grouped_under_what_is_asked(question):
    """A screen reader gets the question as the legend, and each option in words."""
    control = OneOf(options)
    widget = asked_by(control, question(control, "a")).widget
    assert widget.legend == "Which limits apply"
    assert widget.options == [["a", "yes"], ["b", "no"], ["c", "unknown"]]


def test_a_form_without_a_widget_is_named(question):
    """Somebody who adds a form of decision learns what is missing."""

    class Slider:
        pass

    with raises(TypeError, match="no widget asks for Slider"):
        asked_by(Slider(), question(Words(), ""))


def test_a_new_form_registers_its_own_widget(question):
    """There is no list to edit."""

    class Dial:
        pass

    @asked_by.register
    def _dial(control: Dial, question: Question) -> str:
        return "a dial"

    assert asked_by(Dial(), question(Words(), "")) == "a dial"


def test_a_place_is_answered_as_the_one_above_where_nobody_looked(question):
    """The age of a building is answered once; what was looked at here stays."""
    age, edge = say("answer.yes"), say("answer.no")
    outcomes = {"a": say("answer.yes"), "b": say("answer.no")}
    asked = {
        f"{place}: {name}": Asked(title=title, by=say("answer.yes"), outcomes=outcomes, about=place)
        for place in ("corner", "reveal")
        for name, title in (("age", age), ("edge", edge))
    }
    asking = asked_by(
        Answers(lambda case: asked), question(Answers(lambda case: asked), {"corner: age": "a"})
    )
    buttons = [part for part in asking.widget.children if isinstance(part, widgets.Button)]
    asking.fill_in({"corner: age": "a", "corner: edge": "a", "reveal: edge": "b"})
    assert len(buttons) == 1
    buttons[0].click()
    assert asking.value() == {
        "corner: age": "a",
        "corner: edge": "a",
        "reveal: age": "a",
        "reveal: edge": "b",
    }
