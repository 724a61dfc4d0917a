"""Insulation as advised, built into the scene's own wall and solved again, does what it was advised for."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.damp.cures.remedy import remedies
from thermalkit.diagnosis.damp.cures.situations import limit_situation
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.places import place
from thermalkit.physics.envelope import required_factor
from thermalkit.physics.moist_air import vapour_pressure_pa
from thermalkit.scenes import Options, random_scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.walls import FlatWall, section
from thermalkit.site.folder import read_site

SCENES = 40
LIMITS = limit_sets()["DE-dwelling"]
ALONG_M = np.linspace(-1.5, 1.5, 301)

pytestmark = pytest.mark.slow


@cache
def advice(seed):
    """Wall, its true factor at the mark, and the insulation advised there in m²K/W."""
    rng = np.random.default_rng([515, seed])
    picture = seen(random_scene(rng), rng, Options(contact=True))
    with tempfile.TemporaryDirectory() as folder:
        write_site(Path(folder) / "site", [picture])
        site = read_site(Path(folder) / "site")
    case = Case(site=site)
    situation = limit_situation(case, place(case, picture.suspect, LIMITS), LIMITS)
    insulation = remedies(situation)[2]
    assert insulation.reach in ("none", "enough")
    return picture.scene.wall, truth_at(picture, picture.suspect).factor, insulation.planned


def insulated(wall, added_m2k_w, side):
    """The same wall with a board all over it, on the room's side or outdoors."""
    board = layer("board", 0.04 * added_m2k_w, 0.04, 0.05)
    layers = (board, *wall.layers) if side == "inside" else (*wall.layers, board)
    moved = side == "inside" and isinstance(wall, FlatWall) and wall.band is not None
    if moved:
        band = replace(wall.band, first=wall.band.first + 1, last=wall.band.last + 1)
        return replace(wall, layers=layers, band=band)
    return replace(wall, layers=layers)


def coldest_factor(wall):
    return float(np.min(section(wall, ALONG_M).factor))


@pytest.mark.parametrize("side", ["outside", "inside"])
def test_advised_insulation_meets_the_criterion(side):
    """At least nine in ten of forty walls, of those that lay below it and of all."""
    pressure = vapour_pressure_pa(LIMITS.indoor_degc, LIMITS.indoor_humidity)
    needed = float(required_factor(LIMITS.indoor_degc, LIMITS.outdoor_degc, pressure))
    needed = max(needed, LIMITS.factor)
    before, met = [], []
    for seed in range(SCENES):
        wall, true_factor, added = advice(seed)
        before.append(true_factor >= needed)
        after = coldest_factor(insulated(wall, added, side)) if added > 0.0 else true_factor
        met.append(after >= needed)
    poor = np.logical_not(before)
    assert poor.sum() >= 12
    assert np.mean(np.array(met)[poor]) >= 0.9
    assert np.mean(met) >= 0.9


def test_nothing_is_advised_for_many_walls_that_need_nothing():
    """Walls well above the criterion are mostly left alone."""
    sound = [added for _, factor, added in map(advice, range(SCENES)) if factor >= 0.85]
    assert len(sound) >= 8
    assert np.mean(np.array(sound) == 0.0) >= 0.7


def test_advice_is_not_lavish():
    """Half of the poor walls get at most three times what their own section would have needed."""
    lavish = []
    for wall, factor, added in map(advice, range(SCENES)):
        if factor < 0.65:
            steps = np.arange(0.05, 3.0, 0.05)
            least = next(r for r in steps if coldest_factor(insulated(wall, float(r), "outside")) >= 0.705)
            lavish.append(added / least)
    assert np.median(lavish) <= 3.0
