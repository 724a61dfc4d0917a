"""Charts in words: their data as a table, what their lines mean, for page and figure alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.finding import Axis, Chart, Series
from thermalkit.language import render

MOST_ROWS = 20
_DECIMALS = {"degC": 1, "K": 1, "%": 0}


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartTable:
    """Data of a chart as rows of words; `every` is 2 where every other row is left out, and so on."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    every: int


def table(chart: Chart, words: Wording) -> ChartTable:
    """Data of a chart as a table of at most 20 rows, the first and the last among them."""
    columns = [{x: i for i, x in enumerate(series.x)} for series in chart.series]
    shown, every = _thinned(_in_order(chart))
    digits = digits_of(chart)
    labels = dict(zip(shown, _x_words(chart, shown, words), strict=True))
    return ChartTable(
        heads=(axis_title(chart, chart.x, words), *(words.text(series.name) for series in chart.series)),
        rows=tuple(
            (
                labels[x],
                *(
                    _y_words(series, column.get(x), chart.y.unit, digits, words)
                    for series, column in zip(chart.series, columns, strict=True)
                ),
            )
            for x in shown
        ),
        every=every,
    )


def limit_words(chart: Chart, words: Wording) -> tuple[str, ...]:
    """What the level lines of a chart mean, each with its value."""
    digits = digits_of(chart)
    return tuple(
        f"{words.text(meaning)}: {words.number(value, digits, chart.y.unit)}"
        for value, meaning in chart.limits
    )


def has_band(chart: Chart) -> bool:
    """Whether a series of the chart has an interval."""
    return any(series.low and series.high for series in chart.series)


def axis_title(chart: Chart, axis: Axis, words: Wording) -> str:
    """What an axis shows, with its unit; times with their offset."""
    title = render(axis.title, words.language)
    unit = unit_words(axis.unit, words)
    zone = zone_of(chart)
    if axis.kind == "time" and zone is not None:
        unit = f"UTC{moment(_in_order(chart)[0], zone).isoformat()[-6:]}"
    return f"{title} ({unit})" if unit else title


def zone_of(chart: Chart) -> tzinfo | None:
    """The offset of the first time of a chart, to which all others are brought."""
    first = next((str(x) for series in chart.series for x in series.x), None)
    return datetime.fromisoformat(first).tzinfo if first is not None and chart.x.kind == "time" else None


def moment(x: float | str, zone: tzinfo | None) -> datetime:
    """A time of a chart at its offset."""
    when = datetime.fromisoformat(str(x))
    return when.astimezone(zone) if zone is not None else when


def digits_of(chart: Chart) -> int:
    """Decimals of the y axis: those usual for its unit, else what shows a hundredth of its span."""
    if chart.y.unit in _DECIMALS:
        return _DECIMALS[chart.y.unit]
    values = [v for series in chart.series for side in (series.y, series.low, series.high) for v in side]
    known = [v for v in map(rounded, [*values, *(value for value, _ in chart.limits)]) if v is not None]
    span = max(known) - min(known) if known else 0.0
    return min(max(1 - math.floor(math.log10(span)), 0), 4) if span > 0 else 1


def rounded(value: float | None) -> float | None:
    """Six figures are more than any reading has; what is no number is a gap."""
    return None if value is None or not math.isfinite(value) else float(f"{value:.6g}") + 0.0


def unit_words(unit: str, words: Wording) -> str:
    """A unit as it is written."""
    return words.number(0, 0, unit).partition("\u00a0")[2]


def _in_order(chart: Chart) -> list[float | str]:
    """Every x of a chart once; numbers and times rising, categories as they come."""
    xs = list(dict.fromkeys(x for series in chart.series for x in series.x))
    if chart.x.kind == "category":
        return xs
    zone = zone_of(chart)
    return sorted(xs, key=lambda x: moment(x, zone).timestamp() if chart.x.kind == "time" else float(x))


def _x_words(chart: Chart, xs: Sequence[float | str], words: Wording) -> list[str]:
    if chart.x.kind == "time":
        moments = [moment(x, zone_of(chart)) for x in xs]
        return [f"{words.day(when)}, {when:%H:%M}" for when in moments]
    return [words.plain(float(x)) if chart.x.kind == "number" else str(x) for x in xs]


def _y_words(series: Series, index: int | None, unit: str, digits: int, words: Wording) -> str:
    value = None if index is None else rounded(series.y[index])
    if value is None or index is None:
        return "–"
    text = words.number(value, digits, unit)
    if not (series.low and series.high):
        return text
    low, high = (rounded(side[index]) for side in (series.low, series.high))
    if low is None or high is None:
        return text
    return f"{text} ({words.span(low, high, digits, '')})"


def _thinned(xs: list[float | str]) -> tuple[list[float | str], int]:
    every = math.ceil(max(len(xs) - 1, 1) / (MOST_ROWS - 2)) if len(xs) > MOST_ROWS else 1
    kept = xs[::every]
    return (kept if not xs or kept[-1] == xs[-1] else [*kept, xs[-1]]), every
