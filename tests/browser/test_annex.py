"""The annex as its readers meet it: offline in a browser, on a phone, on paper."""

import importlib.util
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from thermalkit.annex.build import page as annex_page
from thermalkit.diagnosis.finding import Axis, Chart, Evidence, NextStep, Remark, Series, Survey
from thermalkit.diagnosis.run import run
from thermalkit.language import say
from thermalkit.record.store import replay
from thermalkit.site import read_site

pytestmark = pytest.mark.browser

DEED = "window.deeds = (window.deeds || 0) + 1"
HOSTILE = (
    f'</title></style></script><script>{DEED}</script>"><img src=x onerror="{DEED}">'
    f"<svg onload={DEED!r}></svg> [x](javascript:{DEED}) ![x](https://a.example/x.png) "
    "{0} {place} %s {{7*7}} {% if %} <!-- שלום مرحبا =1+1 &lt;script&gt;"
)
TURNED = f"\u202e{HOSTILE}\u2066\x1b[31m\x00\ud800"


def load_invented():
    path = Path(__file__).parents[1] / "annex" / "invented.py"
    spec = importlib.util.spec_from_file_location("invented", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    """Site, record and findings of the invented dwelling."""
    invented = load_invented()
    site = read_site(invented.write_site(tmp_path_factory.mktemp("site")))
    record = invented.entries("damp", site)
    return site, record, run("damp", site, replay(record))


@pytest.fixture(scope="module", params=["en", "de"])
def annex(request, case, tmp_path_factory):
    """The annex on disk, in either language."""
    site, record, findings = case
    path = tmp_path_factory.mktemp("annex") / "damp.html"
    further = ["# Own check\n\n| a | b |\n|---|---|\n| 1 | 2 |"]
    path.write_bytes(annex_page(findings, site, record, request.param, further=further))
    return path


def shown(page, path):
    page.goto(path.as_uri())
    page.wait_for_function(
        "[...document.querySelectorAll('figure[data-picture]')].every(f => f.querySelector('.tk-marks'))"
    )


def test_annex_opens_offline_and_is_accessible(page, annex):
    """No request leaves, no error is logged, no rule of access is broken."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    shown(page, annex)
    report = axe.Axe().run(page)
    assert report.violations_count == 0, report.generate_report()


def test_hover_reads_the_corrected_temperature_with_its_interval(page, case, tmp_path):
    """The readout at a pixel is the surface temperature there, within its interval, not the apparent one."""
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.diagnosis.surface import frame_temperatures

    site, record, findings = case
    path = tmp_path / "damp.html"
    path.write_bytes(annex_page(findings, site, record, "en"))
    shown(page, path)
    figure = page.locator("figure[data-picture]").filter(has_text="bedroom-corner").first
    canvas = figure.locator(".tk-marks")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    surface = frame_temperatures(Case(site=site), "bedroom-corner").surface_degc
    apparent = site.frames["bedroom-corner"].apparent_degc
    rows, columns = surface.shape
    row, column = 200, 40
    page.mouse.move(
        box["x"] + (column + 0.5) / columns * box["width"], box["y"] + (row + 0.5) / rows * box["height"]
    )
    text = figure.locator(".tk-readout").inner_text().replace("\u2212", "-")
    value, low, high = (float(n) for n in re.findall(r"-?\d+\.\d+", text)[:3])
    near = surface[row - 2 : row + 3, column - 2 : column + 3]
    assert near.min() - 0.1 <= value <= near.max() + 0.1
    assert low < value < high
    assert abs(surface[row, column] - apparent[row, column]) > 0.3, "else this test could not tell them apart"


def hostile_chart(text, words):
    bars = Series(name=words, x=(text, f"{text} 2"), y=(1.0, 2.0), style="bars")
    axis = Axis(title=words, unit=text, kind="category")
    return Chart(
        id=text, title=words, summary=words, x=axis, y=axis, series=(bars, bars), limits=((1.5, words),)
    )


def hostile_everything(site, record, findings, text):
    """The case with a text in every field that somebody else can write."""
    say_it = say("damp.nothing-cold", frame=text)
    keys = site.keys
    keys = keys.model_copy(
        update={
            "site": keys.site.model_copy(update={"name": text, "reference": text, "question": text}),
            "surveyor": keys.surveyor.model_copy(
                update={"name": text, "qualification": text, "certificate": text}
            ),
            "rooms": tuple(room.model_copy(update={"name": text}) for room in keys.rooms),
            "looked_at": tuple(i.model_copy(update={"element": text, "why": text}) for i in keys.looked_at),
            "instruments": keys.instruments
            | {
                f"{name}{text}": i.model_copy(update={"serial": text}) for name, i in keys.instruments.items()
            },
        }
    )
    frames = {
        name: replace(f, room=f.room.model_copy(update={"name": text}), photo=f.photo)
        for name, f in site.frames.items()
    }
    spoilt = [
        replace(
            finding,
            code=text,
            place=f"{text}{i}",
            mark=text if finding.mark else None,
            statement=say_it,
            sources=(say_it,),
            cautions=(say_it,),
            next_steps=(NextStep(step=say_it, by=say_it),),
            evidence=tuple(
                Evidence(kind=kind, reference=text, mark=None) for kind in ("picture", "reading", "answer")
            ),
            rests_on=(text,),
            limit=finding.limit and replace(finding.limit, source=say_it),
        )
        for i, finding in enumerate(findings.findings)
    ]
    findings = replace(
        findings,
        site_name=text,
        site_reference=text,
        inputs=((text, "0" * 64),),
        survey=Survey(usable=True, remarks=(Remark(statement=say_it, effect="none", frame=text),)),
        findings=tuple(spoilt),
        pictures=tuple(
            replace(
                p,
                marks=tuple(replace(m, id=f"{text}{m.id}", role=text) for m in p.marks),
                lines=tuple(replace(line, label=say_it) for line in p.lines),
            )
            for p in findings.pictures
        ),
        charts=(hostile_chart(text, say_it),),
        assumptions=tuple(replace(a, name=text, source=text) for a in findings.assumptions),
        decisions={**findings.decisions, "remark": text},
    )
    entries = tuple(
        e.model_copy(update={"reason": text, "by": text, "value": [text, {"id": text}], "proposed": text})
        for e in record.entries
    )
    entries += (entries[0].model_copy(update={"step": text}),)
    return replace(site, keys=keys, frames=frames), replace(record, entries=entries), findings


@pytest.mark.parametrize("text", [HOSTILE, TURNED], ids=["hostile", "turned"])
def test_hostile_text_does_nothing(page, case, tmp_path, text):
    """Text of others stays text wherever it stands: no script, no request, no turned line."""
    site, record, findings = hostile_everything(*case, text)
    path = tmp_path / "damp.html"
    path.write_bytes(annex_page(findings, site, record, "en", further=[text, f"<div>{text}</div>", text[1:]]))
    shown(page, path)
    assert page.evaluate("window.deeds") is None
    assert page.locator("main > section h2").count() == 16
    assert page.locator("[onerror], [onload], a[href^=javascript]").count() == 0
    assert page.locator("main [style*=position]:not(.chart-area *)").count() == 0
    assert page.locator("script:not([type='application/json'])").count() == 3
    assert page.locator(".chart-area .main-svg a, .chart-area .main-svg b").count() == 0
    words = page.locator("body").inner_text()
    assert "window.deeds" in words
    assert "{{7*7}}" in words
    assert not re.search("[\u202a-\u202e\u2066\x1b]", page.locator("main").inner_text())


def test_policy_stops_a_script_that_slipped_in(browser, annex, tmp_path):
    """Were a tag to get through, the browser would still not run it."""
    html = annex.read_text("utf-8").replace(
        "</main>", f"</main><script>{DEED}</script><img src=x onerror='{DEED}'>"
    )
    path = tmp_path / "spoilt.html"
    path.write_text(html, "utf-8")
    context = browser.new_context()
    sheet = context.new_page()
    sheet.goto(path.as_uri())
    assert sheet.evaluate("window.deeds") is None
    assert sheet.locator("figure[data-picture] .tk-marks").count() > 0
    context.close()


@pytest.mark.parametrize("width", [390, 768, 1280])
def test_nothing_sticks_out_at_any_width(page, annex, width):
    """Nobody has to scroll sideways."""
    page.set_viewport_size({"width": width, "height": 844})
    shown(page, annex)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_without_script_the_numbers_remain(browser, annex):
    """A mail program that runs no script shows all but the thermal picture, and says why."""
    context = browser.new_context(java_script_enabled=False)
    sheet = context.new_page()
    sheet.goto(annex.as_uri())
    assert sheet.locator("figure noscript").first.is_visible()
    assert sheet.locator("figure.photo img").count() == 2
    assert sheet.locator("table.quantities").count() > 3
    context.close()


def test_paper_has_page_numbers_and_unbroken_pictures(browser, annex, tmp_path):
    """A4 pages, each numbered, pictures in place."""
    pypdf = pytest.importorskip("pypdf")
    path = tmp_path / "damp.pdf"
    context = browser.new_context()
    sheet = context.new_page()
    shown(sheet, annex)
    sheet.pdf(path=path, prefer_css_page_size=True)
    context.close()
    pages = pypdf.PdfReader(path).pages
    assert [round(float(side)) for side in pages[0].mediabox[2:]] == [595, 842]
    for number, sheet in enumerate(pages, start=1):
        text = sheet.extract_text()
        assert f"{number} / {len(pages)}" in text
        assert "X-26-007" in text


def test_pictures_are_packed_as_data_and_escaped(annex):
    """The data block is JSON that holds no tag."""
    html = annex.read_text("utf-8")
    blocks = re.findall(r'data-picture><script type="application/json">(.*?)</script>', html, flags=re.DOTALL)
    assert len(blocks) == 2
    for block in blocks:
        assert not set("<>&\u2028\u2029") & set(block)
        assert json.loads(block)["read_only"] is True
