"""What a question is judged by: pictures with the temperatures that mean something, and conditions."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping
from functools import partial, singledispatch
from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from thermalkit.annex.photos import laid_over_uri, photo_uri
from thermalkit.annex.pictures import corrected, labels
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.alignment import photo_alignment
from thermalkit.diagnosis.decisions import MarksOn, PairsOn
from thermalkit.diagnosis.marks import pixel_sizes_m
from thermalkit.diagnosis.run import investigation
from thermalkit.language import catalogue
from thermalkit.workbook.picture import Picture
from thermalkit.workbook.question import Question

if TYPE_CHECKING:
    from thermalkit.diagnosis.finding import Remark


@singledispatch
def evidence_of(control: object, question: Question) -> list[widgets.Widget]:
    """Conditions of the survey and the frames, for a question that is answered by looking at frames."""
    if "frames" not in question.step.reads or not question.case.site.frames:
        return []
    conditions = widgets.HTML(conditions_html(question))
    frames = tuple(question.case.site.frames)
    viewer = FrameViewer(question, frames, partial(_picture_with_places, question))
    return [conditions, viewer.widget]


def _picture_with_places(question: Question, frame: str) -> Picture:
    """A picture with the places that the question rests on."""
    from thermalkit.workbook.marking import context_marks, readings_of

    places = [
        mark for mark in context_marks(question, frame) if mark["id"].split("/")[0] in question.step.uses
    ]
    readings = readings_of(question, frame, places)
    return picture_of(question, frame, read_only=True, context=places, numbers=readings)


@evidence_of.register
def _none_beside_marks(control: MarksOn | PairsOn, question: Question) -> list[widgets.Widget]:
    """Marks and pairs are asked for on the pictures themselves."""
    return []


class Stage(widgets.VBox):  # type: ignore[misc]
    """One widget at a time; `latest` are the last ones shown, of which a change may still be on its way."""

    def __init__(self) -> None:
        super().__init__()
        self.latest: deque[widgets.Widget] = deque(maxlen=4)

    def show(self, widget: widgets.Widget) -> None:
        """Put a widget in the place of another."""
        self.latest.append(widget)
        self.children = (widget,)


class FrameViewer:
    """One picture at a time, chosen from a list where there are several."""

    def __init__(
        self, question: Question, frames: tuple[str, ...], picture: Callable[[str], Picture]
    ) -> None:
        self._picture_of = picture
        self._box = Stage()
        words = Wording(question.language)
        self.choice = widgets.Dropdown(
            description=words.say("workbook.frame"), options=frames, layout={"width": "max-content"}
        )
        self.choice.layout.display = "" if len(frames) > 1 else "none"
        self.widget = widgets.VBox([self.choice, self._box])
        self.choice.observe(self._changed, "value")
        self.show()

    @property
    def frame(self) -> str:
        """Id of the frame that is shown."""
        return str(self.choice.value)

    def show(self) -> None:
        """Draw the chosen frame anew."""
        self.picture = self._picture_of(self.frame)
        self._box.show(self.picture)

    def _changed(self, change: Mapping[str, Any]) -> None:
        self.show()


def picture_of(
    question: Question, frame: str, marks: list[dict[str, Any]] | None = None, **traits: Any
) -> Picture:
    """The picture of a frame: surface temperatures, lines of the investigation, its photo, marks."""
    words, site = Wording(question.language), question.case.site
    seen = corrected(question.case, frame)
    photo, aligned = _photo(question, frame)
    return Picture(
        seen.surface_degc,
        interval=[list(row) for row in seen.table],
        lines=_lines(question, frame, words),
        photo=photo,
        photo_aligned=aligned,
        marks=marks or [],
        metres_per_pixel=(pixel_sizes_m(site.frames[frame]) or (0.0, 0.0))[1],
        label=words.say("workbook.picture", frame=frame),
        labels={**labels(words.language), **_tool_labels(words.language)},
        locale=words.language,
        **traits,
    )


def _photo(question: Question, frame: str) -> tuple[str, bool]:
    """The photo of a frame, laid over it where that was decided or proposed."""
    site = question.case.site
    if (photo := site.frames[frame].photo) is None:
        return "", False
    found = photo_alignment(question.case, frame)
    shape = site.frames[frame].apparent_degc.shape
    laid = None if found is None else laid_over_uri(site.folder / photo, found, shape)
    return (laid, True) if laid else (photo_uri(site.folder / photo) or "", False)


def _tool_labels(language: str) -> dict[str, Any]:
    """Words of the tools that an annex has no use for."""
    prefix = "workbook.tool."
    texts = {
        id.removeprefix(prefix): text for id, text in catalogue(language).items() if id.startswith(prefix)
    }
    return {**texts, "keysMark": [line.split("|", 1) for line in texts["keysMark"].splitlines()]}


def _lines(question: Question, frame: str, words: Wording) -> list[dict[str, Any]]:
    """Temperatures that mean something on this frame."""
    return [
        {"temperature_degc": line.temperature_degc, "label": words.text(line.label)}
        for picture in investigation(question.step.kind).pictures(question.case)
        if picture.frame == frame
        for line in picture.lines
    ]


def conditions_html(question: Question) -> str:
    """The remarks of the survey as a table: what was noticed, on which frame, what it does."""
    words = Wording(question.language)
    remarks = investigation(question.step.kind).survey(question.case).remarks
    if not remarks:
        return f"<p>{escape(words.say('workbook.no-remarks'))}</p>"
    heads = "".join(
        f"<th scope='col'>{escape(words.say(f'annex.{id}'))}</th>" for id in ("remark", "concerns", "effect")
    )
    rows = "".join(_remark_row(remark, words) for remark in remarks)
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"


def _remark_row(remark: Remark, words: Wording) -> str:
    cells = (
        words.text(remark.statement),
        remark.frame or words.say("annex.whole-visit"),
        words.say(f"annex.effect.{remark.effect}"),
    )
    return "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in cells) + "</tr>"
