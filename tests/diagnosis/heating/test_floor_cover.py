"""Screed over pipes from the ripple of settled floors: intervals hold the truth, doubt gives no number.

`THERMALKIT_SCENES` asks for more floors than the ordinary run draws. The camera is off by up to its accuracy,
as is the hygrometer; film and insulation differ from floor to floor as real ones do. Truth is that of the
scenes, whose pipes lie in a slab solved in time.
"""

from __future__ import annotations

import os
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from scipy.stats import binom

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.heating.floor.cover import cover_findings, told_by_ripple
from thermalkit.diagnosis.heating.floor.looked import floors, kept_lines
from thermalkit.diagnosis.proposals import written_marks
from thermalkit.imaging.mark import Mark
from thermalkit.measured import Draws, measured
from thermalkit.scenes.floor_sites import write_floor
from thermalkit.scenes.floors import in_frame, is_inside, seen_floor
from thermalkit.scenes.random_floors import STEADY_MINUTES, random_floor
from thermalkit.site.folder import read_site

SCENES = int(os.environ.get("THERMALKIT_SCENES", "6"))
RADIUS_MM = 8.0
TELLS = {"seed": 0, "spacing_mm": 150.0, "is_plain": True}  # a tiled floor whose ripple tells its cover


def case_of(seed, minutes=STEADY_MINUTES, keys=None, **about):
    """A floor drawn at random, and the case of its site without a question asked."""
    rng = np.random.default_rng([2026, 58, seed])
    scene = random_floor(rng, minutes=minutes, **about)
    camera = replace(scene.camera, offset_k=rng.uniform(-2.0, 2.0))
    slab = replace(
        scene.slab, top_w_m2k=rng.uniform(9.5, 12.0), bottom_w_m2k=1.0 / (rng.uniform(0.75, 3.0) + 0.17)
    )
    scene = replace(scene, camera=camera, slab=slab)
    seen = seen_floor(scene, rng)
    air, mirrored = scene.room_degc + rng.uniform(-0.5, 0.5, 2)
    read = {
        "rooms": [{"air_temperature_degc": round(float(air), 1)}],
        "frames": [{"reflected_temperature_degc": round(float(mirrored) + 0.5, 1)}],
        "floor_loops": [keys or {}],
    }
    with TemporaryDirectory() as folder:
        write_floor(Path(folder), [seen], about=read, marks=True)
        case = Case(site=read_site(Path(folder)), draws=Draws(2000))
    case.decided["frames"] = tuple(case.site.frames)
    (name,) = case.site.frames
    case.decided["covered"] = tuple(
        Mark(**{**mark, "points": tuple(map(tuple, mark["points"]))})
        for mark in written_marks(case, name, "covered")
    )
    return scene, case


def told(case):
    """What the one floor of a case tells, where its spacing was found."""
    (floor,) = floors(case)
    around = kept_lines(case, floor)
    return told_by_ripple(case, floor, around)


def water_degc(scene):
    """Mean water of the warm loops where the picture shows them."""
    found = []
    for pipe in scene.pipes:
        if pipe.role == "loop" and pipe.is_warm:
            cooled = scene.flow_excess_k - scene.drop_k * np.linspace(0.0, 1.0, len(pipe.line_mm))
            pixels = in_frame(scene, pipe.line_mm)
            is_seen = np.all((pixels >= 0.0) & (pixels <= (scene.camera.rows, scene.camera.columns)), axis=1)
            found.append((pipe.share * cooled)[is_seen & ~is_inside(pipe.line_mm, scene.covered)])
    return scene.room_degc + float(np.concatenate(found).mean())


@cache
def results(first=0, last=SCENES):
    """Cover and water of floors that tell them, each as low, true, high."""
    rows = []
    for seed in range(first, last):
        scene, case = case_of(seed)
        found = told(case)
        if found is not None:
            cover = measured(found.cover_mm, "mm")
            water = measured(found.water_degc, "degC")
            true_mm = 1000.0 * (scene.slab.thickness_m - scene.slab.pipe_height_m) - RADIUS_MM
            rows.append((cover.low, true_mm, cover.high, water.low, water_degc(scene), water.high))
    return np.array(rows)


@pytest.mark.slow
def test_the_interval_of_the_cover_holds_the_truth():
    """92.5 to 98.5 %, as far as the number of floors goes, and less wide than any screed's range."""
    low, true, high = results()[:, :3].T
    held = int(np.sum((low <= true) & (true <= high)))
    print(SCENES, "floors,", len(true), "told,", held, "held, mean width", np.mean(high - low))
    assert len(true) >= SCENES / 6
    assert held >= binom.ppf(0.01, len(true), 0.925)
    assert held <= binom.ppf(0.99, len(true), 0.985)
    assert np.max(high - low) < 35.0


@pytest.mark.slow
def test_the_interval_of_the_water_holds_the_truth():
    """At least 92.5 %, as far as the number of floors goes."""
    low, true, high = results()[:, 3:].T
    held = int(np.sum((low <= true) & (true <= high)))
    print(
        len(true),
        "told,",
        held,
        "held, mean width",
        np.mean(high - low),
        "off",
        np.mean((low + high) / 2 - true),
    )
    assert held >= binom.ppf(0.01, len(true), 0.925)


def findings(case):
    """What the client reads of the cover."""
    (floor,) = floors(case)
    return list(cover_findings(case, floor, kept_lines(case, floor)))


def test_a_shallow_settled_floor_tells_its_cover():
    """Number, interval, and that it allows no depth of drilling."""
    _, case = case_of(**TELLS)
    (finding,) = findings(case)
    assert finding.statement.id == "heating.floor.cover"
    assert [q.term.id for q in finding.quantities] == ["pipe-cover", "floor-water", "floor-ripple"]
    assert "heating.caution.not-a-depth" in [caution.id for caution in finding.cautions]
    assert finding.verdict is None


def test_what_covers_the_floor_has_to_be_known_for_a_number():
    """The same floor under something else: not identifiable, and no number."""
    _, case = case_of(**TELLS, keys={"covering": "other"})
    (finding,) = findings(case)
    assert finding.statement.id == "heating.floor.cover-not-told"
    assert finding.quantities == ()


def test_wide_spacing_does_not_tell_the_cover():
    """At 300 mm the ripple falls too slowly with depth to tell it from a camera that is off."""
    for seed in range(2):
        _, case = case_of(seed, spacing_mm=300.0, is_plain=True)
        assert [f.quantities for f in findings(case)] == [()]


def test_a_floor_that_warms_up_or_whose_cover_is_stated_is_not_asked():
    """Its ripple is larger than that of a settled floor; what is known needs no picture."""
    _, warming = case_of(**TELLS, minutes=60.0)
    _, half_settled = case_of(**TELLS, minutes=10.0 * 60.0)
    _, stated = case_of(**TELLS, keys={"cover_mm": 45.0})
    assert [findings(case) for case in (warming, half_settled, stated)] == [[], [], []]
