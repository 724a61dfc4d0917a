"""The picture in a notebook: what `picture.js` draws, kept in step with Python."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import anywidget
import traitlets
from numpy.typing import ArrayLike

from thermalkit.annex.packing import PICTURE_SCRIPT, PICTURE_STYLE, packed_frame


class Picture(anywidget.AnyWidget):
    """A frame to look at and to draw on.

    Parameters
    ----------
    temperatures_degc : array_like, shape (rows, columns)
        Corrected surface temperatures, or differences in K; what is not finite is drawn hatched.
    step_k : float
        Rounding on the way to the page.
    **traits
        Any of the data keys listed in `thermalkit.annex.packing`, except ``frame``.

    Notes
    -----
    Each thing a person does is one change of `marks` (a list of plain dicts), and of `suggestions` when
    one was accepted or dismissed; observe those. `numbers` and `details` are the way back: texts by mark
    id, shown in the table, and what is drawn to go with them.

    Examples
    --------
    >>> Picture([[12.0, 12.5, 13.0], [12.1, 12.6, 13.1]])
    Picture(3 x 2, 0 marks)
    """

    _esm = PICTURE_SCRIPT.read_text("utf-8")
    _css = PICTURE_STYLE.read_text("utf-8")

    frame = traitlets.Dict().tag(sync=True)
    interval: traitlets.List[list[float] | float] = traitlets.List().tag(sync=True)
    bar = traitlets.Dict().tag(sync=True)
    difference = traitlets.Bool(False).tag(sync=True)
    unit = traitlets.Unicode("").tag(sync=True)
    lines = traitlets.List(traitlets.Dict()).tag(sync=True)
    photo = traitlets.Unicode("").tag(sync=True)
    photo_aligned = traitlets.Bool(False).tag(sync=True)
    marks = traitlets.List(traitlets.Dict()).tag(sync=True)
    suggestions = traitlets.List(traitlets.Dict()).tag(sync=True)
    context = traitlets.List(traitlets.Dict()).tag(sync=True)
    numbers = traitlets.Dict().tag(sync=True)
    details = traitlets.Dict().tag(sync=True)
    brief: traitlets.List[str] = traitlets.List().tag(sync=True)
    role = traitlets.Unicode("suspect").tag(sync=True)
    roles = traitlets.List(traitlets.Dict()).tag(sync=True)
    metres_per_pixel = traitlets.Float(0.0).tag(sync=True)
    together = traitlets.Dict().tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    labels = traitlets.Dict().tag(sync=True)
    locale = traitlets.Unicode("en").tag(sync=True)
    read_only = traitlets.Bool(False).tag(sync=True)

    def __init__(self, temperatures_degc: ArrayLike, *, step_k: float = 0.05, **traits: Any) -> None:
        super().__init__(frame=packed_frame(temperatures_degc, step_k=step_k), **traits)

    def show_frame(self, temperatures_degc: ArrayLike, *, step_k: float = 0.05) -> None:
        """Put another frame of temperatures under the same marks."""
        self.frame = packed_frame(temperatures_degc, step_k=step_k)

    def replace_marks(
        self, marks: Sequence[Mapping[str, Any]], suggestions: Sequence[Mapping[str, Any]] = ()
    ) -> None:
        """Show other marks and suggestions, both in one message."""
        with self.hold_sync():
            self.marks = [dict(mark) for mark in marks]
            self.suggestions = [dict(mark) for mark in suggestions]

    def __repr__(self) -> str:
        """The same for two runs, so that a notebook's text output can be compared."""
        columns, rows = self.frame.get("columns", 0), self.frame.get("rows", 0)
        return f"Picture({columns} x {rows}, {len(self.marks)} marks)"
