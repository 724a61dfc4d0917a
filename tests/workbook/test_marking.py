"""Marks as pictures and as numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import raises

from thermalkit.diagnosis.decisions import NotADecision
from thermalkit.diagnosis.labels import mark_name
from thermalkit.record.store import read_record
from thermalkit.workbook import open_session
from thermalkit.workbook.marking import marks_drawn, marks_text, marks_written

coordinates = st.floats(-0.5, 99_999.0).map(lambda x: round(x, 3))
marks = st.fixed_dictionaries(
    {
        "frame": st.just("corner"),
        "id": st.text("abc :-.ä1", min_size=1, max_size=12).filter(lambda t: t == t.strip()),
        "shape": st.sampled_from(["pin", "patch", "trace"]),
        "points": st.lists(st.tuples(coordinates, coordinates).map(list), min_size=1, max_size=5),
        "role": st.just("suspect"),
    }
)


@given(st.lists(marks, max_size=4))
def test_marks_written_as_numbers_are_read_back(drawn):
    """Names with colons and spaces, and coordinates to a thousandth of a pixel, survive."""
    assert marks_written(marks_text(drawn), "corner", "suspect") == drawn


@pytest.mark.parametrize(
    "line", ["corner 4,5", "corner: blob 4,5", "corner: pin", "corner: pin 4", "c: pin 4,x"]
)
def test_a_line_that_cannot_be_read_is_quoted(line):
    """Whoever mistypes sees the line and how it is written."""
    with raises(NotADecision, match=rf"This line cannot be read: {line}"):
        marks_written(line, "corner", "suspect")


@pytest.fixture
def panel(site_folder):
    session = open_session("damp", site_folder)
    session.show("frames")._keep.click()
    return session.show("suspect")


def test_what_is_drawn_appears_as_numbers_and_is_kept(panel, site_folder):
    """A pin drawn on the picture, named by the surveyor, is what the record holds."""
    asking = panel._asking
    asking._viewer.picture.marks = [
        {"id": "pin-1", "name": "reveal", "number": 1, "shape": "pin", "points": [[20, 8]], "role": "suspect"}
    ]
    assert asking._numbers.value == "reveal: pin 20,8"
    panel._keep.click()
    kept = read_record(site_folder, "damp").last("suspect").value
    assert kept == [
        {"frame": "corner", "id": "reveal", "shape": "pin", "points": [[20, 8]], "role": "suspect"}
    ]


def test_what_is_typed_appears_on_the_picture(panel):
    """The table is a second way in, not only a way out."""
    panel._asking._numbers.value = "foot: trace 30,2 30,20"
    (mark,) = panel._asking._viewer.picture.marks
    assert (mark["id"], mark["name"], mark["points"]) == ("foot", "foot", [[30.0, 2.0], [30.0, 20.0]])
    assert "corner: foot" in panel._asking._said.value


def test_a_mistyped_line_is_told_at_once_and_refused_at_keep(panel, site_folder):
    """The picture stays as it was; nothing is written."""
    before = panel._asking._viewer.picture.marks
    panel._asking._numbers.value = "foot; trace 30,2"
    assert "cannot be read" in panel._asking._said.value
    assert panel._asking._viewer.picture.marks == before
    panel._keep.click()
    assert "cannot be read" in panel._answer.value
    assert read_record(site_folder, "damp").last("suspect") is None


def test_the_picture_shows_the_temperatures_that_mean_something(panel):
    """Dew point and mould criterion of the room are drawn as lines, with their words."""
    labels = [line["label"] for line in panel._asking._viewer.picture.lines]
    assert any("dew point" in label for label in labels)


def test_a_mark_shows_what_would_be_found_there_as_soon_as_it_is_drawn(panel, site_folder):
    """Readings stand in the picture's table under the picture's own id; nothing is written."""
    panel._asking._viewer.picture.marks = [
        {"id": "pin-1", "name": "reveal", "number": 1, "shape": "pin", "points": [[24, 8]], "role": "suspect"}
    ]
    readings = panel._asking._viewer.picture.numbers["pin-1"]
    names = [row[0] for row in readings if isinstance(row, list)]
    assert names[:2] == ["coldest ▼", "colder than “sound”"]
    assert {"surface relative humidity during the visit", "temperature factor"} <= set(names)
    assert read_record(site_folder, "damp").last("suspect") is None


def test_marks_that_are_no_answer_yet_show_no_readings(panel):
    """Two places of one name wait for another name."""
    panel._asking._numbers.value = "corner: pin 24,8\ncorner: pin 20,8"
    assert panel._asking._viewer.picture.numbers == {}


DRAWN = {"id": "pin-1", "name": "reveal", "number": 1, "shape": "pin", "points": [[24, 8]], "role": "suspect"}


def test_places_that_stand_out_are_suggested_and_accepted_under_their_name(panel, site_folder):
    """The proposal covers the coldest; without it, it is a suggestion, and accepting makes it a mark."""
    picture = panel._asking._viewer.picture
    assert picture.suggestions == []
    panel._asking.fill_in([])
    panel._asking._suggested.clear()
    panel._asking._redraw()
    (cold,) = picture.suggestions
    picture.replace_marks([cold])
    panel._keep.click()
    (kept,) = read_record(site_folder, "damp").last("suspect").value
    assert (kept["id"], kept["points"]) == ("cold", cold["points"])


def test_marks_of_the_other_question_are_seen_and_said_to_be_proposed(site_folder):
    """Drawing suspects, the sound place of the frame is in sight, and the other way round."""
    session = open_session("damp", site_folder)
    session.show("frames")._keep.click()
    suspect, sound = session.show("suspect"), session.show("sound")
    (context,) = suspect._asking._viewer.picture.context
    assert (context["name"], context["role"]) == ("sound", "sound")
    assert context["note"].startswith("proposed in")
    suspect._keep.click()
    (context,) = sound._asking._viewer.picture.context
    assert (context["name"], context["role"]) == ("cold", "suspect")
    assert context["note"].startswith("from")
    sound._keep.click()
    assert suspect._asking._viewer.picture.context[0]["note"].startswith("from")
    numbers = suspect._asking._viewer.picture.numbers
    assert numbers.keys() == {"cold", "sound/sound"}


def test_marks_not_kept_yet_outlive_the_session(panel, site_folder):
    """A new kernel finds the marks, the reason and that nothing was kept; the record stays empty."""
    panel._asking._viewer.picture.marks = [DRAWN]
    panel._reason.value = "the reveal matters"
    assert "Not kept yet" in panel._answer.value
    assert read_record(site_folder, "damp").last("suspect") is None
    again = open_session("damp", site_folder).show("suspect")
    assert [mark["name"] for mark in again._asking._viewer.picture.marks] == ["reveal"]
    assert again._reason.value == "the reveal matters"
    assert "Not kept yet" in again._answer.value
    again._keep.click()
    assert read_record(site_folder, "damp").last("suspect").reason == "the reveal matters"
    assert "Not kept yet" not in open_session("damp", site_folder).show("suspect")._answer.value


def test_a_dismissed_suggestion_stays_dismissed(panel, site_folder):
    """What is aside of the answer comes back with it."""
    panel._asking.fill_in([])
    panel._asking._suggested.clear()
    panel._asking._redraw()
    panel._asking._viewer.picture.suggestions = []
    again = open_session("damp", site_folder).show("suspect")
    assert again._asking._viewer.picture.marks == []
    assert again._asking._viewer.picture.suggestions == []


def test_back_at_the_proposal_nothing_is_set_aside(panel, site_folder):
    """A change that was taken back leaves no draft behind."""
    panel._asking._viewer.picture.marks = [DRAWN]
    panel._propose.click()
    assert panel._answer.value == ""
    assert open_session("damp", site_folder).show("suspect")._answer.value == ""


def test_a_proposed_name_shown_in_german_stays_as_it_was_proposed():
    """The picture shows "kalte Stelle"; the record keeps "cold" until a person gives another name."""
    shown = {"id": "cold", "name": mark_name("cold", "de"), "shape": "pin", "points": [[1, 2]]}
    given = [shown, {**shown, "name": "Ecke"}]
    assert shown["name"] == "kalte Stelle"
    assert [mark["id"] for mark in marks_drawn(given, "f", "suspect", "de")] == ["cold", "Ecke"]
