"""Pictures laid over one another by their edges, against scenes whose map is known."""

from __future__ import annotations

import os

import numpy as np
import pytest

from thermalkit.imaging.alignment import align, corners_of
from thermalkit.imaging.registration import between_frames, proposal
from thermalkit.language import render
from thermalkit.scenes.views import frame_of, photo_of, random_camera, random_plane, random_view, through

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


def test_four_clicks_then_edges_lie_within_a_pixel():
    """Four pairs clicked with 1 px of scatter in the frame; edges lead from there: median below 1 px."""
    rng = np.random.default_rng(3)
    clicked, led = [], []
    for seed in range(max(SCENES, 8)):
        frame, photo, truth = pair(seed)
        exact = align(CORNERS, truth)
        points = CORNERS * 0.8 + np.array([24.0, 32.0])
        start = align(points + rng.normal(0.0, 1.0, points.shape), exact.mapped(points), shape=SHAPE)
        found = proposal(frame, photo, start=start)
        best = found.alignment if found and not found.reason else start
        clicked.append(off_px(start, truth))
        led.append(off_px(best, truth))
    assert np.median(led) < 1.0
    assert np.median(led) < np.median(clicked)


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
