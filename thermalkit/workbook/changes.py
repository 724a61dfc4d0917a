"""What changed since an earlier visit, with the pictures of both."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from thermalkit.annex.before_after import Pair
from thermalkit.annex.changes import Page, page
from thermalkit.annex.wording import Rows, Wording
from thermalkit.workbook.panels import WIDE, Panel, open_html
from thermalkit.workbook.picture import Picture

if TYPE_CHECKING:
    from thermalkit.workbook.session import Session

_HEADS = (
    *("annex.place", "annex.changes.since", "annex.quantity"),
    *("annex.changes.then", "annex.changes.now", "annex.changes.change"),
)
_SIDE_BY_SIDE = widgets.Layout(display="grid", grid_template_columns="repeat(auto-fit, minmax(18rem, 1fr))")


class ChangesPanel(Panel):
    """Places on both visits in a table, and each frame of both with one bar, once everything is decided."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._since: Page | None = None
        self._told = ""

    def refresh(self) -> None:
        """Compare again."""
        self._since = None if self.session.waiting() else self._compared()
        told = self.as_html()
        if told == self._told:
            return
        self._told = told
        pairs = self._since.pairs if self._since is not None else ()
        self.fill(widgets.HTML(told, layout=WIDE), *(part for pair in pairs for part in _shown(pair)))

    def as_text(self) -> str:
        """The table as lines of text."""
        names = self.session.waiting()
        if names:
            return self.session.say("workbook.open", steps=self.session.titles(names))
        if self._since is None:
            return self.session.say("workbook.no-earlier-visit")
        rows = [" – ".join(row) for row in self._since.places]
        return "\n".join([*self._since.problems, self._since.summary, *rows, self._since.shared])

    def as_html(self) -> str:
        """The table for a screen."""
        if self.session.waiting():
            return open_html(self.session)
        since = self._since
        if since is None or not since.day:
            return "".join(f"<p>{escape(line)}</p>" for line in self.as_text().splitlines() if line)
        heads = [self.session.say(id) for id in _HEADS]
        problems = "".join(f"<p role='alert'>{escape(text)}</p>" for text in since.problems)
        title = self.session.say("annex.changes-since", day=since.day)
        return (
            f"{problems}<h3>{escape(title)}</h3><p>{escape(since.summary)}.</p>"
            f"{_table(heads, since.places)}<p>{escape(since.shared)}</p>"
        )

    def _compared(self) -> Page | None:
        session = self.session
        return page(session.concluded(), session.site, session.record, Wording(session.language))


def _table(heads: list[str], rows: Rows) -> str:
    head = "".join(f"<th scope='col' style='text-align:start'>{escape(text)}</th>" for text in heads)
    body = "".join(
        "<tr>" + "".join(f"<td style='text-align:start'>{escape(cell)}</td>" for cell in row) + "</tr>"
        for row in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _shown(pair: Pair) -> list[widgets.Widget]:
    """A frame of both visits beside one another, below them their difference."""
    both = widgets.Box([_picture(pair.before), _picture(pair.after)], layout=_SIDE_BY_SIDE)
    difference = [] if pair.difference is None else [_picture(pair.difference)]
    title, caption = widgets.HTML(f"<h4>{escape(pair.title)}</h4>"), widgets.HTML(escape(pair.caption))
    return [title, both, *difference, caption]


def _picture(data: dict[str, Any]) -> Picture:
    """A picture of the annex as a widget."""
    picture = Picture([[0.0]], **{name: value for name, value in data.items() if name != "frame"})
    picture.frame = data["frame"]
    return picture
