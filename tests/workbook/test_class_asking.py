"""What only a class exercise asks in a notebook."""

from __future__ import annotations

from pathlib import Path

import pytest

from thermalkit.diagnosis.decisions import NotADecision
from thermalkit.workbook import open_session

SITE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"


@pytest.fixture
def session(tmp_path):
    """A copy of a site, with nothing answered."""
    import shutil

    folder = tmp_path / "site"
    shutil.copytree(SITE, folder, ignore=shutil.ignore_patterns("record", "annex"))
    return open_session("class", folder)


def keep(session, step, value):
    session.keep(session.question(session._step(step)).step, value)


def html_in(widget):
    found = getattr(widget, "value", "") if isinstance(getattr(widget, "value", ""), str) else ""
    return found + "".join(html_in(child) for child in getattr(widget, "children", ()))


def test_at_sight_there_are_pictures_and_no_numbers(session):
    shown = html_in(session.show("look"))
    assert shown.count("data:image/png;base64,") == len(session.site.frames)
    assert "°C" not in shown


def test_notes_stand_beside_the_question_of_the_visit(session):
    assert "Outdoor air" in html_in(session.show("survey"))


def test_marks_wait_for_the_prediction_and_the_emissivity(session):
    """Numbers would be in sight before anything was foretold."""
    panel = session.show("suspect")
    assert len(panel.children) == 2
    keep(session, "predict", "2-4")
    assert len(panel.children) == 2
    keep(session, "emissivity", "0.93")
    assert len(panel.children) > 2


def test_a_hint_is_read_once_it_is_kept(session):
    panel = session.show("hints")
    assert "ragged edge" not in html_in(panel)
    keep(session, "hints", ["look"])
    assert "ragged edge" in html_in(panel)


def test_numbers_are_read_with_comma_or_point(session):
    asking = session.show("numbers")._asking
    surface, difference, humidity = asking.widget.children
    surface.value, difference.value, humidity.value = "12,5", " \u22121.5", ""
    assert asking.value() == {"surface": 12.5, "difference": -1.5}
    surface.value, difference.value = "12,5 °C", "1.5K"
    assert asking.value() == {"surface": 12.5, "difference": 1.5}
    humidity.value = "wet"
    with pytest.raises(NotADecision, match=r"Relative humidity of the room's air .*wet"):
        asking.value()
    asking.fill_in({"humidity": 81.0})
    assert [field.value for field in (surface, difference, humidity)] == ["", "", "81"]
