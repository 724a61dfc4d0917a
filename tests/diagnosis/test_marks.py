"""Numbers of marked places: intervals, differences, areas, profiles, remarks."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pytest import approx, raises

from thermalkit.diagnosis import damp
from thermalkit.diagnosis.marks import FrameReader, numbers_of, pixel_sizes_m
from thermalkit.diagnosis.run import accept, case_of, run
from thermalkit.diagnosis.suggestions import not_yet_marked, suggested_places
from thermalkit.errors import OutOfDomain
from thermalkit.imaging.mark import Mark
from thermalkit.language import render
from thermalkit.site.folder import read_site

SITE_TOML = """\
format = 1
[site]
name = "Invented"
surveyed_at = 2026-01-21T08:30:00+00:00
climate_mode = "{mode}"
[weather]
air_temperature_degc = {outdoor}
[instruments.cam]
kind = "thermal_camera"
columns = 80
rows = 60
field_of_view_deg = [40.0, 30.0]
accuracy_k = 2.0
noise_k = 0.01
uniformity_k = 0.1
[[rooms]]
id = "room"
air_temperature_degc = 20.0
relative_humidity_percent = 55.0
[[frames]]
id = "wall"
file = "thermal/wall.npy"
instrument = "cam"
room = "room"
subject = "wall"
values = "surface"
distance_m = 2.0
"""
SOUND = Mark(
    frame="wall", id="sound", shape="patch", points=((40, 50), (40, 70), (52, 70), (52, 50)), role="sound"
)


@pytest.fixture
def case_from(tmp_path: Path):
    """A case of one invented frame: 18 °C, with squares of 11 x 11 pixels at other temperatures."""

    def made(squares=(), *, mode="heating", outdoor=0.0, **changed):
        frame = np.full((60, 80), 18.0)
        for row, column, temperature in squares:
            frame[row - 5 : row + 6, column - 5 : column + 6] = temperature
        for (row, column), temperature in changed.get("pixels", {}).items():
            frame[row, column] = temperature
        (tmp_path / "thermal").mkdir(exist_ok=True)
        np.save(tmp_path / "thermal" / "wall.npy", frame)
        text = SITE_TOML.format(mode=mode, outdoor=outdoor) + changed.get("more", "")
        for old, new in changed.get("written", {}).items():
            text = text.replace(old, new)
        (tmp_path / "site.toml").write_text(text, "utf-8")
        site = read_site(tmp_path)
        return case_of(run("damp", site, accept), site)

    return made


def patch(row, column, id="cold", half=5, role="suspect"):
    corners = ((row - half, column - half), (row - half, column + half))
    corners += ((row + half, column + half), (row + half, column - half))
    return Mark(frame="wall", id=id, shape="patch", points=corners, role=role)


def test_shared_errors_cancel_in_the_difference(case_from):
    """±2 K of the camera stay in each temperature; the difference keeps only what two places do not share.

    Two independent rectangular errors of ±0.1 K have a triangular sum: 95 % within ±0.155 K (by hand:
    half-width 0.2 K times 1 - sqrt(0.05)).
    """
    numbers = numbers_of(case_from([(20, 20, 12.0)]), patch(20, 20), SOUND)
    cold, colder = numbers.coldest.measured, numbers.difference.measured
    assert (cold.value, cold.high - cold.low) == (approx(12.0, abs=0.05), approx(2 * 1.9, abs=0.05))
    assert colder.value == approx(6.0, abs=0.02)
    assert (colder.high - colder.low) / 2 == approx(0.2 * (1 - 0.05**0.5), abs=0.02)
    assert numbers.reference == "sound"


def test_extremes_and_spread_are_those_of_measurable_spots(case_from):
    """A frame of 18 °C with a cold and a warm square: 6 K and 3 K away, places within the squares."""
    case = case_from([(20, 20, 12.0), (20, 40, 21.0)])
    whole = Mark(frame="wall", id="whole", shape="patch", points=((10, 10), (10, 50), (30, 50), (30, 10)))
    numbers = numbers_of(case, whole)
    assert numbers.spread.measured.value == approx(9.0, abs=0.02)
    assert 15 < numbers.coldest_place[1] < 25
    assert 35 < numbers.warmest_place[1] < 45
    assert numbers.mean.measured.value == approx(
        np.nanmean(case.site.frames["wall"].apparent_degc[10:31, 10:51]), abs=0.05
    )


def test_area_follows_the_geometry_of_the_view(case_from):
    """By hand: 2 · 2 m · tan 20° / 80 = 18.20 mm a pixel across, 2 · 2 m · tan 15° / 60 = 17.86 mm down."""
    case = case_from()
    height, width = pixel_sizes_m(case.site.frames["wall"])
    assert (1000 * width, 1000 * height) == (approx(18.20, abs=0.005), approx(17.86, abs=0.005))
    area = numbers_of(case, patch(20, 20)).area.measured
    assert area.value == approx(121 * 0.01820 * 0.01786, rel=0.002)
    # 5 % of the distance is 10 % of the area; a rectangular error has 95 % of its width within its 95 %.
    assert (area.high - area.low) / 2 == approx(0.095 * area.value, rel=0.03)


def test_a_frame_held_upright_turns_its_field_of_view(case_from):
    """The long side of the detector lies along the long side of the frame."""
    frame = case_from().site.frames["wall"]
    upright = replace(frame, apparent_degc=frame.apparent_degc.T)
    assert pixel_sizes_m(upright) == tuple(reversed(pixel_sizes_m(frame)))


def test_without_a_distance_there_is_no_area(case_from):
    numbers = numbers_of(case_from(written={"distance_m = 2.0\n": ""}), patch(20, 20))
    assert numbers.area is None


def test_a_trace_gives_a_profile_and_is_read_in_a_band(case_from):
    """Across a cold square: 18, 12 and 18 °C in turn, 60 pixels of 18.20 mm long."""
    trace = Mark(frame="wall", id="across", shape="trace", points=((20, 5), (20, 65)))
    numbers = numbers_of(case_from([(20, 20, 12.0)]), trace, SOUND)
    profile = numbers.profile
    assert profile.unit == "m"
    assert profile.distance[-1] == approx(60 * 0.01820, rel=1e-3)
    assert [round(float(profile.surface_degc[i])) for i in (2, 15, 50)] == [18, 12, 18]
    assert numbers.coldest.measured.value == approx(12.0, abs=0.05)
    assert numbers.remarks == ()


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        (patch(20, 20, half=0.6), "mark.too-small"),
        (patch(3, 20, half=5), "mark.at-edge"),
        (Mark(frame="wall", id="t", shape="trace", points=((20, 5), (21, 6))), "mark.too-small"),
    ],
)
def test_what_limits_a_mark_is_said(case_from, mark, said):
    """Smaller than 3 x 3 detector pixels, or cut off by the edge of the frame."""
    clipped = replace(mark, points=tuple((max(r, -0.5), c) for r, c in mark.points))
    assert said in [remark.id for remark in numbers_of(case_from(), clipped).remarks]


def test_nothing_recorded_is_said_and_gives_no_number(case_from):
    pixels = {(r, c): np.nan for r in range(10, 31) for c in range(10, 31)}
    numbers = numbers_of(case_from(pixels=pixels), patch(20, 20, half=4))
    assert [name.id for name, _ in numbers.rows()] == ["mark.area"]
    assert "mark.no-temperature" in [remark.id for remark in numbers.remarks]


def test_numbers_that_no_formula_allows_name_their_mark(case_from):
    case = case_from()
    burnt = replace(case.site.frames["wall"], apparent_degc=np.full((60, 80), 1e5))
    case = replace(case, site=replace(case.site, frames={"wall": burnt}))
    with raises(OutOfDomain, match='mark "cold"'):
        numbers_of(case, patch(20, 20))
    with raises(OutOfDomain, match='frame "wall"'):
        FrameReader(case=case, frame="wall").numbers([patch(20, 20)])


def test_the_numbers_of_a_mark_are_those_of_the_findings(case_from):
    """What a surveyor reads while drawing is what the annex will say."""
    case = case_from([(20, 20, 12.0)])
    suspect, sound = case.decided["suspect"][0], case.decided["sound"][0]
    reader = FrameReader(case=case, frame="wall", further=damp.quantities_at)
    numbers = reader.numbers([suspect, sound])
    shown = [numbers[0].coldest, numbers[1].mean]
    found = {(f.mark, q.term.id): q for f in damp.findings(case) for q in f.quantities if f.mark}
    assert shown[0] == found["cold", "surface-temperature"]
    assert shown[1] == found["sound", "surface-temperature"]
    assert numbers[0].difference == found["cold", "temperature-difference"]
    for quantity in numbers[0].further:
        assert quantity == found["cold", quantity.term.id]


def test_a_reader_that_remembers_gives_what_a_fresh_one_gives(case_from):
    """Also after a mark was moved at which a reference reading was taken."""
    case = case_from(
        [(20, 20, 12.0)],
        more='[instruments.probe]\nkind = "contact_thermometer"\naccuracy_k = 0.5\n'
        '[[references]]\nframe = "wall"\nmark = "sound"\nkind = "contact"\ntemperature_degc = 17.0\n'
        'instrument = "probe"\n',
    )
    reader = FrameReader(case=case, frame="wall")
    first = reader.numbers([patch(20, 20), SOUND])
    moved = patch(20, 20, "sound", role="sound")
    second = reader.numbers([patch(20, 20), moved])
    fresh = FrameReader(case=case, frame="wall").numbers([patch(20, 20), moved])
    assert [n.rows() for n in second] == [n.rows() for n in fresh]
    assert second[0].coldest.measured.value == approx(17.0, abs=0.1)
    assert first[0].coldest.measured.value == approx(11.0, abs=0.1)


def test_warmer_is_said_without_a_minus(case_from):
    numbers = numbers_of(case_from([(20, 40, 21.0)]), patch(20, 40), SOUND)
    texts = {render(name, "en"): value for name, value in numbers.rows()}
    assert texts["warmer than “sound”"].value == approx(3.0, abs=0.02)


@pytest.mark.parametrize(("mode", "word", "sign"), [("heating", "cold", -1), ("cooling", "warm", 1)])
def test_places_that_stand_out_are_suggested_in_their_order(case_from, mode, word, sign):
    """Deeper first; cold ones in a heated building, warm ones in a cooled one."""
    squares = [(20, 20, 18 + 2 * sign), (40, 50, 18 + 5 * sign)]
    case = case_from(squares, mode=mode, outdoor=18 - 18 * -sign)
    found = suggested_places(case, "wall")
    assert [mark.id for mark in found] == [word, f"{word} 2"]
    rows = [np.mean([r for r, _ in mark.points]) for mark in found]
    assert rows == [approx(40, abs=1), approx(20, abs=1)]
    assert not_yet_marked(found, [patch(40, 50, half=7)], (60, 80)) == found[1:]
