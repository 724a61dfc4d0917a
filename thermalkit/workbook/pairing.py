"""Pairs of points: the same places clicked on a frame and on its photo, and how well they agree."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from html import escape
from io import BytesIO
from typing import Any

import anywidget
import ipywidgets as widgets
import numpy as np
import traitlets

from thermalkit.annex.photos import LONGEST_SIDE_PX, photo_uri
from thermalkit.annex.thumbnails import coloured
from thermalkit.diagnosis.alignment import STEP, alignment_said, photo_alignment, residuals_px
from thermalkit.diagnosis.decisions import PairsOn
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.alignment import LEAST_PAIRS, Unaligned
from thermalkit.language import Number, catalogue, render, say
from thermalkit.site.photos import read_photo
from thermalkit.workbook.controls import HERE, Plain
from thermalkit.workbook.evidence import Stage, picture_of
from thermalkit.workbook.question import Question

Pair = list[list[float]]
PairList = list[Pair]


class PairPicker(anywidget.AnyWidget):
    """Two pictures side by side; `pairs` are whole pairs in pixels of both files."""

    _esm = HERE / "pairs.js"
    _css = HERE / "pairs.css"
    pictures = traitlets.List(traitlets.Dict()).tag(sync=True)
    pairs: traitlets.List[Pair] = traitlets.List().tag(sync=True)
    residuals = traitlets.List(traitlets.Unicode()).tag(sync=True)
    worst = traitlets.Int(-1).tag(sync=True)
    said = traitlets.List(traitlets.Unicode()).tag(sync=True)
    labels = traitlets.Dict().tag(sync=True)

    def __repr__(self) -> str:
        """The same for two runs."""
        return f"PairPicker({len(self.pairs)} pairs)"


class AskPairs(Plain):
    """One frame with its photo at a time, the pairs set on both, and the photo laid over the frame."""

    def __init__(self, question: Question, control: PairsOn) -> None:
        self._question, self._frames = question, control.frames(question.case)
        self._pairs: dict[str, PairList] = {}
        self._following = False
        self._heard: Callable[[], None] = lambda: None
        self._sort(question.filled_in)
        self._box, self._laid = Stage(), widgets.VBox()
        self.choice = widgets.Dropdown(
            description=self._say("workbook.frame"), options=self._frames, layout={"width": "max-content"}
        )
        self.choice.layout.display = "" if len(self._frames) > 1 else "none"
        self.choice.observe(self._changed, "value")
        self.widget = widgets.VBox([self.choice, self._box, self._laid])
        self._draw()

    @property
    def frame(self) -> str:
        """Id of the frame that is shown."""
        return str(self.choice.value)

    def value(self) -> Any:
        """Pairs of the frames that have any."""
        return {frame: pairs for frame, pairs in self._pairs.items() if pairs}

    def fill_in(self, value: Any) -> None:
        """Show pairs; those on frames that are not asked about fall away."""
        self._sort(value)
        self._following = True
        self.picker.pairs = self._pairs[self.frame]
        self._following = False
        self._judge()
        self._heard()

    def watch(self, heard: Callable[[], None]) -> None:
        """Call back after each change."""
        self._heard = heard

    def _sort(self, value: Any) -> None:
        given = value if isinstance(value, dict) else {}
        self._pairs = {
            frame: [[list(at) for at in pair] for pair in given.get(frame, ())] for frame in self._frames
        }

    def _changed(self, change: Mapping[str, Any]) -> None:
        self._draw()

    def _draw(self) -> None:
        """The chosen frame with its photo."""
        site, frame = self._question.case.site, self._question.case.site.frames[self.frame]
        path = site.folder / (frame.photo or "")
        photo, uri = read_photo(path, LONGEST_SIDE_PX), photo_uri(path)
        if photo is None or uri is None:
            self.picker = PairPicker()
            self._box.show(widgets.HTML(escape(self._say("workbook.pairs-no-photo"))))
            return
        rows, columns = frame.apparent_degc.shape
        self.picker = PairPicker(
            pictures=[
                {"uri": _frame_uri(self._question, self.frame), "rows": rows, "columns": columns},
                {"uri": uri, "rows": photo.rows, "columns": photo.columns},
            ],
            pairs=self._pairs[self.frame],
            labels=_labels(self._question.language),
        )
        self.picker.observe(partial(self._set, self.frame), "pairs")
        self._box.show(self.picker)
        self._judge()

    def _set(self, frame: str, change: Mapping[str, Any]) -> None:
        """Pairs belong to the frame they were set on, also where another one was chosen meanwhile."""
        if not self._following:
            self._pairs[frame] = [[list(at) for at in pair] for pair in change["new"]]
            self._judge()
            self._heard()

    def _judge(self) -> None:
        """How well the pairs agree, and the photo as they lay it over the frame."""
        pairs, case, picker = self._pairs[self.frame], self._question.case, self.picker
        residuals: list[str] = []
        worst, said = -1, []
        try:
            with self._decided(pairs):
                found = photo_alignment(case, self.frame)
        except Unaligned as error:
            found, said = None, [error.told(self._question.language)]
        if found is not None:
            left = residuals_px(found)
            said = [render(s, self._question.language) for s in alignment_said(case, self.frame, found)]
            if len(pairs) > LEAST_PAIRS or found.is_led:
                residuals = [self._say("workbook.pairs-apart", px=Number(float(px), "", 1)) for px in left]
                worst = int(np.argmax(left))
        elif not said:
            said = [self._say("workbook.pairs-more", count=max(LEAST_PAIRS - len(pairs), 0))]
        with picker.hold_sync():
            picker.residuals, picker.worst, picker.said = residuals, worst, said
        self._laid.children = () if found is None else (self._laid_over(pairs),)

    def _laid_over(self, pairs: PairList) -> widgets.Widget:
        with self._decided(pairs):
            return picture_of(self._question, self.frame, read_only=True)

    @contextmanager
    def _decided(self, pairs: PairList) -> Iterator[None]:
        """As if these pairs had been kept."""
        decided = self._question.case.decided
        before = decided.get(STEP, {})
        decided[STEP] = {self.frame: pairs}
        try:
            yield
        finally:
            decided[STEP] = before

    def _say(self, id: str, **values: Any) -> str:
        return render(say(id, **values), self._question.language)


def _frame_uri(question: Question, frame: str) -> str:
    """A frame in the colours of the picture, as a data URI of a PNG, pixel for pixel."""
    stream = BytesIO()
    coloured(nominal_surface_degc(question.case, frame)).save(stream, "PNG")
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode("ascii")


def _labels(language: str) -> dict[str, Any]:
    prefix = "workbook.pairs."
    texts = {
        id.removeprefix(prefix): text for id, text in catalogue(language).items() if id.startswith(prefix)
    }
    return {
        **texts,
        "sides": [texts["frame-side"], texts["photo-side"]],
        "other": [texts["other-frame"], texts["other-photo"]],
    }
