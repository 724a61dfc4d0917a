"""Marks carried to an overlapping frame of the same room, against a scene whose map is known."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import tifffile

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.suggestions import carried_marks
from thermalkit.imaging.mark import Mark
from thermalkit.language import render
from thermalkit.scenes.views import frame_of, random_camera, random_plane, random_view, through
from thermalkit.site import read_site

pytestmark = pytest.mark.slow

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"
SHAPE = (240, 320)
PATCH = ((60.0, 150.0), (60.0, 190.0), (100.0, 190.0), (100.0, 150.0))


@pytest.fixture(scope="module")
def walked(tmp_path_factory):
    """Two frames of one invented wall, the second a third of its width farther to the right."""
    folder = tmp_path_factory.mktemp("walk") / "site"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("annex", "record"))
    rng = np.random.default_rng(105)
    plane, camera = random_plane(rng), random_camera(rng, SHAPE)
    first = random_view(rng, SHAPE, 0.6, 0.01)
    second = first.copy()
    second[:2, 2] += (10.0, 240.0)
    for name, view in (("corner", first), ("plain-wall", second)):
        frame = frame_of(plane, view, camera, rng)
        stored = np.rint((frame + 273.15) * 100).astype(np.uint16)
        tifffile.imwrite(folder / "thermal" / f"{name}.tiff", stored)
    return folder, first, second


def test_a_mark_is_carried_to_where_it_lies(walked):
    """Within two pixels of where the scene has it; what was carried, from where, is said."""
    folder, first, second = walked
    mark = Mark(frame="corner", id="damp", shape="patch", points=PATCH)
    (carried,) = carried_marks(Case(site=read_site(folder)), "plain-wall", [mark])
    truth = through(first, second, np.array(PATCH))
    assert np.abs(np.array(carried.mark.points) - truth).max() < 2.0
    assert (carried.mark.frame, carried.mark.id) == ("plain-wall", "damp")
    assert "Carried over from damp on corner" in render(carried.said, "en")


def test_what_falls_outside_or_lies_there_already_is_left_out(walked):
    """The left edge of the first frame is not on the second; a mark of the frame itself stays."""
    case = Case(site=read_site(walked[0]))
    outside = Mark(frame="corner", id="edge", shape="pin", points=((100.0, 5.0),))
    own = Mark(frame="plain-wall", id="own", shape="pin", points=((100.0, 100.0),))
    assert carried_marks(case, "plain-wall", [outside, own]) == ()


def test_two_of_one_name_are_told_apart(walked):
    case = Case(site=read_site(walked[0]))
    marks = [Mark(frame="corner", id="damp", shape="pin", points=((90.0, c),)) for c in (200.0, 250.0)]
    assert [item.mark.id for item in carried_marks(case, "plain-wall", marks)] == ["damp", "damp (corner)"]


def test_frames_that_do_not_overlap_beyond_doubt_carry_nothing():
    """The sample site shows two different walls."""
    mark = Mark(frame="corner", id="damp", shape="pin", points=((100.0, 100.0),))
    assert carried_marks(Case(site=read_site(SAMPLE)), "plain-wall", [mark]) == ()
