"""A house of ten radiators typed in at the notebook's form."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import accept, run
from thermalkit.site.folder import read_site
from thermalkit.site.sections.radiators import RadiatorKeys

pytestmark = [pytest.mark.browser, pytest.mark.slow]

COUNT = 10
MOST_INPUTS = 16 * COUNT  # at two or three seconds each, some minutes
SAME = ("type", "height_mm", "head", "warmer_than_set", "minutes_steady")


class Typist:
    """Somebody who fills in entries of the form and counts what they do."""

    def __init__(self, page):
        self.page, self.inputs = page, 0

    def section(self, words):
        """A table of the form, opened."""
        found = (
            self.page.locator("details.tk-table")
            .filter(has=self.page.locator("summary", has_text=words))
            .first
        )
        if found.get_attribute("open") is None:
            found.locator("summary").first.click()
        return found

    def adds(self, section, number, **fields):
        """One entry more, with some of its fields."""
        section.locator("> div > button").last.click()
        entry = section.locator("fieldset").nth(number)
        self.inputs += 1
        for key, value in fields.items():
            field = entry.locator(f"[id$='-{key}']")
            if field.evaluate("field => field.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)
            self.inputs += 1
        return entry


def test_ten_radiators_are_typed_in_within_minutes(served, page, tmp_path):
    """Room, length and two pipes each; what is alike is copied from the one above; then they are findings."""
    folder = tmp_path / "house"
    subprocess.run(
        [sys.executable, "-m", "thermalkit.cli", "new", str(folder)], check=True, capture_output=True
    )
    start = time.monotonic()
    page.goto(served("heating", folder))
    page.get_by_role("button", name="Save the visit").wait_for(timeout=90_000)
    page.get_by_text("| Idle").wait_for(timeout=60_000)
    who = Typist(page)
    page.locator("[id$='-name']").first.fill("Invented house of ten radiators")
    page.locator("[id$='-surveyed_at']").first.fill("2026-01-21 09:00+00:00")
    who.inputs += 2
    rooms, radiators = who.section("One room"), who.section("One radiator")
    already = rooms.locator("fieldset").count()
    for number in range(COUNT):
        who.adds(
            rooms, already + number, id=f"room {number + 1}", air_temperature_degc=f"{19 + number % 3},5"
        )
    for number in range(COUNT):
        own = {"id": f"r{number + 1}", "room": f"room {number + 1}", "length_mm": str(600 + 100 * number)}
        entry = who.adds(radiators, number, **own, flow_degc="58", return_degc=str(44 + number))
        if number == 0:
            for key, value in zip(SAME, ("22", "600", "open", "no", "60"), strict=True):
                field = entry.locator(f"[id$='-{key}']")
                is_list = field.evaluate("field => field.tagName") == "SELECT"
                field.select_option(value) if is_list else field.fill(value)
                who.inputs += 1
        else:
            entry.get_by_role("button", name="As the one above").click()
            who.inputs += 1
    if shots := os.environ.get("THERMALKIT_SCREENSHOTS"):
        page.screenshot(path=str(Path(shots) / "ten-radiators.png"))
    page.get_by_role("button", name="Save the visit").click()
    page.get_by_text("Saved in site.toml").wait_for(timeout=30_000)
    if shots:
        spent = f"{who.inputs} inputs, {time.monotonic() - start:.0f} s"
        (Path(shots) / "ten-radiators.txt").write_text(spent)
    site = read_site(folder)
    found = site.sections(RadiatorKeys)
    assert [item.return_degc for item in found] == [44.0 + number for number in range(COUNT)]
    assert {(item.type, item.height_mm, item.head) for item in found} == {("22", 600.0, "open")}
    codes = [finding.code for finding in run("heating", site, accept).findings]
    assert codes.count("heating.radiator") == codes.count("heating.output") == COUNT
    assert who.inputs <= MOST_INPUTS
