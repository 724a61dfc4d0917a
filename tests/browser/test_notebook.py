"""A damp case worked in real JupyterLab, by clicking only."""

import json
import re

import pytest

from thermalkit.diagnosis.run import accept, run
from thermalkit.language import render
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def _asked(site):
    """Titles of the steps that this site leaves to a person."""
    opened = run("damp", read_site(site), accept).open_steps
    return [render(step.title, "en") for step in opened]


def test_a_case_is_worked_by_clicking_and_survives_a_reload(workbook, address, page, site):
    """One Keep a step leads to the findings of the command; after a reload all is as it was left."""
    workbook.open()
    workbook.shot("opened")
    titles = _asked(site)
    assert len(titles) <= 12
    for i, title in enumerate(titles):
        workbook.keep(title)
        workbook.shot(f"kept-{i}")
    page.get_by_role("heading", name=re.compile("● indicated")).first.wait_for(timeout=30_000)
    page.get_by_role("heading", name="Findings", exact=True).scroll_into_view_if_needed()
    workbook.shot("findings")

    drawn = page.get_by_role("img", name=re.compile("how moist the room may be"))
    drawn.scroll_into_view_if_needed()
    drawn.locator(".main-svg").first.wait_for(timeout=30_000)
    assert drawn.bounding_box()["width"] > 500
    workbook.shot("charts")

    record = read_record(site, "damp")
    assert len(record.entries) == len(titles)
    found = run("damp", read_site(site), replay(record))
    assert found.open_steps == ()
    for finding in found.as_json("en")["findings"]:
        assert page.get_by_text(finding["statement"], exact=True).count() > 0

    page.get_by_role("button", name="Write the annex").click()
    page.get_by_text(re.compile(r"^Written: ")).wait_for(timeout=30_000)
    assert json.loads((site / "annex" / "damp.json").read_text("utf-8")) == found.as_json("en")
    address_of_export = address.replace("doc/tree", "nbconvert/annex")
    assert page.request.get(address_of_export).body() == (site / "annex" / "damp.html").read_bytes()

    workbook.end_kernels()
    page.goto(address)
    page.get_by_text(re.compile(r"^Kept on ")).nth(len(titles) - 1).wait_for(timeout=90_000)
    assert page.get_by_text("Waits for").count() == 0
    page.get_by_text("| Idle").wait_for(timeout=60_000)
    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_timeout(500)
    workbook.shot("narrow")
    workbook.panel(titles[2]).scroll_into_view_if_needed()
    workbook.shot("narrow-marks")
    assert read_record(site, "damp").entries == record.entries


def test_keys_pressed_in_a_panel_do_not_reach_the_notebook(workbook, page):
    """A plain b on a button, a choice or a picture inserts no cell, and Tab still moves on."""
    workbook.open()
    cells = page.locator(".jp-Notebook .jp-Cell")
    before = cells.count()
    for place in (
        page.get_by_role("button", name="Keep", exact=True).first,
        page.get_by_role("radio").first,
        page.locator("canvas.tk-marks").first,
    ):
        place.click()
        for key in ("b", "a", "m"):
            page.keyboard.press(key)
    page.get_by_role("radio", checked=True).first.focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") == "text"
    assert cells.count() == before


def test_panels_have_no_barrier_that_a_program_can_find(workbook, page, site):
    """Rules of WCAG 2.2 A and AA, checked by axe on the panels of a worked case."""
    from axe_playwright_python.sync_playwright import Axe

    workbook.open()
    for title in _asked(site):
        workbook.keep(title)
    rules = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
    result = Axe().run(page, context=".thermalkit-panel", options={"runOnly": rules})
    assert result.violations_count == 0, result.generate_report()


def test_the_choice_of_one_question_unticks_no_other(workbook, page, site):
    """Radio buttons of two questions on one page are two groups, each with its proposal."""
    path = site / "site.toml"
    path.write_text(path.read_text("utf-8").replace('open_flued_appliance = "no"\n', ""), "utf-8")
    workbook.open()
    titles = ("Which limits apply", "Is there an open-flued or solid-fuel appliance in these rooms")
    limit, appliance = (workbook.panel(title).locator("input[type=radio]:checked") for title in titles)
    assert [limit.count(), appliance.count()] == [1, 1]
    workbook.panel(titles[1]).get_by_label("yes", exact=True).check()
    assert limit.get_attribute("value") == "GB-dwelling"
