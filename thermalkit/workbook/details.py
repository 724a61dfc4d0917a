"""A construction detail with its dimensions as sliders, before and after each cure, side by side."""

from __future__ import annotations

from dataclasses import Field, fields
from html import escape
from typing import Any

import ipywidgets as widgets

from thermalkit.annex.charts import figure
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.finding import Axis, Chart, Series
from thermalkit.language import say
from thermalkit.physics.detail import Detail
from thermalkit.physics.detail_result import AS_FOUND, DetailResult, detail_result
from thermalkit.physics.details import detail_named, details
from thermalkit.physics.moist_air import critical_surface_temperature_degc
from thermalkit.physics.thermal_bridge import (
    LARGEST_FACTOR_CHANGE,
    LARGEST_FLOW_CHANGE,
    LARGEST_IMBALANCE,
    NotProven,
)
from thermalkit.workbook.charting import Charts

_WIDE: dict[str, Any] = {
    "style": {"description_width": "18em"},
    "layout": {"width": "40em", "max_width": "100%"},
}

Outcome = DetailResult | NotProven


def open_detail(name: str, *, language: str = "en") -> DetailBench:
    """A detail to be set to what was found.

    Parameters
    ----------
    name : str
        Such as "balcony-slab"; see `thermalkit.physics.details.details`.
    language : str
        "en" or "de".

    Raises
    ------
    UnknownName
        There is no such detail.
    """
    detail_named(name)
    return DetailBench(name, Wording(language))


class DetailBench:
    """Sliders of a detail and its climate, a chart along the inner surface, a table to quote from."""

    def __init__(self, name: str, words: Wording) -> None:
        self.words = words
        self.climate = {
            "indoor": self._number("bench.indoor", 20.0, 5.0, 35.0, 0.5),
            "outdoor": self._number("bench.outdoor", -5.0, -30.0, 35.0, 0.5),
            "humidity": self._number("bench.humidity", 50.0, 10.0, 95.0, 1.0),
        }
        titles = [(words.say(f"detail.{other}"), other) for other in details()]
        self.choice = widgets.Dropdown(options=titles, description=words.say("bench.detail"), **_WIDE)
        self.dimensions, self.chart, self.table = widgets.VBox(), Charts(), widgets.HTML()
        caution = widgets.HTML(f"<p>{escape(words.say('bench.caution'))}</p>")
        climate = widgets.VBox([*self.climate.values()])
        self.widget = widgets.VBox([self.choice, caution, climate, self.dimensions, self.chart, self.table])
        for slider in self.climate.values():
            slider.observe(self.redraw, "value")
        self.choice.value = name
        self.choice.observe(lambda change: self.choose(change["new"]), "value")
        self.choose(name)

    def choose(self, name: str) -> None:
        """Begin anew with a detail as it usually is."""
        detail = detail_named(name)()
        self.name, self.kind = name, type(detail)
        self.sliders = {item.name: self._slider(item, getattr(detail, item.name)) for item in fields(detail)}
        lengths, others = (
            [s for n, s in self.sliders.items() if n.endswith("_mm") is is_length]
            for is_length in (True, False)
        )
        folded = widgets.Accordion([widgets.VBox(others)], titles=["W/(m K)"])
        self.redraw()
        for slider in self.sliders.values():
            slider.observe(self.redraw, "value")
        self.dimensions.children = [*lengths, folded]

    def __repr__(self) -> str:
        return f"DetailBench({self.name!r})"

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook shows: the widgets, with a text that is the same in every run."""
        return {**self.widget._repr_mimebundle_(**kwargs), "text/plain": repr(self)}

    @property
    def detail(self) -> Detail:
        """The detail as the sliders say."""
        return self.kind(**{name: slider.value for name, slider in self.sliders.items()})

    def outcomes(self) -> dict[str, Outcome]:
        """The result of every variant, or why it must not be quoted."""
        detail = self.detail
        return {name: _outcome(kind) for name, kind in {AS_FOUND: detail, **detail.cures()}.items()}

    def redraw(self, _change: object = None) -> None:
        """Calculate anew and show it; a climate alone costs no calculation."""
        outcomes = self.outcomes()
        chart = self._chart(outcomes)
        title, summary = self.words.text(chart.title), self.words.text(chart.summary)
        drawn = figure(chart, self.words.language)
        self.chart.charts = [{"title": title, "summary": summary, "figure": drawn}]
        self.table.value = self._table(outcomes)

    def _slider(self, item: Field[Any], value: float) -> widgets.FloatSlider:
        name, id = item.name, "bench.length"
        stem = name.removesuffix("_mm")
        if name.endswith("_w_mk"):
            stem, id = name.removesuffix("_w_mk"), "bench.conductivity"
        low, high = item.metadata["low"], item.metadata["high"]
        step = 0.005 if id == "bench.conductivity" else (0.5 if high <= 40.0 else 5.0)
        label = self.words.say(id, part=say(f"dimension.{stem}"))
        return _slider_of(label, value, low, high, step)

    def _number(self, id: str, value: float, low: float, high: float, step: float) -> widgets.FloatSlider:
        return _slider_of(self.words.say(id), value, low, high, step)

    def _chart(self, outcomes: dict[str, Outcome]) -> Chart:
        indoor, outdoor = self.climate["indoor"].value, self.climate["outdoor"].value
        critical = critical_surface_temperature_degc(indoor, self.climate["humidity"].value / 100.0)
        series = tuple(
            Series(
                name=say(f"cure.{name}"),
                x=tuple(found.along_m.round(4).tolist()),
                y=tuple(found.surface_degc(indoor, outdoor).round(3).tolist()),
            )
            for name, found in outcomes.items()
            if isinstance(found, DetailResult)
        )
        lowest = "; ".join(
            f"{self.words.text(s.name)} {self.words.number(min(y for y in s.y if y is not None), 1, 'degC')}"
            for s in series
        )
        return Chart(
            id=f"detail-{self.name}",
            title=say(f"detail.{self.name}"),
            summary=say("bench.summary", lowest=lowest),
            x=Axis(title=say("bench.along"), unit="m"),
            y=Axis(title=say("bench.surface"), unit="degC"),
            series=series,
            limits=((float(critical), say("bench.critical")),),
        )

    def _table(self, outcomes: dict[str, Outcome]) -> str:
        heads = ("variant", "psi-inner", "psi-outer", "factor", "coldest", "lengths", "imbalance", "change")
        head = "".join(f"<th scope='col'>{escape(self.words.say(f'bench.{h}'))}</th>" for h in heads)
        rows = "".join(self._row(name, outcome) for name, outcome in outcomes.items())
        allowed = f"{LARGEST_IMBALANCE:g}; {LARGEST_FLOW_CHANGE:.0%}, f {LARGEST_FACTOR_CHANGE:g}"
        note = escape(f"{self.words.say('bench.allowed')}: {allowed}")
        return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table><p>{note}</p>"

    def _row(self, name: str, outcome: Outcome) -> str:
        head = f"<th scope='row'>{escape(self.words.say(f'cure.{name}'))}</th>"
        if isinstance(outcome, NotProven):
            why = escape(self.words.say("bench.refused", why=str(outcome)))
            return f"<tr>{head}<td colspan='7'>{why}</td></tr>"
        cells = "".join(f"<td>{escape(cell)}</td>" for cell in self._cells(outcome))
        return f"<tr>{head}{cells}</tr>"

    def _cells(self, found: DetailResult) -> tuple[str, ...]:
        number = self.words.number
        lengths = [
            f"U {number(part.transmittance_w_m2k, 2)}: "
            f"{number(part.inner_m, 3)} / {number(part.outer_m, 3)} m"
            for part in found.flanks
        ]
        imbalance = max(found.flow_proof.imbalance, found.factor_proof.imbalance)
        return (
            number(found.psi_inner_w_mk, 3, "W/(m K)"),
            number(found.psi_outer_w_mk, 3, "W/(m K)"),
            number(found.factor, 3),
            number(found.coldest_along_m, 3, "m"),
            "; ".join(lengths),
            f"{imbalance:.0e}",
            f"{found.flow_proof.flow_change:.2%}, f {found.factor_proof.factor_change:.4f}",
        )


def _slider_of(label: str, value: float, low: float, high: float, step: float) -> widgets.FloatSlider:
    return widgets.FloatSlider(
        description=label,
        value=value,
        min=low,
        max=high,
        step=step,
        readout_format=".3f" if step < 0.1 else ".1f",
        continuous_update=False,
        **_WIDE,
    )


def _outcome(detail: Detail) -> Outcome:
    try:
        return detail_result(detail)
    except NotProven as refused:
        return refused
