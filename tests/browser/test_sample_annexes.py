"""The annex of every sample site in its own language, wide and narrow, on screen and on paper."""

import os
import tomllib
from pathlib import Path

import pytest

from thermalkit.annex.build import page as annex_page
from thermalkit.diagnosis.run import kinds, run
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site import read_site

pytestmark = pytest.mark.browser

SAMPLE_SITES = Path(__file__).parents[2] / "sample_sites"
WORKED = [
    (kind, folder.name)
    for kind in kinds()
    for folder in sorted(SAMPLE_SITES.iterdir() if SAMPLE_SITES.is_dir() else ())
    if (folder / "record" / f"{kind}.json").exists()
]


def language_of(name):
    text = (SAMPLE_SITES / name / "site.toml").read_text("utf-8")
    return tomllib.loads(text).get("report", {}).get("language", "en")


# In the ordinary run one site of each kind and language; all of them when more is asked for.
CASES = WORKED
if "THERMALKIT_SCENES" not in os.environ:
    CASES = list({(kind, language_of(name)): (kind, name) for kind, name in WORKED}.values())


@pytest.fixture(scope="module", params=CASES, ids="-".join)
def case(request):
    """Site, record and findings as their surveyor left them."""
    kind, name = request.param
    site = read_site(SAMPLE_SITES / name)
    record = read_record(site.folder, kind)
    return site, record, run(kind, site, replay(record), recall(record))


@pytest.fixture
def annex(case, tmp_path):
    """The annex on disk, in the language of its report; some sites are English, some German."""
    site, record, findings = case
    path = tmp_path / "annex.html"
    path.write_bytes(annex_page(findings, site, record, site.keys.report.language))
    return path


def test_annex_is_accessible_wide_and_narrow(page, annex):
    """No rule of access is broken, nothing sticks out, every picture and chart is drawn."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 844})
        page.goto(annex.as_uri())
        page.wait_for_function(
            "[...document.querySelectorAll('figure[data-picture]')].every(f => f.querySelector('.tk-marks'))"
            " && [...document.querySelectorAll('.chart-area')].every(a => a.querySelector('.main-svg'))"
        )
        report = axe.Axe().run(page)
        assert report.violations_count == 0, report.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_annex_is_small_enough_to_send(case, annex):
    """Below a megabyte, below three with charts."""
    assert annex.stat().st_size < (3_000_000 if case[2].charts else 1_000_000)


def test_everything_is_reached_by_keyboard(page, annex):
    """Tab meets the skip link first, then every link, picture and table of data, and is never caught."""
    page.goto(annex.as_uri())
    page.wait_for_function(
        "[...document.querySelectorAll('figure[data-picture]')].every(f => f.querySelector('.tk-marks'))"
    )
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    wanted = page.locator("a[href], summary, .tk-marks, button:not([disabled]):visible").count()
    met = set()
    for steps in range(3 * wanted):  # noqa: B007
        met.add(page.evaluate("[...document.querySelectorAll('*')].indexOf(document.activeElement)"))
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
    assert steps < 3 * wanted - 1
    assert len(met) >= wanted


def test_paper_carries_the_answer_on_page_one(browser, case, annex, tmp_path):
    """What was found and what to do begin on the first page, each page has its number."""
    pypdf = pytest.importorskip("pypdf")
    path = tmp_path / "annex.pdf"
    context = browser.new_context()
    sheet = context.new_page()
    sheet.goto(annex.as_uri())
    sheet.pdf(path=path, prefer_css_page_size=True)
    heads = sheet.locator("#answer h2, #answer h3:has(+ .jobs)").all_inner_texts()
    context.close()
    pages = [page.extract_text() for page in pypdf.PdfReader(path).pages]
    for number, text in enumerate(pages, start=1):
        assert f"{number} / {len(pages)}" in text
    assert [head for head in heads if head not in " ".join(pages[0].split())] == []
