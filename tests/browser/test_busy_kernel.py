"""What was typed or drawn last is in the record, although the kernel was still at work at the click."""

import pytest

from thermalkit.diagnosis import damp
from thermalkit.language import render
from thermalkit.record.store import read_record

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TITLES = {step.name: render(step.title, "en") for step in damp.STEPS}
SLOW = """
import time
from thermalkit.workbook.drafts import Drafts
keep = Drafts.keep
Drafts.keep = lambda *given: (time.sleep(0.7), keep(*given))
"""


@pytest.fixture
def slow(tmp_path):
    """A machine on which setting an answer aside takes its time."""
    startup = tmp_path / "ipython" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "slow.py").write_text(SLOW, "utf-8")


def test_keep_takes_what_was_done_last(slow, workbook, site, page):
    """The letters of a reason, then three places, each with Keep at its heels."""
    workbook.open()
    panel = workbook.panel(TITLES["frames"])
    panel.get_by_label("Reason").press_sequentially("behind the wardrobe")
    workbook.keep(TITLES["frames"])
    assert read_record(site, "damp").last("frames").reason == "behind the wardrobe"

    panel = workbook.panel(TITLES["suspect"])
    canvas = panel.locator("canvas.tk-marks")
    canvas.wait_for(timeout=30_000)
    page.get_by_text("| Idle").wait_for(timeout=60_000)
    for left in (0.2, 0.5, 0.8):
        panel.locator("[data-act=rectangle]").click()
        canvas.scroll_into_view_if_needed()
        box = canvas.bounding_box()
        page.mouse.move(box["x"] + left * box["width"], box["y"] + 0.6 * box["height"])
        page.mouse.down()
        page.mouse.move(box["x"] + (left + 0.1) * box["width"], box["y"] + 0.8 * box["height"], steps=2)
        page.mouse.up()
    workbook.keep(TITLES["suspect"])
    assert len(read_record(site, "damp").last("suspect").value) == 4  # with the one that was proposed
