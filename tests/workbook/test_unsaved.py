"""A decision that cannot be written is not lost."""

import shutil

import pytest

from thermalkit.errors import WritingError
from thermalkit.record.store import read_record
from thermalkit.workbook import open_session


def keep(panel):
    panel._keep.click()
    return panel


@pytest.fixture
def gone(site_folder, tmp_path):
    """A session whose folder was renamed after its first decision, and the panel of its second."""
    session = open_session("damp", site_folder)
    keep(session.show("frames"))
    panel = session.show("remark")
    panel._asking.fill_in("Window was open.")
    site_folder.rename(tmp_path / "renamed")
    return session, keep(panel)


def test_what_cannot_be_written_is_told_and_can_be_saved_elsewhere(gone, site_folder, tmp_path):
    """The panel offers another place; the file there holds everything and is a record."""
    _, panel = gone
    assert "gone. Nothing was written." in panel._answer.value
    assert panel._elsewhere.layout.display == "flex"
    panel._elsewhere._path.value = str(tmp_path / "elsewhere" / "damp.json")
    panel._elsewhere._button.click()
    assert "Saved: " in panel._elsewhere._said.value
    (tmp_path / "site" / "record").mkdir(parents=True)
    shutil.copy(tmp_path / "elsewhere" / "damp.json", tmp_path / "site" / "record")
    record = read_record(tmp_path / "site", "damp")
    assert [entry.step for entry in record.entries] == ["frames", "remark"]
    assert record.last("remark").value == "Window was open."
    assert not site_folder.exists()


def test_nothing_is_overwritten_elsewhere(gone, tmp_path):
    """A file of that name is left alone; a folder gets a file of the usual name."""
    session, panel = gone
    (tmp_path / "mine.json").write_text("mine")
    panel._elsewhere._path.value = str(tmp_path / "mine.json")
    panel._elsewhere._button.click()
    assert "already" in panel._elsewhere._said.value
    assert (tmp_path / "mine.json").read_text() == "mine"
    assert session.save_elsewhere(tmp_path) == tmp_path / "damp.json"
    with pytest.raises(WritingError, match="could not be written"):
        session.save_elsewhere(tmp_path / "mine.json" / "damp.json")


def test_the_next_save_takes_along_what_waited(gone, site_folder, tmp_path):
    """Once the folder is back, one click saves both decisions, and a second try is no second entry."""
    session, panel = gone
    keep(panel)
    (tmp_path / "renamed").rename(site_folder)
    keep(session.show("limit"))
    assert [entry.step for entry in read_record(site_folder, "damp").entries] == ["frames", "remark", "limit"]
    assert session.unsaved is None
    assert panel._elsewhere.layout.display == "none"


def test_a_reason_that_is_too_long_is_told_beside_the_button(site_folder):
    """Nothing waits then: the text is still on the screen."""
    session = open_session("damp", site_folder)
    panel = session.show("frames")
    panel._reason.value = "x" * 3000
    keep(panel)
    assert "reason" in panel._answer.value
    assert session.unsaved is None
