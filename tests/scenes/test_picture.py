"""What camera and surveyor make of a wall, against its truth."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from thermalkit.imaging.mark import mark_mask
from thermalkit.physics.moist_air import surface_humidity
from thermalkit.physics.radiation import frame_surface_temperature_degc
from thermalkit.scenes import Options, random_corner, random_patch, random_scene, random_sound, seen, truth_at
from thermalkit.scenes.scene import positions_m
from thermalkit.scenes.things import Thing, random_things

KINDS = (random_corner, random_patch, random_sound)
NOTHING = Options(daily_mean=False, contact=False, emissivity=False, reflected=False)


def drawn(seed, make=None, options=None, **others):
    rng = np.random.default_rng(seed)
    scene = random_scene(rng, make(rng) if make else None)
    return seen(replace(scene, **others), rng, options)


def test_the_same_seed_gives_the_same_picture():
    """Frame, marks and notes come from the seed alone."""
    one, other = drawn(4), drawn(4)
    assert np.array_equal(one.apparent_degc, other.apparent_degc)
    assert (one.suspect, one.sound, one.written) == (other.suspect, other.sound, other.written)


def test_another_seed_gives_another():
    """Seeds are not ignored."""
    assert drawn(4).written != drawn(5).written


@pytest.mark.parametrize("make", KINDS)
def test_the_frame_shows_the_truth_through_the_camera(make):
    """Corrected by true emissivity, reflection and offset, the wall is found within unevenness and noise."""
    picture = drawn(1, make, things=())
    scene = picture.scene
    found = frame_surface_temperature_degc(
        picture.apparent_degc - scene.camera.offset_k, scene.emissivity, scene.reflected_degc
    )
    difference = np.median(found - picture.true_surface_degc)
    assert difference == approx(0.0, abs=0.25)


@pytest.mark.parametrize("seed", range(10))
def test_notes_lie_within_the_stated_accuracies(seed):
    """Air 0.5 K, 3 %; outdoors and contact 0.5 K; reflected 1 K; emissivity 0.02; and half a digit."""
    picture = drawn(seed)
    climate, written = picture.scene.climate, picture.written
    assert written.air_temperature_degc == approx(climate.indoor_degc, abs=0.55)
    assert written.relative_humidity_percent == approx(100 * climate.indoor_humidity, abs=3.05)
    assert written.outdoor_degc == approx(climate.outdoor_degc, abs=0.55)
    assert written.daily_mean_degc == approx(climate.outdoor_mean_degc, abs=0.55)
    assert written.reflected_degc == approx(picture.scene.reflected_degc, abs=1.05)
    assert written.emissivity == approx(picture.scene.emissivity, abs=0.025)
    assert written.contact_degc == approx(truth_at(picture, picture.sound).surface_degc, abs=0.55)


def test_optional_notes_can_be_missing():
    """None where nothing was written."""
    written = drawn(3, options=NOTHING).written
    assert (written.daily_mean_degc, written.contact_degc) == (None, None)
    assert (written.emissivity, written.reflected_degc) == (None, None)


@pytest.mark.parametrize("seed", range(12))
def test_marks_lie_where_a_surveyor_would_draw_them(seed):
    """The suspect one holds the coldest wall of the inner picture, and they do not meet."""
    picture = drawn(seed)
    shape = picture.scene.shape
    suspect, sound = (mark_mask(mark, shape) for mark in (picture.suspect, picture.sound))
    inner = np.zeros(shape, dtype=bool)
    inner[int(0.12 * shape[0]) : int(0.85 * shape[0]), int(0.04 * shape[1]) : int(0.96 * shape[1])] = True
    bare = np.where(np.isfinite(picture.true_factor) & inner, picture.true_surface_degc, np.inf)
    assert bare[suspect].min() <= bare.min() + 0.05
    assert not np.any(suspect & sound)
    assert np.all(np.isfinite(picture.true_factor[suspect | sound]))


def test_truth_of_a_suspect_place_is_its_coldest_spot():
    """Mean of 3 x 3 pixels, not of the mark, and all values from the same pixels."""
    picture = drawn(2, random_corner)
    spot, sound = truth_at(picture, picture.suspect), truth_at(picture, picture.sound)
    mask = mark_mask(picture.suspect, picture.scene.shape)
    assert spot.surface_degc < picture.true_surface_degc[mask].mean()
    assert spot.surface_degc >= picture.true_surface_degc[mask].min()
    assert spot.surface_degc < sound.surface_degc
    pressure = picture.scene.climate.vapour_pressure_pa
    assert spot.humidity == approx(surface_humidity(pressure, spot.surface_degc), rel=1e-3)


def test_a_corner_stands_where_it_is_looked_at():
    """Position 0 at the origin's column, walls foreshortened by the cosine of the angle of sight."""
    scene = replace(drawn(1, random_corner).scene, origin=0.25, angle_deg=60.0)
    along_m, height_m = positions_m(scene)
    assert abs(int(np.argmin(np.abs(along_m))) - scene.shape[1] * 0.25) <= 1
    left, right = along_m[0, 1] - along_m[0, 0], along_m[0, -1] - along_m[0, -2]
    assert left / right == approx(np.tan(np.radians(60.0)))
    assert height_m[0, 0] > 0.0 > height_m[-1, 0]


def test_a_thing_hides_the_wall():
    """Its pixels have a temperature of their own and no factor."""
    box = (2, 8, 2, 12)
    things = (Thing(name="radiator", box=box, share=1.0, excess_k=20.0),)
    picture = drawn(7, random_sound, things=things)
    assert np.isnan(picture.true_factor[2:8, 2:12]).all()
    assert picture.true_surface_degc[4, 4] > picture.scene.climate.indoor_degc + 19.0
    assert picture.apparent_degc[4, 4] > picture.scene.climate.indoor_degc + 10.0


def test_a_mirrored_person_changes_the_picture_but_not_the_wall():
    """6 K more to reflect show as about 7 % of that on a wall of emissivity 0.93."""
    person = Thing(name="mirrored person", box=(30, 60, 40, 80), mirrored_k=6.0, hides=False)
    without = drawn(7, random_sound, emissivity=0.93, things=())
    mirrored = drawn(7, random_sound, emissivity=0.93, things=(person,))
    assert np.array_equal(mirrored.true_surface_degc, without.true_surface_degc)
    excess = (mirrored.apparent_degc - without.apparent_degc)[40:50, 55:65]
    assert np.median(excess) == approx(0.07 * 6.0, abs=0.1)


def test_all_kinds_of_things_turn_up():
    """And none of them on a mark."""
    picture = drawn(1)
    rng = np.random.default_rng(1)
    marks = (picture.suspect, picture.sound)
    names = {t.name for _ in range(60) for t in random_things(rng, picture.scene.shape, marks)}
    assert names == {"skirting", "radiator", "furniture", "lamp", "metal plate", "mirrored person"}
