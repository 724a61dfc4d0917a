"""From an empty folder and six files to a damp annex, without a text editor."""

import json
import os
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import accept, run
from thermalkit.language import render
from thermalkit.site.folder import read_site

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"
RULES = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
MOST_INPUTS, MOST_DECISIONS = 60, 12


@pytest.fixture
def site(tmp_path):
    """What `thermalkit new` makes, and six files: two frames, two photos, a logger, the readings."""
    folder = tmp_path / "row-14"
    subprocess.run(
        [sys.executable, "-m", "thermalkit.cli", "new", str(folder)], check=True, capture_output=True
    )
    for name in (
        "thermal/corner.tiff",
        "thermal/plain-wall.tiff",
        "photos/corner.jpg",
        "photos/plain-wall.jpg",
    ):
        shutil.copy(SAMPLE / name, folder / name)
    shutil.copy(SAMPLE / "readings.csv", folder)
    hours = (
        f"2026-01-{day:02} {hour:02}:00;{2.5 - abs(hour - 14) / 6:.1f};88\n"
        for day in range(2, 22)
        for hour in range(24)
    )
    (folder / "loggers" / "outdoor.csv").write_text("Time;Temperature °C;RH %\n" + "".join(hours), "utf-8")
    return folder


class Surveyor:
    """Somebody at the form, who counts what they type or choose."""

    def __init__(self, page):
        self.page, self.inputs = page, 0

    def answers(self, section, entry=None, **fields):
        """Fill in fields of a section by their keys; of one entry where the section has several."""
        part = (
            self.page.locator("details.tk-table")
            .filter(has=self.page.locator("summary", has_text=section))
            .first
        )
        if part.get_attribute("open") is None:
            part.locator("summary").first.click()
        box = part.locator("fieldset").nth(entry) if entry is not None else part
        for key, value in fields.items():
            field = box.locator(f"[id$='-{key}']")
            if not field.is_visible():
                box.locator("summary", has_text="More").click()
            if field.evaluate("field => field.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)
            self.inputs += 1

    def adds(self, section):
        self.page.get_by_role("button", name=f"Add one: {section}").click()
        self.inputs += 1


def _shot(page, name):
    if folder := os.environ.get("THERMALKIT_SCREENSHOTS"):
        page.screenshot(path=str(Path(folder) / f"{name}.png"))


def _opened(page, address):
    page.goto(address)
    page.get_by_role("button", name="Save the visit").wait_for(timeout=90_000)
    page.get_by_text("| Idle").wait_for(timeout=60_000)


def test_six_files_become_an_annex_by_typing_and_clicking(served, page, site):
    """The form, one save, one Keep a question; few enough inputs and decisions for twenty minutes."""
    from axe_playwright_python.sync_playwright import Axe

    start = time.monotonic()
    _opened(page, served("damp", site))
    assert page.get_by_text("Waits for the form of the visit above.").count() > 0
    who = Surveyor(page)
    who.answers("The building", name="Terrace house, 14 Example Row", country="GB")
    who.answers("The building", question="Why is the corner of the rear bedroom wet and musty?")
    who.answers("Who answers", name="Sam Sample", qualification="Building surveyor")
    who.answers("Outdoors, during the survey", air_temperature_degc="0,0", mean_24h_air_temperature_degc="0")
    who.answers(
        "Outdoors, during the survey", relative_humidity_percent="88", hours_since_sun="17", hours_steady="24"
    )
    who.answers("One instrument", 0, accuracy_k="2", columns="320", rows="240", field_of_view_deg="42; 32.1")
    _shot(page, "form-top")
    who.answers("One instrument", 1, calibrated_on="2025-09-15")
    who.answers("One room", 0, name="Rear bedroom", open_flued_appliance="no")
    who.answers("One thermal frame", 0, values="apparent", emissivity="1.93")
    page.get_by_text("Allowed: 0.01 to 1.").wait_for(timeout=10_000)
    _shot(page, "form-message")
    who.answers(
        "One thermal frame", 0, emissivity="0.93", reflected_temperature_degc="17.6", distance_m="2.1"
    )
    page.get_by_text("Allowed: 0.01 to 1.").wait_for(state="detached", timeout=10_000)
    page.get_by_role("button", name=re.compile("^As the one above: Thermal frame 2")).click()
    who.inputs += 1
    who.adds("One instrument")
    who.answers("One instrument", 2, id="probe", kind="contact_thermometer", calibrated_on="2025-04-10")
    who.adds("A second reading")
    who.answers("A second reading", 0, frame="corner", mark="sound", kind="contact", temperature_degc="13,0")
    who.answers("A second reading", 0, instrument="probe")
    _shot(page, "form-bottom")
    found = Axe().run(page, context=".thermalkit-panel", options={"runOnly": RULES})
    assert found.violations_count == 0, found.generate_report()
    page.get_by_role("button", name="Save the visit").click()
    who.inputs += 1
    page.get_by_text("Saved in site.toml").wait_for(timeout=30_000)
    _shot(page, "form-saved")
    typed_s = time.monotonic() - start

    steps = [render(step.title, "en") for step in run("damp", read_site(site), accept).open_steps]
    for title in steps:
        panel = page.locator(".thermalkit-panel").filter(
            has=page.get_by_role("heading", name=title, exact=True)
        )
        panel.get_by_role("button", name="Keep", exact=True).click(timeout=60_000)
        panel.get_by_text(re.compile(r"^Kept on ")).wait_for(timeout=60_000)
    page.get_by_role("button", name="Write the annex").click()
    page.get_by_text(re.compile(r"^Written: ")).wait_for(timeout=60_000)
    annex = json.loads((site / "annex" / "damp.json").read_text("utf-8"))
    assert annex["survey"]["usable"]
    assert {"thermal/corner.tiff", "loggers/outdoor.csv"} <= {item["path"] for item in annex["inputs"]}
    if note := os.environ.get("THERMALKIT_SCREENSHOTS"):
        spent = f"{who.inputs} inputs, {len(steps)} decisions, form {typed_s:.0f} s"
        (Path(note) / "spent.txt").write_text(f"{spent}, all {time.monotonic() - start:.0f} s")
    assert who.inputs <= MOST_INPUTS
    assert len(steps) <= MOST_DECISIONS
    assert "# Needed: the name the client sees" in (site / "site.toml").read_text("utf-8")


def test_the_form_is_worked_by_keyboard(served, page, site):
    """Tab reaches the first field, letters stay in it, and Enter saves."""
    _opened(page, served("damp", site))
    cells = page.locator(".jp-Notebook .jp-Cell")
    before = cells.count()
    page.locator(".tk-whole > summary").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("abba")
    assert page.evaluate("document.activeElement.value") == "abba"
    page.keyboard.press("Enter")
    page.get_by_text("What is still needed stands at the top.").wait_for(timeout=30_000)
    assert cells.count() == before
    assert 'name = "abba"' in (site / "site.toml").read_text("utf-8")
