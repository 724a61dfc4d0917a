"""The step that lays photos over frames: what is proposed, kept, refused and said."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from thermalkit.diagnosis.alignment import (
    aligned,
    alignment_said,
    photo_alignment,
    photo_pairs_step,
    proposed_pairs,
    residuals_px,
)
from thermalkit.diagnosis.decisions import Case, NotADecision
from thermalkit.diagnosis.run import investigation
from thermalkit.imaging.alignment import align, corners_of
from thermalkit.language import render
from thermalkit.scenes.views import frame_of, photo_of, random_camera, random_plane, random_view, through
from thermalkit.site import read_site

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"
SHAPE, PHOTO = (240, 320), (900, 1200)
STEP = photo_pairs_step("damp", lambda case: tuple(case.site.frames))
PAIRS = [[[20, 20], [60, 70]], [[20, 300], [60, 910]], [[220, 300], [660, 910]], [[220, 20], [660, 70]]]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The sample site with a frame and a photo of an invented wall in place of its first two."""
    folder = tmp_path_factory.mktemp("photos") / "site"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("annex", "record"))
    rng = np.random.default_rng(6)
    plane, camera = random_plane(rng), random_camera(rng, SHAPE)
    views = random_view(rng, SHAPE, 0.6, 0.03), random_view(rng, PHOTO, 0.9, 0.02)
    frame = frame_of(plane, views[0], camera, rng)
    tifffile.imwrite(folder / "thermal" / "corner.tiff", np.rint((frame + 273.15) * 100).astype(np.uint16))
    photo = photo_of(plane, views[1], PHOTO, rng).astype(np.uint8)
    Image.fromarray(photo).convert("RGB").save(folder / "photos" / "corner.jpg", quality=90)
    return folder, through(*views, corners_of(SHAPE))


@pytest.fixture(scope="module")
def case(folder):
    return Case(site=read_site(folder[0]))


def decided(case, value):
    case.decided[STEP.name] = STEP.control.checked(value, case)
    return case


def test_a_trusted_proposal_lies_where_the_scene_says(case, folder):
    """Within two pixels of the frame; the file's own pixels, although a smaller picture was looked at."""
    truth = folder[1]
    found = align(*np.moveaxis(np.array(proposed_pairs(case.site, "corner")), 1, 0))
    off = np.linalg.norm(found.mapped(corners_of(SHAPE)) - truth, axis=1)
    assert off.mean() < 2.0 * np.linalg.norm(truth[1] - truth[0]) / 319.0


def test_a_drawing_with_hardly_an_outline_is_not_proposed(case):
    assert proposed_pairs(case.site, "plain-wall") == []
    assert set(STEP.propose(case)) == {"corner"}


def test_the_bytes_of_photos_are_inputs(case):
    """Another photo makes the decision stale."""
    assert {"photos/corner.jpg", "thermal/corner.tiff"} <= set(case.inputs(STEP)["files"])


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("damp", "cold-corner"),
        ("envelope", "cooled-flat"),
        ("panel", "switch-room"),
        ("heating", "heat-pump-house"),
    ],
)
def test_every_investigation_asks_it_once_pictures_are_chosen(kind, name):
    """Only of frames in use that have a photo."""
    steps = [step.name for step in investigation(kind).STEPS]
    assert steps.index("photo-pairs") == steps.index("frames") + 1
    case = Case(site=read_site(SAMPLE.parent / name))
    case.decided["frames"] = tuple(case.site.frames)[:1]
    step = next(step for step in investigation(kind).STEPS if step.name == "photo-pairs")
    assert step.control.frames(case) == case.decided["frames"]
    case.decided["frames"] = ()
    assert not step.applies(case)


def test_kept_pairs_lay_the_photo_over_the_frame(case):
    found = photo_alignment(decided(case, {"corner": PAIRS}), "corner")
    assert found.mapped([[120, 160]]) == pytest.approx(np.array([[360.0, 490.0]]), abs=1e-6)
    assert photo_alignment(case, "plain-wall") is None
    assert photo_alignment(decided(case, {"corner": PAIRS[:3]}), "corner") is None


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ([], "by frame"),
        ({"attic": PAIRS}, "'attic'"),
        ({"corner": "four"}, "at most"),
        ({"corner": [[1, 2, 3]]}, "a pair is"),
        ({"corner": [[[500, 1], [1, 1]]]}, "outside its frame"),
        ({"corner": [[[5, 1], [1, 1e9]]]}, "outside its photo"),
        ({"corner": [PAIRS[0], PAIRS[1], [PAIRS[2][0], PAIRS[3][1]], [PAIRS[3][0], PAIRS[2][1]]]}, "3 and 4"),
    ],
)
def test_what_is_no_answer_is_refused(case, value, said):
    with pytest.raises(NotADecision, match=said):
        STEP.control.checked(value, case)


def test_what_is_said_of_it(case):
    """Four always fit; with more the distance is told in pixels and mm; parallax always."""
    four = photo_alignment(decided(case, {"corner": PAIRS}), "corner")
    assert "a fifth would show" in render(alignment_said(case, "corner", four)[0], "en")
    extra = [[[120, 160], [360, 493]], [[60, 100], [180, 310]], [[180, 200], [540, 610]]]
    more = photo_alignment(decided(case, {"corner": [*PAIRS, *extra]}), "corner")
    said = [render(sentence, "en") for sentence in alignment_said(case, "corner", more)]
    assert "7 pairs" in said[0]
    assert "mm" in said[0]
    assert "in the plane of these points" in said[-1]
    # A photo pixel is a third of a frame pixel here.
    assert residuals_px(more) == pytest.approx(more.residual_px / 3.0, rel=0.05)


def test_edges_lead_on_from_pairs_set_by_hand(case, folder):
    """Nearer to the scene's own map than the pairs alone, and said so beside how far the pairs lie off."""
    exact = align(corners_of(SHAPE), folder[1])
    rng = np.random.default_rng(2)
    points = corners_of(SHAPE) * 0.8 + [24.0, 32.0]
    pairs = np.stack([points + rng.normal(0.0, 1.0, points.shape), exact.mapped(points)], axis=1).round(1)
    found = photo_alignment(decided(case, {"corner": pairs.tolist()}), "corner")
    alone = aligned(pairs, SHAPE)
    off = [np.linalg.norm(m.mapped(corners_of(SHAPE)) - folder[1], axis=1).mean() for m in (found, alone)]
    assert off[0] < 0.6 * off[1]
    said = [render(alignment_said(case, "corner", found)[0], language) for language in ("en", "de")]
    assert "then by the outlines" in said[0]
    assert "mm" in said[0]
    assert "nach den Umrissen" in said[1]
    assert photo_alignment(case, "corner") is found


def test_a_kept_proposal_is_called_what_it_is(case):
    """Nobody set a point."""
    found = photo_alignment(decided(case, {"corner": proposed_pairs(case.site, "corner")}), "corner")
    assert "no point was set by hand" in render(alignment_said(case, "corner", found)[0], "en")


def test_a_slip_is_named_to_the_client(case):
    extra = [[[120, 160], [360, 490]], [[60, 100], [180, 310]], [[180, 200], [640, 610]]]
    found = photo_alignment(decided(case, {"corner": [*PAIRS, *extra]}), "corner")
    assert "Pair 7 contradicts" in render(alignment_said(case, "corner", found)[1], "en")
    five = photo_alignment(decided(case, {"corner": [*PAIRS, extra[2]]}), "corner")
    assert "cannot be told which" in render(alignment_said(case, "corner", five)[1], "en")
