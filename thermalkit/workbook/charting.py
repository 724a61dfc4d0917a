"""The charts of an investigation, drawn as the annex draws them."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as widgets
import plotly.graph_objects as go

from thermalkit.annex.charts import figure
from thermalkit.language import render
from thermalkit.workbook.panels import Panel

if TYPE_CHECKING:
    from thermalkit.diagnosis.finding import Chart
    from thermalkit.workbook.session import Session


class ChartsPanel(Panel):
    """What happens over time and what cures would do, once everything is decided."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._drawn: object = None

    def refresh(self) -> None:
        """Draw again where a decision changed the charts."""
        charts = self._charts()
        if self._drawn == (charts, self.session.waiting()):
            return
        self._drawn = (charts, self.session.waiting())
        children: list[widgets.Widget] = []
        for chart in charts:
            title, summary = (
                escape(render(text, self.session.language)) for text in (chart.title, chart.summary)
            )
            children += [
                widgets.HTML(f"<h4>{title}</h4><p>{summary}</p>"),
                go.FigureWidget(figure(chart, self.session.language)),
            ]
        self.fill(*(children or [widgets.HTML(f"<p>{escape(self.as_text())}</p>")]))

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
        return "".join(f"<p>{escape(line)}</p>" for line in self.as_text().splitlines())

    def _charts(self) -> tuple[Chart, ...]:
        return () if self.session.waiting() else self.session.concluded().charts
