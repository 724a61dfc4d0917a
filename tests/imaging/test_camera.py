"""The forward model against tabulated radiometry and against each of its own errors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from pytest import approx, raises

from thermalkit.errors import OutOfDomain
from thermalkit.imaging.camera import Camera, apparent_frame
from thermalkit.physics.radiation import frame_surface_temperature_degc

PERFECT = Camera(rows=60, columns=80, field_of_view_deg=(25.0, 19.0), noise_k=0.0, blur_px=0.0, step_k=0.0)


def shown(camera, surface=15.0, emissivity=1.0, reflected=20.0, seed=0):
    return apparent_frame(camera, surface, emissivity, reflected, np.random.default_rng(seed))


@pytest.mark.parametrize(
    ("surface", "emissivity", "reflected", "apparent"),
    [
        (50.0, 0.95, 20.0, 48.672),
        (60.0, 0.60, 20.0, 45.598),
        (12.0, 0.93, 21.0, 12.659),
        (80.0, 0.10, 25.0, 31.780),
        (10.0, 0.90, -20.0, 7.441),
    ],
)
def test_a_perfect_camera_shows_the_apparent_temperature(surface, emissivity, reflected, apparent):
    """Band radiation 7.5 to 14 µm integrated independently from Planck's law, to 1 mK."""
    assert_allclose(shown(PERFECT, surface, emissivity, reflected), apparent, atol=1e-3)


def test_the_correction_undoes_the_camera():
    """Surface temperatures come back from a frame with an emissivity below one."""
    surface = np.linspace(5.0, 25.0, 60 * 80).reshape(60, 80)
    frame = shown(PERFECT, surface, 0.9, 21.0)
    assert_allclose(frame_surface_temperature_degc(frame, 0.9, 21.0), surface, atol=2e-3)


def test_a_mirror_shows_what_it_reflects():
    """At emissivity 0 only the map of reflected temperatures is seen."""
    reflected = np.full((60, 80), 20.0)
    reflected[20:40, 30:50] = 33.0
    assert_allclose(shown(PERFECT, 15.0, 0.0, reflected), reflected, atol=1e-6)


def test_optics_mix_radiation_and_keep_its_sum():
    """At the edge between 0 and 100 °C the blurred reading lies above the mean of 50 °C.

    Equal shares of 117.913 and 476.206 W/m² (7.5 to 14 µm) are 297.06 W/m²: just below 60 °C
    (298.611 W/m²).
    """
    surface = np.where(np.arange(80) < 40, 0.0, 100.0)
    frame = shown(replace(PERFECT, blur_px=3.0), surface)
    edge = 0.5 * (frame[30, 39] + frame[30, 40])
    assert 57.0 < edge < 60.0
    assert frame[30, 0] == approx(0.0, abs=1e-6)


def test_each_error_has_its_stated_size_and_place():
    """Offset everywhere, vignetting in the corners, drift from side to side."""
    base = shown(PERFECT)
    assert_allclose(shown(replace(PERFECT, offset_k=-1.5)) - base, -1.5)
    vignetting = shown(replace(PERFECT, rows=61, columns=81, vignetting_k=-0.5))
    assert vignetting[30, 40] == approx(15.0, abs=1e-6)
    assert vignetting[[0, 0, -1, -1], [0, -1, 0, -1]] == approx(14.5, abs=1e-6)
    drift = shown(replace(PERFECT, drift_k=0.4)) - base
    assert_allclose(drift[:, [0, -1]], np.full((60, 2), [-0.2, 0.2]))


def test_noise_has_its_stated_sigma_and_repeats_with_the_seed():
    """4800 pixels show sigma within 5 %; the same seed gives the same frame."""
    camera = replace(PERFECT, noise_k=0.08)
    assert shown(camera).std() == approx(0.08, rel=0.05)
    assert_array_equal(shown(camera), shown(camera))
    assert np.any(shown(camera) != shown(camera, seed=1))


def test_stuck_pixels_and_rounding_are_stored():
    """As many stuck pixels as asked for, the rest on the grid of the step."""
    frame = shown(replace(PERFECT, noise_k=0.05, dead_pixels=7, step_k=0.01))
    assert np.count_nonzero(np.abs(frame - 15.0) > 10.0) == 7
    assert_allclose(frame * 100, np.round(frame * 100), atol=1e-6)


def test_an_impossible_emissivity_is_refused():
    """A percentage is not a fraction."""
    with raises(OutOfDomain, match="emissivity"):
        shown(PERFECT, emissivity=95.0)
