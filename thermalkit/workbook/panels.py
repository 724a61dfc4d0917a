"""What a notebook shows: panels that look at the session again whenever a decision is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as widgets
import traitlets

from thermalkit.diagnosis.decisions import MarksOn, Step
from thermalkit.errors import ThermalkitError
from thermalkit.workbook import class_asking as class_asking  # registers its forms of questions
from thermalkit.workbook.controls import HERE, Asking, asked_by
from thermalkit.workbook.drafts import Draft
from thermalkit.workbook.evidence import evidence_of
from thermalkit.workbook.faces import (
    findings_html,
    findings_text,
    overview_html,
    overview_text,
    step_html,
    step_text,
    steps_html,
)
from thermalkit.workbook.marking import unnamed
from thermalkit.workbook.question import Question

if TYPE_CHECKING:
    from thermalkit.workbook.session import Session

_CALL = 0  # number of no click: whether the page answers
WIDE, FITTING = {"width": "100%"}, {"width": "max-content"}


class Frame(anywidget.AnyWidget):
    """Style of the panels, a fence for keys pressed in them, and clicks that overtake nothing.

    While the kernel is at work, the page holds back what is typed or drawn, but not a click. What a click
    asks for therefore waits until the page has told what it still holds back. A page so slow that it began
    this widget late hears nothing any more; it never answers the first call, and is then not waited for.
    """

    _esm = HERE / "frame.js"
    _css = HERE / "panel.css"
    begun = traitlets.Int(0).tag(sync=True)
    """When a page began to show this, in milliseconds; another one when it was reloaded."""

    def __init__(self, panel: widgets.Box) -> None:
        super().__init__()
        self._panel, self._clicks = panel, 0
        self._act: Callable[[], None] | None = None
        self._inputs: dict[str, widgets.Widget] = {}
        self._hears = False
        self.on_msg(self._told)
        self.observe(self._call, "begun")

    def in_turn(self, act: Callable[[], None]) -> Callable[[object], None]:
        """What a button is to call, so that `act` sees the last of what was typed before the click."""

        def clicked(button: object) -> None:
            if not self._hears:
                act()
                return
            self._clicks += 1
            self._act, self._inputs = act, {item.model_id: item for item in _within(self._panel)}
            self.send({"click": self._clicks, "inputs": list(self._inputs)})

        return clicked

    def _call(self, change: object) -> None:
        self._hears = False
        self.send({"click": _CALL, "inputs": []})

    def _told(self, widget: object, content: dict[str, Any], buffers: object) -> None:
        if content.get("click") == _CALL:
            self._hears = True
            return
        act = self._act
        if act is None or content.get("click") != self._clicks:
            return
        self._act = None
        for id, state in content["held_back"].items():
            self._inputs[id].set_state(state)
        act()


def _within(widget: widgets.Widget) -> Iterator[widgets.Widget]:
    """All that a widget shows, and what a `Stage` showed last."""
    yield widget
    for part in (*getattr(widget, "children", ()), *getattr(widget, "latest", ())):
        yield from _within(part)


class Panel(widgets.VBox):  # type: ignore[misc]
    """A part of a notebook that fills itself in again."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.add_class("thermalkit-panel")
        self._frame = Frame(self)

    def refresh(self) -> None:
        """Look at the session again."""

    def as_text(self) -> str:
        """The same for somebody without a screen."""
        return ""

    def as_html(self) -> str:
        """The same where no widgets can be drawn."""
        return f"<p>{escape(self.as_text())}</p>"

    def fill(self, *children: widgets.Widget) -> None:
        """Put widgets into the panel."""
        self.children = (self._frame, *children)

    def __repr__(self) -> str:
        """The text of the panel."""
        return self.as_text()

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        view = super()._repr_mimebundle_(**kwargs)
        return {**view, "text/plain": self.as_text(), "text/html": self.as_html()}


class Elsewhere(widgets.HBox):  # type: ignore[misc]
    """Where to save the record that could not be saved in its folder; hidden otherwise."""

    def __init__(self, session: Session, frame: Frame) -> None:
        self._session = session
        self._path = widgets.Text(
            description=session.say("workbook.elsewhere"),
            value=str(Path.home() / f"{session.kind}-record.json"),
            layout=WIDE,
            style={"description_width": "initial"},
        )
        self._button = widgets.Button(description=session.say("workbook.save-elsewhere"), layout=FITTING)
        self._said = widgets.HTML()
        self._button.on_click(frame.in_turn(self._save))
        super().__init__([self._path, self._button, self._said])
        self.refresh()

    def refresh(self) -> None:
        """Show it while there is something unsaved."""
        self._said.value = ""
        self.layout.display = "none" if self._session.unsaved is None else "flex"

    def _save(self) -> None:
        try:
            path = self._session.save_elsewhere(self._path.value)
            self._said.value = escape(
                self._session.say("workbook.saved-elsewhere", path=str(path), kind=self._session.kind)
            )
        except ThermalkitError as error:
            self._said.value = f"<span role='alert'>{escape(error.told(self._session.language))}</span>"


class PagePanel(Panel):
    """A panel that only shows: its HTML, written anew whenever a decision is kept."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shown = widgets.HTML(layout=WIDE)
        self.fill(self._shown)

    def refresh(self) -> None:
        """Look at the session again."""
        self._shown.value = self.as_html()


class OverviewPanel(PagePanel):
    """What was found in the folder, and where to go on."""

    def as_text(self) -> str:
        """The same as text."""
        return overview_text(self.session)

    def as_html(self) -> str:
        """The same for a screen."""
        return overview_html(self.session)


class StepPanel(Panel):
    """Evidence, a control filled in with decision or proposal, a reason, and *Keep*."""

    def __init__(self, session: Session, step: Step) -> None:
        super().__init__(session)
        self.step = step
        self.add_class(f"tk-step-{step.name}")
        self._question: Question | None = None
        self._asking: Asking | None = None
        self._keeping = False
        self._status = widgets.HTML()
        self._answer = widgets.HTML()
        self._reason = widgets.Text(
            description=session.say("workbook.reason"),
            placeholder=session.say("workbook.reason-own" if step.only_a_person else "workbook.reason-hint"),
            layout=WIDE,
            style={"description_width": "initial"},
        )
        self._keep = widgets.Button(
            description=session.say("workbook.keep"), button_style="primary", layout=FITTING
        )
        self._propose = widgets.Button(description=session.say("workbook.propose"), layout=FITTING)
        self._keep.disabled = session.unattended
        self._keep.on_click(self._frame.in_turn(self._kept))
        self._reason.observe(self._edited, "value")
        self._propose.on_click(self._frame.in_turn(self._proposed))
        self._elsewhere = Elsewhere(session, self._frame)

    def refresh(self) -> None:
        """Ask, wait, or leave alone what is being edited."""
        self._elsewhere.refresh()
        question = self.session.question(self.step)
        waiting = self.session.waiting(self.step)
        if question is None or (waiting and self.session.is_open(self.step.name)):
            self._question = self._asking = None
            self._status.value = step_html(self.session, self.step)
            self.fill(self._status)
            return
        if self._asking is None or not (self._keeping or question.asks_the_same(self._question)):
            self._ask(question)
        else:
            self._asking.refresh(question)
        self._question = question
        self._status.value = step_html(self.session, self.step)

    def as_text(self) -> str:
        """The state of the step in one sentence."""
        return step_text(self.session, self.step)

    def as_html(self) -> str:
        """The state of the step in one sentence."""
        return step_html(self.session, self.step)

    def _ask(self, question: Question) -> None:
        """Draw evidence and control."""
        control = question.step.control
        self._question = question
        self._asking = asking = asked_by(control, question)
        self._answer.value = ""
        self._reason.value = self._reason_of(question)
        if draft := self.session.draft(self.step):
            asking.aside = draft.aside
            asking.fill_in(draft.value)
            self._reason.value = draft.reason
            self._answer.value = escape(self.session.say("workbook.not-kept"))
        asking.watch(self._edited)
        propose = [] if question.step.only_a_person else [self._propose]  # else there is none to go back to
        buttons = widgets.HBox([self._keep, *propose, self._answer])
        evidence = evidence_of(control, question)
        self.fill(self._status, *evidence, self._asking.widget, self._reason, buttons, self._elsewhere)

    def _kept(self) -> None:
        """Write the decision; here only sentences change, so that the focus stays on the button."""
        if self._asking is None:
            return
        self._keeping = True
        try:
            self.session.keep(self.step, self._asking.value(), self._reason.value)
            self._answer.value = f"<span role='status'>{self._kept_html()}</span>"
        except ThermalkitError as error:
            self._answer.value = f"<span role='alert'>{escape(error.told(self.session.language))}</span>"
        finally:
            self._keeping = False
            self._elsewhere.refresh()

    def _kept_html(self) -> str:
        """That it was kept, and what to go on with."""
        following = self.session.following(self.step)
        if not following:
            return escape(self.session.say("workbook.written-last")) + self._unnamed_html()
        return steps_html(self.session, "workbook.written", following) + self._unnamed_html()

    def _unnamed_html(self) -> str:
        """Marks that the client would read under the name the picture gave them."""
        if self._asking is None or self.session.kind == "class" or not isinstance(self.step.control, MarksOn):
            return ""
        names = ", ".join(unnamed(self._asking.value()))
        return f"<br>{escape(self.session.say('workbook.unnamed', names=names))}" if names else ""

    def _edited(self, change: object = None) -> None:
        """What is not kept yet is set aside, so that neither reload nor crash loses it."""
        if self._asking is None or self._question is None or self._keeping:
            return
        try:
            draft = Draft(value=self._asking.value(), reason=self._reason.value, aside=self._asking.aside)
        except ThermalkitError:
            return
        question = self._question
        same = (draft.value, draft.reason) == (question.filled_in, self._reason_of(question))
        try:
            self.session.set_aside(self.step, None if same else draft)
            self._answer.value = "" if same else escape(self.session.say("workbook.not-kept"))
        except ThermalkitError as error:
            self._answer.value = f"<span role='alert'>{escape(error.told(self.session.language))}</span>"

    def _reason_of(self, question: Question) -> str:
        """The reason of a decision that holds."""
        return question.entry.reason if question.entry and question.state == "decided" else ""

    def _proposed(self) -> None:
        if self._asking is not None and self._question is not None:
            self._asking.fill_in(self._question.proposal)


def open_html(session: Session) -> str:
    """What is still to be kept, each step a button that leads to it."""
    return f"<p>{steps_html(session, 'workbook.open', session.waiting())}</p>"


class FindingsPanel(PagePanel):
    """What the investigation concludes, or what is still open."""

    def as_text(self) -> str:
        """The findings as lines of text."""
        return self._open() or findings_text(self.session.concluded(), self.session.language)

    def as_html(self) -> str:
        """The findings for a screen."""
        waits = self._open()
        return (
            open_html(self.session)
            if waits
            else findings_html(self.session.concluded(), self.session.language)
        )

    def _open(self) -> str:
        names = self.session.waiting()
        return self.session.say("workbook.open", steps=self.session.titles(names)) if names else ""


class AnnexPanel(Panel):
    """A button that writes the annex."""

    def __init__(self, session: Session, path: str | Path | None) -> None:
        super().__init__(session)
        self._path = path
        self._button = widgets.Button(description=session.say("workbook.write-annex"), layout=FITTING)
        self._said = widgets.HTML()
        self._button.on_click(self._frame.in_turn(self._write))
        self.fill(self._button, self._said)
        if session.unattended:
            self._write()

    def refresh(self) -> None:
        """An annex can be written once nothing is open."""
        names = self.session.waiting()
        self._button.disabled = bool(names)
        if names or not self.session.unattended:
            self._said.value = open_html(self.session) if names else escape(self.as_text())

    def as_text(self) -> str:
        """What the button would do."""
        names = self.session.waiting()
        if names:
            return self.session.say("workbook.open", steps=self.session.titles(names))
        return self.session.say("workbook.annex-hint")

    def _write(self) -> None:
        try:
            path = self.session.write_annex(self._path)
            self._said.value = escape(self.session.say("workbook.annex-written", path=str(path)))
        except ThermalkitError as error:
            self._said.value = f"<span role='alert'>{escape(error.told(self.session.language))}</span>"
