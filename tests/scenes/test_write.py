"""Invented site folders, read by the door that reads real ones."""

import tomllib
from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx, raises

from thermalkit.errors import WritingError
from thermalkit.scenes import Options, random_scene, seen, truth_at, write_site
from thermalkit.scenes.toml_text import toml_text
from thermalkit.scenes.write import laid_over
from thermalkit.site.folder import read_site

NOTHING = Options(daily_mean=False, contact=False, emissivity=False, reflected=False)


def drawn(seed, options=None, frame="wall"):
    rng = np.random.default_rng(seed)
    return seen(random_scene(rng), rng, options, frame)


@pytest.mark.parametrize("options", [None, NOTHING], ids=["everything", "nothing optional"])
@pytest.mark.parametrize("seed", range(8))
def test_a_written_site_reads_without_problems(tmp_path, seed, options):
    """Frame, marks and notes come back as they were."""
    picture = drawn(seed, options)
    write_site(tmp_path, [picture])
    site = read_site(tmp_path)
    frame = site.frames["wall"]
    alive = np.isfinite(frame.apparent_degc)
    assert frame.apparent_degc[alive] == approx(picture.apparent_degc[alive], abs=0.006)
    assert alive.sum() >= picture.apparent_degc.size - 2 * picture.scene.camera.dead_pixels
    assert {(m.id, m.role, m.points) for m in site.marks("wall")} == {
        (m.id, m.role, m.points) for m in (picture.suspect, picture.sound)
    }
    assert site.keys.weather.mean_24h_air_temperature_degc == picture.written.daily_mean_degc
    assert [r.temperature_degc for r in site.keys.references] == [picture.written.contact_degc] * bool(
        site.keys.references
    )
    assert frame.keys.emissivity == picture.written.emissivity


def test_the_time_of_the_frame_is_the_hour_of_the_scene(tmp_path):
    """A wall answers by the hour, so the file has to tell it."""
    picture = drawn(3)
    write_site(tmp_path, [picture])
    taken = read_site(tmp_path).frames["wall"].keys.taken_at
    assert taken.hour + taken.minute / 60.0 == approx(picture.scene.climate.hour % 24.0, abs=0.01)


def test_two_frames_and_readings(tmp_path):
    """Several frames of one visit, and a table of readings."""
    pictures = [drawn(1, frame="left"), drawn(2, Options(contact=False), frame="right")]
    reading = {
        "place": "room",
        "quantity": "relative humidity",
        "value": 61.0,
        "unit": "%",
        "instrument": "hygro",
    }
    write_site(tmp_path, pictures, marks=(), readings=[reading])
    site = read_site(tmp_path)
    assert set(site.frames) == {"left", "right"}
    assert [(m.frame, m.role) for m in site.keys.marks] == [("left", "sound")]
    assert site.readings[0].value == 61.0


def test_writing_twice_gives_the_same_bytes(tmp_path):
    """Nothing in a folder depends on the clock."""
    for name in ("one", "other"):
        write_site(tmp_path / name, [drawn(6)])
    one, other = (
        {p.relative_to(tmp_path / n): p.read_bytes() for p in (tmp_path / n).rglob("*") if p.is_file()}
        for n in ("one", "other")
    )
    assert one == other
    assert len(one) == 5


def test_truth_says_what_marks_stand_for(tmp_path):
    """The same values as in memory, rounded; and that all is invented."""
    picture = drawn(1)
    write_site(tmp_path, [picture])
    truth = tomllib.loads((tmp_path / "truth.toml").read_text(encoding="utf-8"))
    marks = {mark["id"]: mark for mark in truth["marks"]}
    for mark in (picture.suspect, picture.sound):
        expected = truth_at(picture, mark)
        assert marks[mark.id]["factor"] == approx(expected.factor, abs=1e-5)
        assert marks[mark.id]["surface_degc"] == approx(expected.surface_degc, abs=1e-5)
    assert truth["invented"] is True
    assert truth["frames"][0]["cause"] == picture.scene.wall.cause
    assert (truth["source_of_water"] == "none") == (truth_at(picture, picture.suspect).humidity < 1.0)
    assert "invented" in (tmp_path / "README.md").read_text(encoding="utf-8")


def test_what_a_maker_adds_lies_over_what_was_drawn(tmp_path):
    """Single keys of single rooms change, the rest stays."""
    about = {"site": {"name": 'House "B"\n\\ 5 °C'}, "rooms": [{"name": "Cellar"}]}
    write_site(tmp_path, [drawn(1)], about=about)
    keys = read_site(tmp_path).keys
    assert keys.site.name == 'House "B"\n\\ 5 °C'
    assert (keys.rooms[0].id, keys.rooms[0].name) == ("room", "Cellar")


def test_lists_of_numbers_are_replaced():
    """Only lists of tables are laid over entry by entry."""
    assert laid_over({"a": [1, 2]}, {"a": [3]}) == {"a": [3]}
    assert laid_over({"a": [{"x": 1, "y": 1}, {"x": 2}]}, {"a": [{"x": 3}]}) == {
        "a": [{"x": 3, "y": 1}, {"x": 2}]
    }


def test_a_folder_that_cannot_be_written_is_named(tmp_path):
    """A file stands where a folder should be."""
    (tmp_path / "thermal").write_text("in the way")
    with raises(WritingError, match=r"File exists|Not a directory"):
        write_site(tmp_path, [drawn(1)])


plain = (
    st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=20)
    | st.datetimes(timezones=st.just(UTC))
    | st.dates()
)
tables = st.recursive(
    st.dictionaries(st.text(max_size=5), plain | st.lists(plain, max_size=3), max_size=3),
    lambda inner: st.dictionaries(st.text(max_size=5), inner | st.lists(inner, max_size=2), max_size=2),
    max_leaves=6,
)


@given(tables)
def test_toml_reads_back_as_written(written):
    """Whatever text, numbers and tables hold, the standard library's reader finds it again."""
    assert tomllib.loads(toml_text(written)) == written


def test_toml_leaves_out_what_is_none_and_writes_days():
    """Missing notes leave no trace."""
    assert toml_text({"a": None, "b": date(2026, 1, 2)}) == "b = 2026-01-02\n"
    assert toml_text({"t": datetime(2026, 1, 2, 3, 4, tzinfo=UTC)}) == "t = 2026-01-02T03:04:00+00:00\n"


def test_toml_refuses_what_it_cannot_hold():
    """A set has no place in a site file."""
    with raises(TypeError, match="cannot hold set"):
        toml_text({"a": {1, 2}})
