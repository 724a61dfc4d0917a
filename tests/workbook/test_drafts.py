"""Answers set aside until they are kept."""

import pytest
from pytest import raises

from thermalkit.errors import WritingError
from thermalkit.record.store import read_record
from thermalkit.workbook import open_session
from thermalkit.workbook.drafts import Draft, Drafts


def test_a_draft_comes_back_as_it_was(tmp_path):
    drafts = Drafts(tmp_path / "private" / "damp.json")
    draft = Draft(value=[{"id": "a\u202e\ud800"}], reason="why", aside={"f": ["x"]})
    drafts.keep("suspect", None, draft)
    drafts.keep("remark", None, Draft(value="text"))
    assert Drafts(drafts.path).of("suspect", None) == draft
    drafts.drop("suspect")
    assert drafts.of("suspect", None) is None
    assert drafts.of("remark", None) == Draft(value="text")


@pytest.mark.parametrize(
    "content", [b"", b"{", b"[]", b'{"remark": 3}', b"\xff", b'{"remark": {}}', b"[" * 99999]
)
def test_a_file_that_cannot_be_read_holds_no_draft(tmp_path, content):
    """A draft is a help, never a reason to stop; the next one replaces what was there."""
    drafts = Drafts(tmp_path / "damp.json")
    drafts.path.write_bytes(content)
    assert drafts.of("remark", None) is None
    drafts.drop("other")
    drafts.keep("remark", None, Draft(value="text"))
    assert drafts.of("remark", None) == Draft(value="text")


def test_an_endless_file_is_not_read(tmp_path):
    drafts = Drafts(tmp_path / "damp.json")
    with drafts.path.open("wb") as stream:
        stream.truncate(50_000_000)
    assert drafts.of("remark", None) is None


def test_a_draft_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "taken").write_text("")
    with raises(WritingError):
        Drafts(tmp_path / "taken" / "damp.json").keep("remark", None, Draft(value="text"))


def test_a_draft_made_before_another_decision_is_not_given_back(site_folder):
    """Whoever kept last, here or elsewhere, has decided."""
    first = open_session("damp", site_folder).show("remark")
    first._asking.widget.value = "half a sent"
    other = open_session("damp", site_folder).show("remark")
    assert other._asking.value() == "half a sent"
    other._asking.fill_in("A whole sentence.")
    other._keep.click()
    assert open_session("damp", site_folder).show("remark")._asking.value() == "A whole sentence."


@pytest.mark.parametrize("step", ["frames", "limit", "remark"])
def test_every_form_of_answer_is_set_aside(site_folder, step):
    """A choice that was ticked and not kept is there again, and the record holds nothing."""
    panel = open_session("damp", site_folder).show(step)
    other = {"frames": [], "limit": "DE-dwelling", "remark": "Musty."}[step]
    panel._asking.fill_in(other)
    assert "Not kept yet" in panel._answer.value
    assert open_session("damp", site_folder).show(step)._asking.value() == other
    assert read_record(site_folder, "damp").entries == ()


def test_nothing_is_written_into_the_site_folder(site_folder):
    before = sorted(site_folder.rglob("*"))
    open_session("damp", site_folder).show("remark")._asking.fill_in("Musty.")
    assert sorted(site_folder.rglob("*")) == before


def test_unattended_nothing_is_set_aside_or_taken_up(site_folder):
    """A run without a person shows decisions and proposals only."""
    open_session("damp", site_folder).show("remark")._asking.fill_in("Musty.")
    panel = open_session("damp", site_folder, unattended=True).show("remark")
    assert panel._asking.value() == ""
    panel._asking.fill_in("Wet.")
    assert open_session("damp", site_folder).show("remark")._asking.value() == "Musty."


def test_what_is_no_answer_any_more_is_forgotten(site_folder):
    """Marks set aside on a frame that the site no longer has do not come back."""
    session = open_session("damp", site_folder)
    session.show("frames")._keep.click()
    session.show("suspect")._asking._numbers.value = "reveal: pin 24,8"
    path = site_folder / "site.toml"
    path.write_text(path.read_text("utf-8").replace('id = "corner"', 'id = "other"'), "utf-8")
    assert open_session("damp", site_folder).draft(session._step("suspect")) is None


def test_an_answer_that_cannot_be_set_aside_is_told_beside_the_button(site_folder, tmp_path):
    """It can still be kept."""
    (tmp_path / "user").write_text("")
    panel = open_session("damp", site_folder).show("remark")
    panel._asking.fill_in("Musty.")
    assert "role='alert'" in panel._answer.value
    panel._keep.click()
    assert read_record(site_folder, "damp").last("remark").value == "Musty."
