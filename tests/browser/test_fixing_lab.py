"""A planned hole is placed on the picture of a heated floor, by keys and by click, and becomes a finding."""

import json
import shutil
from pathlib import Path

import pytest

from thermalkit.diagnosis.heating import STEPS
from thermalkit.diagnosis.run import run
from thermalkit.language import render
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WARM_FLOOR = Path(__file__).parents[2] / "sample_sites" / "warm-floor"
TITLE = {step.name: render(step.title, "en") for step in STEPS}


@pytest.fixture
def site(tmp_path):
    """The sample site decided up to its holes."""
    folder = tmp_path / WARM_FLOOR.name
    shutil.copytree(WARM_FLOOR, folder, ignore=shutil.ignore_patterns("annex", "make.py", "decisions.json"))
    path = folder / "record" / "heating.json"
    record = json.loads(path.read_text("utf-8"))
    record["entries"] = [e for e in record["entries"] if e["step"] not in ("fixing", "remark")]
    path.write_text(json.dumps(record), "utf-8")
    return folder


@pytest.fixture
def address(served, site):
    return served("heating", site)


def test_a_hole_is_placed_by_keys_and_by_click(workbook, site, page):
    """A pin at the middle of the picture by keys, another by click; kept, both are findings."""
    workbook.open()
    panel = workbook.panel(TITLE["fixing"])
    panel.locator(".tk-readout", has_text="Point at").wait_for(timeout=60_000)
    canvas = panel.locator(".tk-marks")
    canvas.focus()
    for key in ("Escape", "p", "ArrowDown", "Enter", "n"):
        page.keyboard.press(key)
    page.keyboard.type("hook")
    page.keyboard.press("Enter")
    canvas.focus()
    page.keyboard.press("Escape")
    page.keyboard.press("p")
    box = canvas.bounding_box()
    page.mouse.click(box["x"] + 0.3 * box["width"], box["y"] + 0.8 * box["height"])
    panel.get_by_text("Not kept yet").wait_for(timeout=20_000)
    workbook.shot("fixing-1280")
    workbook.keep(TITLE["fixing"])
    entry = read_record(site, "heating").entries[-1]
    assert entry.step == "fixing"
    pins = {mark["id"]: mark["shape"] for mark in entry.value}
    assert pins["hook"] == "pin"
    assert len(pins) == 5
    found = run("heating", read_site(site), replay(read_record(site, "heating"))).findings
    holes = [f for f in found if f.code == "heating.fixing"]
    assert len(holes) == 5
    assert all(f.cautions for f in holes)
