"""A click sees the last of what was typed or drawn before it, and a late change finds its own frame."""

import numpy as np
import pytest

from thermalkit.record.store import read_record
from thermalkit.workbook import open_session


@pytest.fixture
def panel(site_folder):
    """A step with a page around it, which answers when told to."""
    shown = open_session("damp", site_folder).show("frames")
    shown._frame.begun = 1
    answer(shown, 0)
    return shown


def answer(panel, click, **held_back):
    panel._frame._handle_custom_msg({"click": click, "held_back": held_back}, [])


def test_what_the_page_still_held_back_is_kept(panel, site_folder):
    """The page is asked at the click; its answer comes before anything is written."""
    panel._keep.click()
    assert read_record(site_folder, "damp").entries == ()
    answer(panel, 1, **{panel._reason.model_id: {"value": "behind the wardrobe"}})
    assert read_record(site_folder, "damp").last("frames").reason == "behind the wardrobe"


def test_a_click_in_a_page_that_is_gone_does_nothing_later(panel, site_folder):
    """Only the last click is answered, and once."""
    panel._keep.click()
    panel._propose.click()
    answer(panel, 1)
    answer(panel, 2)
    answer(panel, 2)
    assert read_record(site_folder, "damp").entries == ()


def test_a_page_that_hears_nothing_is_not_waited_for(panel, site_folder):
    """Such as one reloaded on a machine too busy to begin its widgets in time."""
    panel._frame.begun = 2
    panel._keep.click()
    assert read_record(site_folder, "damp").last("frames") is not None


def test_a_mark_that_arrives_late_stays_on_its_frame(site_folder):
    """Another frame was chosen while the kernel was at work on an earlier mark."""
    np.save(site_folder / "thermal" / "other.npy", np.load(site_folder / "thermal" / "corner.npy"))
    text = (site_folder / "site.toml").read_text(encoding="utf-8")
    frame = text[text.index("[[frames]]") :].replace("corner", "other")
    (site_folder / "site.toml").write_text(f"{text}\n{frame}", encoding="utf-8")
    session = open_session("damp", site_folder)
    session.show("frames")._keep.click()
    asking = session.show("suspect")._asking
    first, picture = asking._viewer.frame, asking._viewer.picture
    asking._viewer.choice.value = next(name for name in ("corner", "other") if name != first)
    before = [mark for mark in asking.value() if mark["frame"] != first]
    pin = {"id": "late", "name": "late", "shape": "pin", "points": [[5, 8]], "role": "suspect"}
    picture.marks = [pin]
    assert [mark for mark in asking.value() if mark["frame"] != first] == before
    assert [mark["id"] for mark in asking.value() if mark["frame"] == first] == ["late"]
