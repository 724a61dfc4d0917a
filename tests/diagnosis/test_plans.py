"""Points of known position in the site file become a plan, checked by what is written of the camera."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from thermalkit.diagnosis.plans import plan_on
from thermalkit.errors import ReadingError
from thermalkit.imaging.plan import distance
from thermalkit.site import read_site

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"
# Square on at 2.1 m and 42 degrees across 320 columns: 2 * 2100 * tan(21 deg) / 320 = 5.04 mm a pixel.
POINTS = "[[20, 20, 0, 0], [20, 220, 1008, 0], [170, 220, 1008, 756], [170, 20, 0, 756]]"


@pytest.fixture
def planned(tmp_path):
    def written(points, taped="[]"):
        folder = tmp_path / "site"
        shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("annex", "record"), dirs_exist_ok=True)
        with (folder / "site.toml").open("a", encoding="utf-8") as file:
            file.write(f'\n[[plans]]\nframe = "corner"\npoints = {points}\ntaped = {taped}\n')
        return read_site(folder)

    return written


def test_a_plan_agrees_with_the_camera_of_the_visit(planned):
    """Diagonal of 1008 by 756 mm: 1260 by Pythagoras."""
    plan = plan_on(planned(POINTS), "corner")
    assert plan.is_checked
    found = distance(plan, (20, 20), (170, 220))
    assert found.low < 1260.0 < found.high
    assert found.value == pytest.approx(1260.0, abs=5.0)


def test_a_wrong_taped_distance_unchecks_it(planned):
    plan = plan_on(planned(POINTS, "[[1, 3, 1200]]"), "corner")
    assert not plan.is_checked


def test_a_frame_without_points_has_no_plan(planned):
    assert plan_on(planned(POINTS), "plain-wall") is None


def test_three_points_are_refused_at_the_door(planned):
    with pytest.raises(ReadingError, match="plans"):
        planned("[[20, 20, 0, 0], [20, 220, 1008, 0], [170, 220, 1008, 756]]")
