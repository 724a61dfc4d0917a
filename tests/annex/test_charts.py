"""Charts as plotly figures and as tables."""

import json
import re
from dataclasses import replace
from html import unescape
from itertools import pairwise
from pathlib import Path

import pytest

from thermalkit.annex.build import page
from thermalkit.annex.chart_words import limit_words, table
from thermalkit.annex.charts import CHART_SCRIPTS, figure
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.finding import Axis, Chart, Series
from thermalkit.language import say

AIR, DEW, LIMIT = say("term.air-temperature"), say("term.dew-point"), say("annex.limits")
STYLES = ("line", "points", "bars")


def chart(*series, x="number", unit="degC", limits=(), **parts):
    return Chart(
        id="invented",
        title=say("annex.charts"),
        summary=say("annex.caution.surface"),
        x=Axis(title=say("annex.when"), kind=x, unit="m" if x == "number" else ""),
        y=Axis(title=AIR, unit=unit),
        series=series,
        limits=limits,
        **parts,
    )


def line(y, x=None, **parts):
    return Series(name=AIR, x=tuple(x or map(float, range(len(y)))), y=tuple(y), **parts)


HOURS = [f"2026-01-21T{hour:02}:00:00+00:00" for hour in range(24)]


def everything(style="line"):
    y = tuple(1000.0 + i for i in range(24))
    return chart(
        line(y, HOURS, low=tuple(v - 1 for v in y), high=tuple(v + 1 for v in y), style=style),
        *(Series(name=DEW, x=tuple(HOURS), y=tuple(v - i for v in y), style=style) for i in range(1, 5)),
        x="time",
        limits=((990.0, LIMIT), (1010.0, DEW)),
    )


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("language", ["en", "de"])
def test_figure_is_what_plotly_takes(style, language):
    """The library's own checker accepts every property and adds none."""
    import plotly.graph_objects as go

    made = figure(everything(style), language)
    checked = json.loads(go.Figure(made).to_json(engine="json"))
    assert checked == json.loads(json.dumps(made, allow_nan=False))


def test_figure_is_the_same_each_time():
    """Byte for byte."""
    first, second = (json.dumps(figure(everything(), "en")) for _ in range(2))
    assert first == second


def told_apart_by(trace, style):
    if style == "line":
        return trace["line"]["dash"]
    return trace["marker"]["symbol"] if style == "points" else trace["marker"]["pattern"]["shape"]


@pytest.mark.parametrize("style", STYLES)
def test_series_differ_without_their_colour(style):
    """Each of five has a dash, a marker or a hatching of its own."""
    shown = [t for t in figure(everything(style), "en")["data"] if t.get("showlegend", True)]
    assert len({told_apart_by(trace, style) for trace in shown}) == 5


def luminance(colour):
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_lines_stand_out_from_white_as_wcag_asks():
    """Contrast of at least 3:1 (WCAG 2.2, 1.4.11)."""
    colours = {t["line"]["color"] for t in figure(everything(), "en")["data"] if "color" in t["line"]}
    assert len(colours) == 5
    assert all(1.05 / (luminance(colour) + 0.05) >= 3.0 for colour in colours)


@pytest.mark.parametrize(("language", "marks"), [("en", ".,"), ("de", ",.")])
def test_numbers_are_those_of_the_language(language, marks):
    """Decimal and thousands mark as the language has them."""
    assert figure(everything(), language)["layout"]["separators"] == marks


def test_band_closes_round_each_stretch_and_leaves_the_gap():
    """Two stretches give two outlines, up along the high ends and back along the low ones."""
    low, high = (0.0, 1.0, None, 3.0, 4.0), (2.0, 3.0, None, 5.0, 6.0)
    band, shown = figure(chart(line((1.0, 2.0, None, 4.0, 5.0), low=low, high=high)), "en")["data"]
    assert band["x"] == [0, 1, 1, 0, None, 3, 4, 4, 3]
    assert band["y"] == [2, 3, 1, 0, None, 5, 6, 4, 3]
    assert band["fill"] == "toself"
    assert shown["y"] == [1, 2, None, 4, 5]
    assert shown["connectgaps"] is False


@pytest.mark.parametrize("style", ["points", "bars"])
def test_error_bars_reach_the_ends_of_the_interval(style):
    """What lies above and what lies below the value, none in a gap."""
    (trace,) = figure(chart(line((2.0, None), low=(1.5, None), high=(4.0, None), style=style)), "en")["data"]
    assert trace["error_y"]["array"] == [2.0, 0.0]
    assert trace["error_y"]["arrayminus"] == [0.5, 0.0]


def test_what_is_no_number_is_a_gap():
    """NaN and infinity never reach the page, whose JSON has no word for them."""
    (trace,) = figure(chart(line((1.0, float("nan"), float("inf")))), "en")["data"]
    assert trace["y"] == [1.0, None, None]


def test_times_of_two_offsets_meet():
    """One moment has one place, whichever clock wrote it down; the axis names the clock."""
    made = figure(
        chart(
            line((1.0,), ["2026-03-29T00:30:00+00:00"]), line((2.0,), ["2026-03-29T02:30:00+02:00"]), x="time"
        ),
        "en",
    )
    assert made["data"][0]["x"] == made["data"][1]["x"] == ["2026-03-29 00:30:00"]
    assert "UTC+00:00" in made["layout"]["xaxis"]["title"]["text"]


def test_times_without_offset_stay_as_written():
    """No clock is invented."""
    made = figure(chart(line((1.0,), ["2026-03-29T00:30:00"]), x="time"), "en")
    assert made["data"][0]["x"] == ["2026-03-29 00:30:00"]
    assert "UTC" not in made["layout"]["xaxis"]["title"]["text"]


def test_text_of_others_is_no_markup():
    """Names of places stay text, where the library would make links and lines of them."""
    text = "<a href='javascript:x()'>&lt;b\u202e</a>"
    named = say("frame.option", frame=text)
    made = json.dumps(
        figure(
            chart(
                Series(name=named, x=(text,), y=(1.0,)),
                line((2.0,), [text]),
                x="category",
                limits=((1.0, named),),
            ),
            "en",
        )
    )
    assert re.sub("<br>|<extra></extra>", "", made).count("<") == 0
    assert "&amp;lt;b" in made
    assert "\\u202e" not in made


def test_limit_is_a_level_line_with_its_meaning():
    """At its value, across the whole width, with words and number."""
    layout = figure(chart(line((1.0, 2.0)), limits=((12.6, LIMIT),)), "de")["layout"]
    (shape,), (label,) = layout["shapes"], layout["annotations"]
    assert (shape["y0"], shape["y1"], shape["x0"], shape["x1"]) == (12.6, 12.6, 0, 1)
    assert label["text"] == "Grenzwerte: 12,6\u00a0°C"


def test_labels_of_two_limits_lean_away_from_each_other():
    """The upper one stands above its line, the lower one below."""
    labels = figure(chart(line((1.0,)), limits=((12.6, LIMIT), (13.0, DEW))), "en")["layout"]["annotations"]
    assert [label["yanchor"] for label in labels] == ["top", "bottom"]


def test_title_stands_beside_the_figure_only():
    """The page writes it once."""
    assert "title" not in figure(everything(), "en")["layout"]


def test_short_table_holds_every_number():
    """Values with unit and interval, in the language's format; a gap is a dash."""
    made = table(
        chart(line((1.0, None), low=(0.5, None), high=(1.5, None)), line((3.0,), [7.0])), Wording("de")
    )
    assert made.every == 1
    assert made.rows == (("0", "1,0\u00a0°C (0,5 bis 1,5)", "–"), ("1", "–", "–"), ("7", "–", "3,0\u00a0°C"))
    assert made.heads[0] == "Wann (m)"


@pytest.mark.parametrize("count", [20, 21, 39, 500, 8760])
def test_long_table_is_thinned_evenly(count):
    """At most 20 rows, first and last among them, the figure keeps all."""
    drawn = chart(line(tuple(map(float, range(count)))), unit="")
    made = table(drawn, Wording("en"))
    xs = [int(row[0].replace(",", "")) for row in made.rows]
    assert len(xs) <= 20
    assert (xs[0], xs[-1]) == (0, count - 1)
    assert {b - a for a, b in pairwise(xs[:-1])} <= {made.every}
    assert len(figure(drawn, "en")["data"][0]["y"]) == count


def test_rows_stand_in_order_of_time():
    """Also where a later series starts first."""
    made = table(chart(line((1.0,), HOURS[5:6]), line((2.0,), HOURS[2:3]), x="time"), Wording("en"))
    assert [row[0] for row in made.rows] == ["21 January 2026, 02:00", "21 January 2026, 05:00"]


@pytest.mark.parametrize(
    ("unit", "values", "decimals"),
    [("degC", (12.0, 80.0), 1), ("%", (10.0, 90.0), 0), ("", (0.3, 0.7), 2), ("ppm", (400.0, 2000.0), 0)],
)
def test_decimals_suit_the_quantity(unit, values, decimals):
    """Temperatures a tenth, percent none, anything else a hundredth of what is spanned."""
    drawn = chart(line(values), unit=unit, limits=((values[0], LIMIT),))
    told = f"{values[0]:.{decimals}f}"
    assert table(drawn, Wording("en")).rows[0][1].split("\u00a0")[0] == told
    assert limit_words(drawn, Wording("en"))[0].split("\u00a0")[0] == f"Limits: {told}"
    assert f",.{decimals}f" in figure(drawn, "en")["layout"]["yaxis"]["hoverformat"]


def test_vendored_library_is_the_one_the_workbook_draws_with():
    """Same version in page and notebook, under the MIT licence, which stands beside it."""
    from plotly.offline import get_plotlyjs_version

    script = CHART_SCRIPTS[0]
    assert f"v{get_plotlyjs_version()}\n" in script.read_text("utf-8")[:200]
    assert "MIT License" in script.with_name("plotly-basic.LICENSE").read_text("utf-8")
    assert "</script" not in script.read_text("utf-8").lower()


@pytest.fixture
def charted(findings):
    """The findings with a chart of their first place and one of none."""
    place = next(f.place for f in findings.findings if f.verdict == "indicated")
    return replace(findings, charts=(replace(everything(), place=place), everything("bars")))


def test_page_has_the_library_once_and_only_for_charts(findings, charted, site, record):
    """No chart, no library; two charts, one."""
    bare = replace(findings, charts=())
    without, two = (page(f, site, record, "en").decode("utf-8") for f in (bare, charted))
    assert "Plotly" not in without
    assert two.count("* plotly.js (basic - minified)") == 1
    assert two.count('class="chart"') == 2
    policy = re.search("script-src ([^;]*);", unescape(two))[1]
    assert len(policy.split()) == two.count('<script type="module">') == 3


def test_page_with_charts_is_the_same_each_time(charted, site, record):
    """Byte for byte, and below three megabytes."""
    first, second = (page(charted, site, record, "de") for _ in range(2))
    assert first == second
    assert len(first) < 3_000_000


def test_chart_has_its_words_in_the_page(charted, site, record):
    """Title, summary, meaning of the lines and the table stand there without any script."""
    html = page(charted, site, record, "en").decode("utf-8")
    chart_html = html[html.index('<figure class="chart">') :]
    chart_html = re.sub(
        r"<script.*?</script>", "", chart_html[: chart_html.index("</figure>")], flags=re.DOTALL
    )
    for text in ("Charts", "It does not look into a wall", "Limits: 990.0", "Data as a table", "1,023.0"):
        assert text in chart_html, text


def test_chart_of_a_place_stands_there_and_the_other_in_its_chapter(charted, site, record):
    """Each once."""
    html = page(charted, site, record, "en").decode("utf-8")
    name = charted.charts[0].place
    place, chapter = html.index(f"{name} <span", html.index("<article")), html.index('<section id="charts">')
    assert place < html.index('id="chart-1"') < html.index("</article>", place)
    assert chapter < html.index('id="chart-2"')
    assert Path(CHART_SCRIPTS[1]).read_text("utf-8") in html
