"""A detail on the bench: sliders, chart, table."""

from dataclasses import fields

import pytest

from thermalkit.language import LANGUAGES, catalogue, say
from thermalkit.physics.detail_result import detail_result
from thermalkit.physics.details import details
from thermalkit.physics.tables import UnknownName
from thermalkit.physics.thermal_bridge import NotProven
from thermalkit.workbook import details as bench_module
from thermalkit.workbook.details import open_detail


def curves(bench):
    """Temperatures along the inner surface, one row a variant."""
    (chart,) = bench.chart.charts
    return [trace["y"] for trace in chart["figure"]["data"]]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", details())
def test_every_detail_has_its_words(name, language):
    """Title, dimensions and cures stand in the catalogue, so that a new detail cannot be wordless."""
    detail = details()[name]()
    stems = [item.name.removesuffix("_w_mk").removesuffix("_mm") for item in fields(detail)]
    ids = [f"detail.{name}", *(f"dimension.{s}" for s in stems), *(f"cure.{cure}" for cure in detail.cures())]
    assert not [id for id in ids if id not in catalogue(language)]


def test_every_word_belongs_to_a_detail():
    """No title is left over from a detail that is gone."""
    assert {id for id in catalogue("en") if id.startswith("detail.")} == {
        f"detail.{name}" for name in details()
    }


def test_a_slider_moves_chart_and_table():
    bench = open_detail("outer-corner")
    before, y = bench.table.value, curves(bench)[0]
    bench.sliders["masonry_mm"].value = 400.0
    assert bench.detail.masonry_mm == 400.0
    assert bench.table.value != before
    assert min(curves(bench)[0]) > min(y)
    assert f"{detail_result(bench.detail).factor:.3f}" in bench.table.value


def test_another_detail_is_chosen():
    """Its own dimensions and its own cures, in the climate that was set."""
    bench = open_detail("outer-corner")
    bench.climate["outdoor"].value = -10.0
    bench.choice.value = "stud-wall"
    assert "spacing_mm" in bench.sliders
    assert len(curves(bench)) == 3
    assert min(curves(bench)[0]) == pytest.approx(-10.0 + 30.0 * detail_result(bench.detail).factor, abs=1e-3)


def test_a_climate_costs_no_calculation():
    bench = open_detail("outer-corner")
    calculated = detail_result.cache_info().misses
    bench.climate["outdoor"].value = -15.0
    assert detail_result.cache_info().misses == calculated
    assert min(curves(bench)[0]) == pytest.approx(-15.0 + 35.0 * detail_result(bench.detail).factor, abs=1e-3)


def test_what_is_not_proven_shows_no_number(monkeypatch):
    """A refused variant says why instead of its row, and is not drawn."""

    def refuse(detail):
        raise NotProven(say("bench.refused", why="<b>why</b>"))

    monkeypatch.setattr(bench_module, "detail_result", refuse)
    bench = open_detail("lintel", language="de")
    assert "&lt;b&gt;why&lt;/b&gt;" in bench.table.value
    assert "W/(m K)" not in bench.table.value
    assert len(curves(bench)) == 0


def test_the_bench_is_shown_by_its_name():
    """Two runs of a notebook print the same."""
    shown = open_detail("stud-wall")._repr_mimebundle_()
    assert shown["text/plain"] == "DetailBench('stud-wall')"
    assert "application/vnd.jupyter.widget-view+json" in shown


def test_an_unknown_detail_offers_near_ones():
    with pytest.raises(UnknownName, match="balcony-slab"):
        open_detail("balcony")
