"""The plan of a visit on the screen and on paper."""

import pytest

from thermalkit.annex.plan import write_plan

pytestmark = [pytest.mark.browser, pytest.mark.slow]

RULES = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_plan_has_no_barrier_and_fits_its_paper(page, tmp_path, language):
    """Checked by axe; printed on A4, nothing runs over the edge and the letter has a page of its own."""
    import pypdf
    from axe_playwright_python.sync_playwright import Axe

    (tmp_path / "site.toml").write_text(f'format = 1\n[report]\nlanguage = "{language}"\n', "utf-8")
    page.goto(write_plan(tmp_path).as_uri())
    found = Axe().run(page, options={"runOnly": RULES})
    assert found.violations_count == 0, found.generate_report()
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 665, "height": 980})  # A4 less its margins, at 96 dots an inch
    assert page.evaluate("document.documentElement.scrollWidth") <= 665
    page.pdf(path=str(tmp_path / "plan.pdf"), prefer_css_page_size=True)
    last = pypdf.PdfReader(tmp_path / "plan.pdf").pages[-1].extract_text()
    assert ("Brief an die Bewohner" if language == "de" else "Letter to the occupant") in last
