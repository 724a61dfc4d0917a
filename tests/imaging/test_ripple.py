"""A wave written down by hand comes back from its picture: amplitude, spacing, direction, evenness."""

import numpy as np
import pytest

from thermalkit.imaging.plan import Rectified, plan_of
from thermalkit.imaging.ripple import passed_share, ripples, waves_per_px

PITCH_MM = 8.0
NOTHING = np.zeros((120, 130), dtype=bool)


def picture(amplitude_k=0.2, spacing_mm=150.0, turn_deg=30.0, noise_k=0.0, upward=False):
    """One wave on a ground that rises by 1 K from edge to edge."""
    rows, columns = np.indices(NOTHING.shape)
    step = -PITCH_MM if upward else PITCH_MM
    x, y = 500.0 + columns * PITCH_MM, 200.0 + rows * step
    along = x * np.cos(np.radians(turn_deg)) + y * np.sin(np.radians(turn_deg))
    values = 24.0 + x / (130 * PITCH_MM) + amplitude_k * np.cos(2.0 * np.pi * along / spacing_mm + 1.0)
    values = values + np.random.default_rng(3).normal(0.0, noise_k, values.shape)
    return Rectified(values=values, x_mm=500.0, y_mm=200.0, mm_per_pixel=PITCH_MM, y_step_mm=step)


@pytest.mark.parametrize("upward", [False, True])
@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 120.0])
def test_a_wave_comes_back(turn_deg, upward):
    """0.2 K at 150 mm, looked for at 145 mm, under a noise of 0.1 K."""
    found = list(ripples(picture(turn_deg=turn_deg, noise_k=0.1, upward=upward), NOTHING, 145.0))
    assert len(found) > 4
    across = np.array([np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))])
    for ripple in found:
        assert ripple.amplitude == pytest.approx(0.2, abs=0.02)
        assert ripple.spacing_mm == pytest.approx(150.0, rel=0.03)
        turned = ripple.wave_per_mm / np.linalg.norm(ripple.wave_per_mm)
        assert abs(turned @ across) == pytest.approx(1.0, abs=0.01)
        assert ripple.uneven < 0.15


def test_what_is_hidden_gives_no_window():
    """A strip through the middle leaves windows beside it alone."""
    hidden = NOTHING.copy()
    hidden[:, 60:70] = True
    places = [ripple.place_mm[0] for ripple in ripples(picture(), hidden, 150.0)]
    assert places
    assert all(abs(x - (500.0 + 65 * PITCH_MM)) > 200.0 for x in places)


def test_a_wave_that_ends_in_the_window_is_uneven():
    """As beside a bend, or at the end of a loop."""
    half = picture()
    values = half.values.copy()
    values[:, 28:] = picture(amplitude_k=0.0).values[:, 28:]
    cut = Rectified(values=values, x_mm=500.0, y_mm=200.0, mm_per_pixel=PITCH_MM, y_step_mm=PITCH_MM)
    first = next(iter(ripples(cut, NOTHING, 150.0)))
    assert first.uneven > 0.3


def test_the_wave_on_the_frame_follows_the_plan():
    """5 mm a pixel: a wave of 150 mm has 30 pixels, whichever way it runs."""
    corners = np.array([(10.0, 10.0), (10.0, 300.0), (220.0, 300.0), (220.0, 10.0), (115.0, 155.0)])
    plan = plan_of(np.c_[corners, 5.0 * corners[:, ::-1]], (240, 320))
    for turn_deg in (0.0, 60.0):
        ripple = next(iter(ripples(picture(turn_deg=turn_deg), NOTHING, 150.0)))
        assert 2.0 * np.pi / waves_per_px(plan, ripple) == pytest.approx(30.0, rel=0.02)


def test_blur_passes_what_a_gaussian_passes():
    """exp(-b² s² / 2), and the loss of linear interpolation, 1 - b²/12 on average for long waves."""
    assert passed_share(0.3, 1.0) / passed_share(0.3, 0.0) == pytest.approx(np.exp(-0.045))
    assert passed_share(0.1, 0.0) == pytest.approx(1.0 - 0.01 / 12.0, abs=1e-5)
