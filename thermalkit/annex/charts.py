"""Charts as plotly figures, the same in the annex and in the workbook.

Series differ by dash, marker and hatching as well as by colour, so that they can be told apart on a grey
print and by colour-blind readers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from textwrap import wrap
from typing import Any

from thermalkit.annex.chart_words import (
    axis_title,
    digits_of,
    limit_words,
    moment,
    rounded,
    unit_words,
    zone_of,
)
from thermalkit.annex.wording import Wording, visible
from thermalkit.diagnosis.finding import Axis, Chart, Series

PLOTLY = Path(__file__).parent / "vendor" / "plotly-basic.min.js"
CHART_SCRIPTS = (PLOTLY, Path(__file__).parent / "charts.js")
HEIGHT_PX = 380
LINE_CHARACTERS = 36

_INK, _RULE = "#1c1f23", "#c9ced4"
_FONT = 'system-ui, "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif'
# After Okabe and Ito, the light ones left out: each is at least 3:1 against white.
_COLOURS = ("#0b4f7d", "#d55e00", "#00805c", "#a34b86", "#5a5a5a")
_DASHES = ("solid", "dash", "dot", "dashdot", "longdash")
_MARKERS = ("circle", "square-open", "diamond", "triangle-up-open", "x-thin-open")
_HATCHES = ("", "/", ".", "x", "-")
# Days before months in both, without names of months where their order could be mistaken.
_DATES = {"en": ("%-d %b", "%b %Y"), "de": ("%-d.%-m.", "%-m/%Y")}
_DAY_MS, _MONTH_MS = 86_400_000, 28 * 86_400_000


def figure(chart: Chart, language: str) -> dict[str, Any]:
    """A chart as a plotly figure: `data` and `layout`, plain JSON.

    The title and the summary stand beside the figure, not in it.

    Parameters
    ----------
    chart : Chart
        Data with its words.
    language : str
        Of the words and of the numbers.

    Returns
    -------
    dict
        What `plotly.graph_objects.Figure` and `Plotly.newPlot` take; the same for the same chart.
    """
    words = Wording(language)
    traces = [trace for i, series in enumerate(chart.series) for trace in _traces(chart, series, i, words)]
    return {"data": traces, "layout": _layout(chart, words)}


def _layout(chart: Chart, words: Wording) -> dict[str, Any]:
    return {
        # Without a template of its own the workbook's library would add its colours, and not the page's.
        "template": {"layout": {"font": {"family": _FONT, "size": 13, "color": _INK}}},
        "height": HEIGHT_PX,
        "paper_bgcolor": "#ffffff",
        "plot_bgcolor": "#ffffff",
        "margin": {"l": 64, "r": 16, "t": 40, "b": 52},
        "separators": _separators(words.language),
        "hovermode": "closest",
        "dragmode": False,
        "showlegend": len(chart.series) > 1,
        "legend": {"orientation": "h", "x": 0, "xanchor": "left", "y": 1.02, "yanchor": "bottom"},
        "barmode": "group",
        "xaxis": _axis(chart, chart.x, words),
        "yaxis": {**_axis(chart, chart.y, words), "hoverformat": f",.{digits_of(chart)}f"},
        "shapes": [
            {
                "type": "line",
                "xref": "paper",
                "x0": 0,
                "x1": 1,
                "y0": value,
                "y1": value,
                "line": {"color": _INK, "width": 1.5, "dash": "6px,3px"},
            }
            for value, _ in chart.limits
        ],
        "annotations": [
            _label(value, text, is_below=value < max(level for level, _ in chart.limits))
            for (value, _), text in zip(chart.limits, limit_words(chart, words), strict=True)
        ],
    }


def _label(value: float, text: str, *, is_below: bool) -> dict[str, Any]:
    """What a level line means, beside it: under it where another lies higher, so that neither is covered."""
    return {
        "xref": "paper",
        "x": 1,
        "xanchor": "right",
        "y": value,
        "yanchor": "top" if is_below else "bottom",
        "showarrow": False,
        "align": "right",
        "text": _wrapped(text),
        "bgcolor": "#ffffffb3",
    }


def _axis(chart: Chart, axis: Axis, words: Wording) -> dict[str, Any]:
    lines: dict[str, Any] = {
        "type": {"number": "linear", "time": "date", "category": "category"}[axis.kind],
        "title": {"text": _wrapped(axis_title(chart, axis, words)), "standoff": 10, "font": {"size": 13}},
        "fixedrange": True,
        "automargin": True,
        "zeroline": False,
        "showline": True,
        "linecolor": _INK,
        "gridcolor": "#e6e8ea",
        "ticks": "outside",
        "tickcolor": _RULE,
        "exponentformat": "none",
    }
    if axis.kind == "time":
        day, month = _DATES[words.language]
        lines["hoverformat"] = f"{day} %Y, %H:%M"
        lines["tickformatstops"] = [
            {"dtickrange": [None, _DAY_MS - 1], "value": f"%H:%M\n{day}"},
            {"dtickrange": [_DAY_MS, _MONTH_MS - 1], "value": day},
            {"dtickrange": [_MONTH_MS, None], "value": month},
        ]
    return lines


def _traces(chart: Chart, series: Series, index: int, words: Wording) -> Iterator[dict[str, Any]]:
    colour = _COLOURS[index % len(_COLOURS)]
    x, y = list(_x_values(chart, series.x)), [rounded(v) for v in series.y]
    low, high = ([rounded(v) for v in side] for side in (series.low, series.high))
    trace: dict[str, Any] = {"name": _plain(words.text(series.name)), "x": x, "y": y}
    trace |= _drawn(series, index, colour)
    trace["hovertemplate"] = _hover(chart, series, words)
    if low and high:
        trace["customdata"] = [list(ends) for ends in zip(low, high, strict=True)]
        if series.style == "line":
            yield _band(x, low, high, colour)
        else:
            trace["error_y"] = _bars_of(y, low, high)
    yield trace


def _drawn(series: Series, index: int, colour: str) -> dict[str, Any]:
    """How a series is told from the others."""
    i = index % len(_COLOURS)
    if series.style == "bars":
        pattern = {"shape": _HATCHES[i], "fillmode": "replace", "fgcolor": colour, "size": 6}
        return {
            "type": "bar",
            "marker": {"color": colour, "line": {"color": colour, "width": 1.5}, "pattern": pattern},
        }
    if series.style == "points":
        marker = {"symbol": _MARKERS[i], "size": 9, "color": colour, "line": {"width": 2, "color": colour}}
        return {"type": "scatter", "mode": "markers", "marker": marker}
    line = {"color": colour, "width": 2, "dash": _DASHES[i]}
    return {"type": "scatter", "mode": "lines", "connectgaps": False, "line": line}


def _band(x: list[Any], low: list[float | None], high: list[float | None], colour: str) -> dict[str, Any]:
    """One closed outline for each stretch without a gap."""
    xs: list[Any] = []
    ys: list[float | None] = []
    for start, stop in _stretches(low, high):
        xs += [*x[start:stop], *reversed(x[start:stop]), None]
        ys += [*high[start:stop], *reversed(low[start:stop]), None]
    return {
        "type": "scatter",
        "mode": "lines",
        "x": xs[:-1],
        "y": ys[:-1],
        "fill": "toself",
        "fillcolor": f"{colour}2e",
        "line": {"width": 0},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _stretches(low: Sequence[float | None], high: Sequence[float | None]) -> Iterator[tuple[int, int]]:
    start: int | None = None
    for i, ends in enumerate(zip(low, high, strict=True)):
        if None in ends:
            if start is not None:
                yield start, i
            start = None
        elif start is None:
            start = i
    if start is not None:
        yield start, len(low)


def _bars_of(y: list[float | None], low: list[float | None], high: list[float | None]) -> dict[str, Any]:
    """Error bars from the ends of an interval."""

    def length(a: float | None, b: float | None) -> float:
        return 0.0 if a is None or b is None else round(max(a - b, 0.0), 6)

    return {
        "type": "data",
        "symmetric": False,
        "color": _INK,
        "thickness": 1.3,
        "width": 4,
        "array": [length(h, v) for h, v in zip(high, y, strict=True)],
        "arrayminus": [length(v, ends) for v, ends in zip(y, low, strict=True)],
    }


def _hover(chart: Chart, series: Series, words: Wording) -> str:
    form = f",.{digits_of(chart)}f"
    unit = f"\u00a0{unit_words(chart.y.unit, words)}" if chart.y.unit else ""
    text = f"%{{fullData.name}}<br>%{{x}}: %{{y:{form}}}{unit}"
    if series.low and series.high:
        low, high = (f"%{{customdata[{i}]:{form}}}" for i in (0, 1))
        text += f" ({words.say('number.interval', low=low, high=high)})"
    return f"{text}<extra></extra>"


def _x_values(chart: Chart, xs: Sequence[float | str]) -> Iterator[Any]:
    """Values of the x axis as the library takes them, which knows no offsets."""
    zone = zone_of(chart)
    for x in xs:
        if chart.x.kind == "time":
            yield f"{moment(x, zone):%Y-%m-%d %H:%M:%S}"
        else:
            yield _plain(str(x)) if chart.x.kind == "category" else rounded(float(x))


def _separators(language: str) -> str:
    from babel.numbers import get_decimal_symbol, get_group_symbol

    return str(get_decimal_symbol(language) + get_group_symbol(language))


def _plain(text: str) -> str:
    """Text in which the library finds no markup of its own."""
    return visible(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _wrapped(text: str) -> str:
    """Text in lines that fit beside a chart on a phone."""
    return "<br>".join(_plain(line) for line in wrap(visible(text), LINE_CHARACTERS, break_on_hyphens=False))
