"""The charts of an investigation, drawn as the annex draws them."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import anywidget
import ipywidgets as widgets
import traitlets

from thermalkit.annex.charts import PLOTLY, figure
from thermalkit.language import render
from thermalkit.workbook.controls import HERE
from thermalkit.workbook.panels import Panel, open_html

if TYPE_CHECKING:
    from thermalkit.diagnosis.finding import Chart
    from thermalkit.workbook.session import Session


class Charts(anywidget.AnyWidget):
    """Charts under their titles: each has `title`, `summary`, and a `figure` of `data` and `layout`.

    One widget draws them all, since each widget brings the library along.
    """

    _esm = HERE / "charts.js"
    library = traitlets.Unicode(PLOTLY.read_text("utf-8")).tag(sync=True)
    charts: traitlets.List[dict[str, object]] = traitlets.List(traitlets.Dict()).tag(sync=True)


class ChartsPanel(Panel):
    """What happens over time and what cures would do, once everything is decided."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._drawn: object = None

    def refresh(self) -> None:
        """Draw again where a decision changed the charts."""
        charts, language = self._charts(), self.session.language
        if self._drawn == (charts, self.session.waiting()):
            return
        self._drawn = (charts, self.session.waiting())
        if not charts:
            self.fill(widgets.HTML(self.as_html()))
            return
        shown = [
            {
                "title": render(chart.title, language),
                "summary": render(chart.summary, language),
                "figure": figure(chart, language),
            }
            for chart in charts
        ]
        self.fill(Charts(charts=shown))

    def as_text(self) -> str:
        """Titles and summaries as lines of text."""
        names = self.session.waiting()
        if names:
            return self.session.say("workbook.open", steps=self.session.titles(names))
        lines = [
            f"{render(chart.title, self.session.language)}: {render(chart.summary, self.session.language)}"
            for chart in self._charts()
        ]
        return "\n".join(lines) or self.session.say("workbook.no-charts")

    def as_html(self) -> str:
        """Titles and summaries for a page without widgets."""
        if self.session.waiting():
            return open_html(self.session)
        return "".join(f"<p>{escape(line)}</p>" for line in self.as_text().splitlines())

    def _charts(self) -> tuple[Chart, ...]:
        return () if self.session.waiting() else self.session.concluded().charts
