"""The scene with sliders: each cause moves what it moves in nature, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from thermalkit.workbook.demonstrator import _SLIDERS, INSULATION_MM, open_demonstrator, shown

USUAL = {name: value for name, (value, *_) in _SLIDERS.items()}


def with_(**changed):
    return shown(**{**USUAL, **changed})


@pytest.mark.parametrize("changed", [{"emissivity": 0.2}, {"reflected": 40.0}])
def test_what_the_camera_shows_is_not_the_wall(changed):
    """Emissivity and what is mirrored move the picture; wall and air stay."""
    before, after = with_(), with_(**changed)
    assert np.array_equal(before.surface_degc, after.surface_degc)
    assert before.coldest_humidity == after.coldest_humidity
    assert np.abs(before.apparent_degc - after.apparent_degc).max() > 1.0


@pytest.mark.parametrize("changed", [{"moisture": 4.0}, {"ventilation": 0.2}])
def test_more_water_or_less_air_is_more_humid_at_the_wall(changed):
    """The wall keeps its temperature."""
    before, after = with_(), with_(**changed)
    assert np.array_equal(before.surface_degc, after.surface_degc)
    assert after.coldest_humidity > before.coldest_humidity
    assert after.critical_degc > before.critical_degc


def test_insulation_warms_the_post():
    """Thicker is warmer at every step, between steps too."""
    coldest = [with_(insulation=mm).coldest_degc for mm in (*INSULATION_MM, 100.0)]
    assert coldest[:-1] == sorted(coldest[:-1])
    assert coldest[-3] < coldest[-1] < coldest[-2]


def test_a_perfect_mirror_shows_what_it_mirrors():
    """At the lowest emissivity the picture lies near the reflected temperature."""
    found = with_(emissivity=0.10, reflected=30.0)
    assert np.abs(found.apparent_degc - 30.0).max() < 3.0


def test_a_flow_as_warm_as_the_room_gives_nothing():
    cold, hot = with_(flow=20.0), with_(flow=60.0)
    assert hot.surface_degc.max() > cold.surface_degc.max() + 1.5
    assert hot.coldest_degc >= cold.coldest_degc


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_slider_redraws_picture_and_numbers(language):
    bench = open_demonstrator(language=language)
    frame, told = bench.picture.frame, bench.told.value
    assert bench.picture.lines
    bench.sliders["insulation"].value = 80.0
    assert bench.picture.frame != frame
    assert bench.told.value != told
    assert repr(bench) == "Demonstrator()"
