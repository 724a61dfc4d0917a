"""Pictures laid over one another by their edges, against scenes whose map is known."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest

from thermalkit.imaging.alignment import align, corners_of
from thermalkit.imaging.leading import led_by_edges
from thermalkit.imaging.registration import between_frames, proposal
from thermalkit.language import render
from thermalkit.scenes.views import frame_of, photo_of, random_camera, random_plane, random_view, through

pytestmark = pytest.mark.slow

SHAPE, PHOTO = (240, 320), (450, 600)
CORNERS = corners_of(SHAPE)
SCENES = int(os.environ.get("THERMALKIT_SCENES", "8"))


def pair(seed):
    """A frame with noise, a photo with grain, and the frame's corners in the photo."""
    rng = np.random.default_rng(seed)
    plane, camera = random_plane(rng), random_camera(rng, SHAPE)
    frame_view = random_view(rng, SHAPE, rng.uniform(0.45, 0.70), 0.04)
    photo_view = random_view(rng, PHOTO, rng.uniform(0.8, 1.0), 0.03)
    frame, photo = frame_of(plane, frame_view, camera, rng), photo_of(plane, photo_view, PHOTO, rng)
    return frame, photo, through(frame_view, photo_view, CORNERS)


def off_px(found, truth):
    """Mean distance of the four corners from where they belong, in pixels of the frame."""
    wide = np.linalg.norm(truth[1] - truth[0]) / (SHAPE[1] - 1)
    return float(np.linalg.norm(found.mapped(CORNERS) - truth, axis=1).mean() / wide)


@pytest.fixture(scope="module")
def proposals():
    made = []
    for seed in range(SCENES):
        frame, photo, truth = pair(seed)
        made.append((proposal(frame, photo), truth))
    return made


def test_the_automatic_map_lies_within_two_pixels(proposals):
    """Median corner error over all scenes, trusted or not."""
    off = [off_px(found.alignment, truth) if found else 99.0 for found, truth in proposals]
    assert np.median(off) < 2.0


def test_what_is_trusted_can_be(proposals):
    """A good part is trusted, nearly all of that lies within three pixels, none of it is grossly wrong."""
    trusted = [off_px(found.alignment, truth) for found, truth in proposals if found and not found.reason]
    assert len(trusted) >= 0.25 * len(proposals)
    assert np.mean(np.array(trusted) < 3.0) >= 0.9
    assert max(trusted) < 10.0


def test_a_photo_of_another_wall_is_not_trusted():
    """Nothing to find: the proposal says so, in both languages."""
    count = max(SCENES // 3, 3)
    unsure = 0
    for seed in range(count):
        found = proposal(pair(seed)[0], pair(1000 + seed)[1])
        unsure += found is None or found.reason is not None
        if found is not None and found.reason is not None:
            assert render(found.reason, "en") != render(found.reason, "de")
    assert unsure >= 0.9 * count


def test_pictures_without_edges_give_nothing_to_trust():
    rng = np.random.default_rng(1)
    found = proposal(18.0 + rng.normal(0, 0.05, SHAPE), 128.0 + rng.normal(0, 3.0, PHOTO))
    assert found is None or found.reason is not None


def clicked(truth, rng, moved=(0.0, 0.0)):
    """Four pairs set in the frame with 1 px of scatter, and how finely the photo shows a pixel of it."""
    exact = align(CORNERS, truth)
    points = CORNERS * 0.8 + np.array([24.0, 32.0])
    found = align(points + rng.normal(0.0, 1.0, points.shape), exact.mapped(points + moved), shape=SHAPE)
    return found, float(np.linalg.norm(truth[1] - truth[0]) / (SHAPE[1] - 1))


def test_four_clicks_then_edges_lie_within_a_pixel():
    """Four pairs clicked with 1 px of scatter; edges lead on where both agree: median below 1 px."""
    rng = np.random.default_rng(3)
    by_clicks, by_both, led = [], [], 0
    for seed in range(max(SCENES, 8)):
        frame, photo, truth = pair(seed)
        start, finer = clicked(truth, rng)
        found = led_by_edges(frame, photo, start, scatter_px=(1.0, finer))
        led += found is not None
        by_clicks.append(off_px(start, truth))
        by_both.append(off_px(found or start, truth))
    assert led >= 0.6 * len(by_both)
    assert np.median(by_both) < 1.0
    assert np.median(by_both) < np.median(by_clicks)


def test_edges_do_not_pull_the_photo_away_from_the_clicks():
    """Pairs set eight pixels beside the outlines keep their word, as do pairs that contradict each other."""
    rng = np.random.default_rng(4)
    for seed in range(3):
        frame, photo, truth = pair(seed)
        beside, finer = clicked(truth, rng, moved=(0.0, 8.0))
        assert led_by_edges(frame, photo, beside, scatter_px=(1.0, finer)) is None
    doubtful = replace(clicked(truth, rng)[0], is_consistent=False)
    assert led_by_edges(frame, photo, doubtful) is None


def test_clicked_pairs_stay_and_their_distance_is_told():
    """The map is the edges', the pairs and what they lie off are the person's; it counts as checked."""
    frame, photo, truth = pair(1)
    start, finer = clicked(truth, np.random.default_rng(1))
    found = led_by_edges(frame, photo, start, scatter_px=(1.0, finer))
    assert found.is_led
    assert found.is_checked
    assert not start.is_checked
    assert np.array_equal(found.pairs, start.pairs)
    missed = found.mapped(start.pairs[:, 0]) - start.pairs[:, 1]
    assert found.residual_px == pytest.approx(np.hypot(*missed.T))
    assert 0.1 * finer < found.rms_px < 4.0 * finer


def test_overlapping_frames_of_one_visit():
    """Two frames of one wall that share two thirds, the second after a warmer hour."""
    off = []
    for seed in range(4):
        rng = np.random.default_rng(100 + seed)
        plane, camera = random_plane(rng), random_camera(rng, SHAPE)
        first = random_view(rng, SHAPE, 0.6, 0.01)
        second = first.copy()
        second[:2, 2] += np.array([0.02, 0.2]) * 1280 * rng.choice([-1, 1])
        second[:2] += rng.uniform(-0.02, 0.02, (2, 3)) * (1.0, 1.0, 0.0)
        frames = [
            frame_of(plane, view, camera, rng, changed) for view, changed in ((first, 0.0), (second, 1.5))
        ]
        found = between_frames(*frames)
        if found is not None and found.reason is None:
            off.append(off_px(found.alignment, through(first, second, CORNERS)))
    assert len(off) >= 3
    assert np.median(off) < 1.0


def test_edges_that_meet_nowhere_give_nothing():
    """Stripes across in one picture, down in the other, and a frame of a few pixels."""
    rows, columns = np.mgrid[:120, :160]
    for first, second in ((np.sin(rows / 4.0), np.sin(columns / 4.0)), (np.eye(4) * 9.0, np.ones((9, 9)))):
        found = proposal(first, second)
        assert found is None or found.reason is not None
