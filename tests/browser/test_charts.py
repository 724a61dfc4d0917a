"""Charts as readers of an annex meet them: under its policy, on a phone, by keyboard, on paper."""

import importlib.util
from dataclasses import replace
from pathlib import Path

import pytest

from thermalkit.annex.build import page as annex_page
from thermalkit.diagnosis.finding import Axis, Chart, Series
from thermalkit.diagnosis.run import run
from thermalkit.language import say
from thermalkit.record.store import replay
from thermalkit.site import read_site

pytestmark = pytest.mark.browser

AIR, DEW = say("term.air-temperature"), say("term.dew-point")
HOURS = tuple(f"2026-01-{day:02}T{hour:02}:00:00+00:00" for day in range(8, 22) for hour in range(24))


def charts():
    """Two weeks of an invented logger, bars of three invented places, and points."""
    warm = tuple(None if 30 < i < 40 else 17.0 + (i % 24) / 8 for i in range(len(HOURS)))
    ends = {
        "low": tuple(None if v is None else v - 0.5 for v in warm),
        "high": tuple(None if v is None else v + 0.5 for v in warm),
    }
    time, places = Axis(title=say("annex.when"), kind="time"), Axis(title=say("annex.place"), kind="category")
    degrees, percent = Axis(title=AIR, unit="degC"), Axis(title=say("term.surface-humidity"), unit="%")
    words = {"title": AIR, "summary": say("annex.caution.surface")}
    logged = (
        Series(name=AIR, x=HOURS, y=warm, **ends),
        Series(name=DEW, x=HOURS, y=tuple(9.0 + i % 3 for i in range(len(HOURS)))),
    )
    humid = {"x": ("corner", "<b>reveal</b>", "sound"), "low": (90.0, 70.0, 50.0), "high": (99.0, 88.0, 70.0)}
    judged = tuple(
        Series(name=AIR, y=(95.0, 80.0, 60.0), style=style, **humid) for style in ("bars", "points")
    )
    return (
        Chart(id="logger", x=time, y=degrees, series=logged, limits=((12.6, DEW), (13.1, AIR)), **words),
        Chart(id="bars", x=places, y=percent, series=judged[:1], limits=((80.0, DEW),), **words),
        Chart(id="points", x=places, y=percent, series=judged[1:], **words),
    )


@pytest.fixture(scope="module", params=["en", "de"])
def annex(request, tmp_path_factory):
    """An annex with three charts, in either language."""
    spec = importlib.util.spec_from_file_location("invented", Path(__file__).parents[1] / "annex/invented.py")
    invented = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(invented)
    site = read_site(invented.write_site(tmp_path_factory.mktemp("site")))
    record = invented.entries("damp", site)
    findings = replace(run("damp", site, replay(record)), charts=charts())
    path = tmp_path_factory.mktemp("annex") / "damp.html"
    path.write_bytes(annex_page(findings, site, record, request.param))
    return path


def shown(page, path):
    page.goto(path.as_uri())
    page.wait_for_function("document.querySelectorAll('.chart-area .main-svg .xtick').length > 6")
    return page


def test_charts_draw_under_the_policy_of_the_page(page, annex):
    """From disk, with no error on the console, which is where a breach of the policy would show."""
    warnings = []
    page.on("console", lambda message: warnings.append(message.text))
    shown(page, annex)
    assert page.locator(".chart-area .barlayer .point").count() == 3
    assert page.locator(".chart-area .scatterlayer .lines .js-line").count() >= 2
    assert page.locator("style").count() == 1
    assert page.locator(".chart-area b").count() == 0
    assert warnings == []


def test_numbers_of_a_chart_are_in_the_language(page, annex):
    """Hovering reads value and interval with the decimal mark of the language."""
    shown(page, annex)
    box = page.locator(".chart-area .nsewdrag").first.bounding_box()
    page.locator(".chart-area").first.scroll_into_view_if_needed()
    box = page.locator(".chart-area .nsewdrag").first.bounding_box()
    point = page.evaluate(
        """() => { const area = document.querySelector('.chart-area'), l = area._fullLayout;
        const trace = area.data.find((t) => t.customdata);
        return [l.xaxis.d2p(trace.x[100]), l.yaxis.d2p(trace.y[100])]; }"""
    )
    page.mouse.move(box["x"] + point[0], box["y"] + point[1])
    page.wait_for_selector(".hovertext")
    text = page.locator(".hovertext").first.text_content()
    mark, to = (",", "bis") if page.locator("html").get_attribute("lang") == "de" else (".", "to")
    assert f"17{mark}5\u00a0°C (17{mark}0 {to} 18{mark}0)" in text


def test_charts_break_no_rule_of_access(page, annex):
    """Figures have a name and a description, tables are named, nothing is lost at phone width."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 844})
        shown(page, annex)
        report = axe.Axe().run(page)
        assert report.violations_count == 0, report.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    area = page.get_by_role("img").and_(page.locator(".chart-area")).first
    described = area.get_attribute("aria-describedby")
    assert len(page.locator(f"#{described}").inner_text()) > 30


def test_table_opens_by_keyboard(page, annex):
    """Enter on its heading shows the numbers, Enter again hides them."""
    shown(page, annex)
    details = page.locator(".chart details").first
    assert not details.locator("table").is_visible()
    details.locator("summary").focus()
    page.keyboard.press("Enter")
    assert details.locator("tbody tr").count() <= 20
    assert details.locator("table").is_visible()
    page.keyboard.press("Enter")
    assert not details.locator("table").is_visible()


def test_without_script_the_numbers_of_a_chart_remain(browser, annex):
    """The table and a sentence that says why there is no chart."""
    context = browser.new_context(java_script_enabled=False)
    sheet = context.new_page()
    sheet.goto(annex.as_uri())
    assert sheet.locator(".chart noscript").first.is_visible()
    assert sheet.locator(".chart tbody tr").count() > 20
    context.close()


def test_paper_has_charts_that_fit_and_their_numbers(browser, annex, tmp_path):
    """On A4 a chart is as wide as the column and its table is open; on screen it is as before."""
    pypdf = pytest.importorskip("pypdf")
    path = tmp_path / "damp.pdf"
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    sheet = context.new_page()
    shown(sheet, annex)
    sheet.evaluate(
        """addEventListener('beforeprint', () => {
          window.widths = [...document.querySelectorAll('.chart-area')].map((area) =>
            area.querySelector('.main-svg').getAttribute('width'));
        })"""
    )
    before = sheet.locator(".chart-area .main-svg").first.bounding_box()["width"]
    sheet.pdf(path=path, prefer_css_page_size=True)
    assert sheet.evaluate("window.widths") == ["640"] * 3
    sheet.wait_for_function(
        f"document.querySelector('.chart-area .main-svg').getBoundingClientRect().width === {before}"
    )
    context.close()
    text = "".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    assert "2026, 00:00" in text
