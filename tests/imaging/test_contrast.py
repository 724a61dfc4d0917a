"""Suggestions on invented frames whose cold, warm and sound places are known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pytest import approx
from scipy import ndimage
from skimage.draw import polygon

from thermalkit.imaging.contrast import Suggestion, cold_places, sound_place, warm_places
from thermalkit.imaging.readers import read_frame

SHAPES = ((60, 80), (120, 160), (240, 320))
NOISE_K = 0.05


def wall(seed, shape):
    """An even wall at 17 °C with vignetting of up to half a kelvin, drift, noise and its generator."""
    rng = np.random.default_rng(seed)
    row, column = np.meshgrid(*(np.linspace(-1, 1, side) for side in shape), indexing="ij")
    frame = 17.0 + rng.uniform(-0.5, 0.5) * (row**2 + column**2) / 2 + rng.uniform(-0.1, 0.1) * column
    return rng, frame + rng.normal(0.0, NOISE_K, shape)


def inside(place: Suggestion, shape):
    outline = np.array(place.outline)
    mask = np.zeros(shape, dtype=bool)
    mask[polygon(outline[:, 0], outline[:, 1], shape)] = True
    return mask


def overlap(a, b):
    """Shared part of two areas, 0 to 1."""
    return np.count_nonzero(a & b) / np.count_nonzero(a | b)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("seed", range(4))
def test_an_even_wall_suggests_nothing(shape, seed):
    """Noise, vignetting and drift are no places."""
    _, frame = wall(seed, shape)
    assert cold_places(frame, noise_k=NOISE_K) == []
    assert warm_places(frame, noise_k=NOISE_K) == []


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("seed", range(4))
def test_a_patch_in_a_wall_is_outlined(shape, sign, seed):
    """A rectangle 0.8 K off, blurred by optics, is found where it was put and nothing else is."""
    rng, frame = wall(seed, shape)
    rows, columns = shape
    top, left = rng.integers(rows // 8, rows // 2), rng.integers(columns // 8, columns // 2)
    truth = np.zeros(shape, dtype=bool)
    truth[top : top + rows // 5, left : left + columns // 4] = True
    frame = frame + sign * ndimage.gaussian_filter(0.8 * truth, 0.7)
    (place,) = (cold_places if sign < 0 else warm_places)(frame, noise_k=NOISE_K)
    assert overlap(inside(place, shape), truth) > 0.75
    assert place.depth_k == approx(0.8, abs=0.15)
    assert place.area_px == approx(truth.sum(), rel=0.25)
    assert truth[tuple(np.rint(place.extreme).astype(int))]
    assert 3 <= len(place.outline) <= 12


@pytest.mark.parametrize("at", [0.0, 0.3, 0.65, 1.0])
@pytest.mark.parametrize("reach", [0.2, 0.4])
@pytest.mark.parametrize("form", ["straight", "curved"])
@pytest.mark.parametrize("seed", range(2))
def test_a_wall_corner_gives_the_strip_along_it(at, reach, form, seed):
    """Temperature falls by 3 K towards a line: one place, along the line, over most of the height."""
    shape = (240, 320)
    _, frame = wall(seed, shape)
    distance = np.abs(np.arange(320) / 319 - at)
    fall = np.maximum(0, 1 - distance / reach) if form == "straight" else np.exp(-3 * distance / reach)
    places = cold_places(frame - 3.0 * fall, noise_k=NOISE_K)
    assert len(places) == 1
    outline = np.array(places[0].outline)
    assert abs(places[0].extreme[1] / 319 - at) < 0.03
    assert np.ptp(outline[:, 0]) > 0.9 * 240
    assert np.abs(outline[:, 1] / 319 - at).max() < 0.6 * reach
    assert 2.0 < places[0].depth_k < 3.3
    sound = sound_place(frame - 3.0 * fall, inside(places[0], shape), noise_k=NOISE_K)
    assert np.abs(np.array(sound.outline)[:, 1] / 319 - at).min() > 0.6 * reach
    assert abs(sound.depth_k) < 0.3


@pytest.mark.parametrize("seed", range(4))
def test_the_view_may_hold_people_radiators_lamps_and_faults(seed):
    """A corner is found beside a large warm object, a lamp, stuck pixels, a gap and a cold border."""
    shape = (240, 320)
    rng, frame = wall(seed, shape)
    frame -= 3.0 * np.exp(-np.abs(np.arange(320) / 319 - 0.75) / 0.1)
    frame[60:220, 20:110] += 14.0
    frame[10:14, 150:154] += 30.0
    frame[:, :3] -= 4.0
    frame[-3:] -= 4.0
    frame[:, 200] = np.nan
    frame.flat[rng.choice(frame.size, 25, replace=False)] = -40.0
    place = cold_places(frame, noise_k=NOISE_K)[0]
    assert place.extreme[1] == approx(0.75 * 319, abs=6)
    assert 2.0 < place.depth_k < 3.5
    sound = sound_place(frame, inside(place, shape), noise_k=NOISE_K)
    mask = inside(sound, shape)
    assert not mask[55:225, 15:115].any()
    assert not mask[:, 215:265].any()
    assert abs(sound.depth_k) < 0.3
    assert warm_places(frame, noise_k=NOISE_K)[0].extreme[1] < 110


def test_places_are_ranked_and_limited():
    """The deeper of two equal patches comes first; `most` cuts the list."""
    _, frame = wall(1, (120, 160))
    frame[20:50, 20:60] -= 1.0
    frame[70:100, 90:130] -= 2.0
    first, second = cold_places(frame, noise_k=NOISE_K)
    assert first.extreme[0] > 60 > second.extreme[0]
    assert cold_places(frame, noise_k=NOISE_K, most=1) == [first]


def test_an_enlarged_file_gives_the_same_place():
    """Outline and area are in file pixels, whatever they were enlarged by."""
    _, frame = wall(2, (120, 160))
    frame[30:60, 40:90] -= 1.0
    (small,) = cold_places(frame, noise_k=NOISE_K)
    (large,) = cold_places(np.kron(frame, np.ones((3, 3))), noise_k=NOISE_K, pixel_scale=3)
    assert large.area_px == 9 * small.area_px
    assert np.array(large.outline) == approx(3 * np.array(small.outline) + 1, abs=2)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("shape", [*SHAPES, (480, 640)])
def test_a_sound_place_is_large_and_clear_of_the_suspect(seed, shape):
    """At least 5 % of the frame, at the wall's level, away from patch and border."""
    _, frame = wall(seed, shape)
    suspect = np.zeros(shape, dtype=bool)
    suspect[shape[0] // 3 : shape[0] // 2, shape[1] // 4 : shape[1] // 2] = True
    frame = frame - 1.5 * suspect
    sound = sound_place(frame, suspect, noise_k=NOISE_K)
    mask = inside(sound, shape)
    assert sound.area_px >= 0.05 * frame.size
    assert not (mask & ndimage.binary_dilation(suspect, iterations=2)).any()
    assert not mask[[0, -1]].any()
    assert not mask[:, [0, -1]].any()
    assert abs(sound.depth_k) < 0.1


def test_nothing_sound_is_said_to_be_none():
    """A frame all suspect, or all masked, has no sound place and no cold one."""
    _, frame = wall(0, (60, 80))
    assert sound_place(frame, np.ones((60, 80), dtype=bool), noise_k=NOISE_K) is None
    blind = np.full((60, 80), np.nan)
    assert sound_place(blind, np.zeros((60, 80), dtype=bool), noise_k=NOISE_K) is None
    assert cold_places(blind, noise_k=NOISE_K) == []


def test_an_unknown_noise_leaves_the_least_depth():
    """A frame too gappy to tell its noise is searched all the same."""
    _, frame = wall(3, (60, 80))
    frame[20:40, 20:50] -= 2.0
    assert len(cold_places(frame, noise_k=float("nan"))) == 1


def test_smallest_frames_are_taken():
    """Eight by eight pixels end in an answer, not an error."""
    frame = np.full((8, 8), 15.0)
    assert cold_places(frame, noise_k=NOISE_K) == []
    assert sound_place(frame, np.zeros((8, 8), dtype=bool), noise_k=NOISE_K) is None


def test_a_real_frame_is_searched():
    """Warm and cold parts of a tray of plants: the warmest suggestion is warmer than the coldest."""
    path = Path(__file__).parents[3] / "shared/data/plant_matrix/matrix_crop_160x120.csv"
    if not path.exists():
        pytest.skip("the real measurements do not lie beside this checkout")
    frame = read_frame(path).temperature_degc
    cold, warm = cold_places(frame, noise_k=0.1)[0], warm_places(frame, noise_k=0.1)[0]
    values = [frame[tuple(np.rint(place.extreme).astype(int))] for place in (cold, warm)]
    assert values[0] < np.median(frame) < values[1]
