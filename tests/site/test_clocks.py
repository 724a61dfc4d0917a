"""A clock in a picture sets the times of its camera's frames right."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.run import investigation
from thermalkit.errors import ReadingError
from thermalkit.language import texts_in
from thermalkit.site import read_site

CLOCK = '[[clocks]]\ninstrument = "{camera}"\nclock_showed = {true}\ncamera_wrote = {wrote}\n'


def taken(site, frame):
    return site.frames[frame].keys.taken_at


@pytest.fixture
def cold_corner(tmp_path):

    sample = Path(__file__).parents[2] / "sample_sites" / "cold-corner"
    folder = tmp_path / "site"
    shutil.copytree(sample, folder, ignore=shutil.ignore_patterns("annex", "record"))

    def read(**clock):
        file = folder / "site.toml"
        text = file.read_text("utf-8").split("[[clocks]]")[0]
        file.write_text(text + (CLOCK.format(**clock) if clock else ""), "utf-8")
        return read_site(folder)

    return read


def test_a_fast_clock_is_set_back_and_said(cold_corner):
    """125 s fast: 08:48 becomes 08:45:55; it stands among what was assumed."""
    as_written = cold_corner()
    site = cold_corner(camera="cam", true="2026-01-21T09:35:00+01:00", wrote="2026-01-21T08:37:05+00:00")
    assert taken(as_written, "plain-wall") == datetime(2026, 1, 21, 8, 48, tzinfo=UTC)
    assert taken(site, "plain-wall") == datetime(2026, 1, 21, 8, 45, 55, tzinfo=UTC)
    assert any("125\xa0s fast" in note and "08:45:55" in note for note in texts_in(site.notes, "en"))


@pytest.mark.parametrize(
    ("wrote", "told"),
    [
        ("2026-01-21T18:50:00+00:00", "ging 10,2\xa0h vor;"),  # 10 h 15 min
        ("2006-01-21T08:35:00+00:00", "ging 7.305,0\xa0d nach;"),  # 20 years, 5 leap days among them
    ],
    ids=["hours", "years"],
)
def test_a_clock_far_off_is_told_in_hours_or_days(cold_corner, wrote, told):
    """By the calendar; a camera that lost its battery is years behind."""
    site = cold_corner(camera="cam", true="2026-01-21T08:35:00+00:00", wrote=wrote)
    assert any(told in note for note in texts_in(site.notes, "de"))


def test_a_right_clock_changes_nothing(cold_corner):
    site = cold_corner(camera="cam", true="2026-01-21T08:35:00+00:00", wrote="2026-01-21T08:35:00+00:00")
    assert taken(site, "plain-wall") == datetime(2026, 1, 21, 8, 48, tzinfo=UTC)
    assert not any("clock of" in note for note in texts_in(site.notes, "en"))


def test_only_a_camera_has_such_a_clock(cold_corner):
    with pytest.raises(ReadingError, match="clocks"):
        cold_corner(camera="hygro", true="2026-01-21T08:35:00+00:00", wrote="2026-01-21T08:36:00+00:00")


def test_decisions_rest_on_it(cold_corner):
    """Frames whose times moved make their decisions stale; without a clock nothing is added."""
    step = next(step for step in investigation("damp").STEPS if step.name == "frames")
    assert "clocks" not in Case(site=cold_corner()).inputs(step)["site"]
    site = cold_corner(camera="cam", true="2026-01-21T08:35:00+00:00", wrote="2026-01-21T08:36:00+00:00")
    assert Case(site=site).inputs(step)["site"]["clocks"][0]["instrument"] == "cam"
