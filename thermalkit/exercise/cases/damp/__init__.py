"""Damp: a wall with one thing true of it, one trap of the visit and one of the picture.

Everything follows from the random numbers that are handed in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from thermalkit.exercise.cases import Redrawn
from thermalkit.exercise.cases.damp.matters import MATTERS
from thermalkit.exercise.cases.damp.misconceptions import MISCONCEPTIONS as MISCONCEPTIONS
from thermalkit.exercise.cases.damp.notes import site_files as site_files
from thermalkit.exercise.cases.damp.places import area_of, differences_k, unfit_of
from thermalkit.exercise.cases.damp.truth import is_reached as is_reached
from thermalkit.exercise.cases.damp.truth import truth_of as truth_of
from thermalkit.exercise.cases.wall_traps import BESIDE_WARM, wall_drawn
from thermalkit.exercise.cases.walls import (
    BANDS,
    FRAME,
    Mask,
    WallCase,
    hours_since_sun,
    other_room,
    within,
)
from thermalkit.exercise.difficulty import LEVELS, Band
from thermalkit.exercise.plan import ClassKeys
from thermalkit.physics.moist_air import saturation_pressure_pa, vapour_pressure_pa
from thermalkit.scenes import Options, Seen, seen

TRAPS_BY_TRUTH = {
    "bridge": ("reflection", "low-emissivity"),
    "drying": ("reflection", "low-emissivity", "warm-pipe"),
    "leak": ("reflection", "low-emissivity"),
    "warm-pipe": BESIDE_WARM,
    "reflection": BESIDE_WARM,
    "sound": BESIDE_WARM,
}
BRIDGE_HUMIDITY: dict[str, Band] = {"easy": (0.95, 1.10), "medium": (0.92, 1.05), "hard": (0.90, 1.00)}
"""True humidity at the coldest spot of a cold bridge, by difficulty."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DampCase(WallCase):
    """A wall and its drillings."""

    sample_scatter: float


def draw_case(rng: np.random.Generator, plan: ClassKeys, truth: str) -> DampCase:
    """Draw a case in which something is true.

    Raises
    ------
    Redrawn
        What was drawn lies outside the bands of the difficulty.
    """
    wall = wall_drawn(rng, plan.difficulty, MATTERS[truth], TRAPS_BY_TRUTH[truth])
    picture = seen(wall.scene, rng, Options(contact=False, emissivity=False), frame=FRAME)
    area = area_of(picture, truth)
    unfit = unfit_of(picture, area, truth, [wall.trap_box, wall.lamp_box])
    _require_depth(picture, area, unfit, truth, BANDS[plan.difficulty].depth_k)
    drawn = DampCase(
        truth=truth,
        visit_trap=wall.visit_trap,
        picture_trap=wall.picture_trap,
        picture=picture,
        other=other_room(rng, wall.scene),
        area=area,
        unfit=unfit,
        brightest=wall.lamp_box,
        accuracy_k=round(within(rng, LEVELS[plan.difficulty].accuracy_k), 1),
        hours_since_sun=hours_since_sun(rng, wall.visit_trap),
        sample_scatter=round(rng.uniform(-0.2, 0.4), 1),
    )
    return _moist_enough(rng, drawn, BRIDGE_HUMIDITY[plan.difficulty]) if truth == "bridge" else drawn


def _require_depth(picture: Seen, area: Mask, unfit: Mask, truth: str, depths_k: Band) -> None:
    """Refuse a case whose place stands out too little or too much for the difficulty."""
    if truth == "sound":
        return
    if area.sum() < 60 or np.mean(~unfit) < 0.25:
        raise Redrawn
    found_k = differences_k(picture, area, unfit, truth)
    if truth == "leak" and found_k[0] < 0.5 * depths_k[0]:
        raise Redrawn
    depth_k = max(abs(value) for value in found_k)
    if not depths_k[0] <= depth_k <= depths_k[1]:
        raise Redrawn


def _moist_enough(rng: np.random.Generator, drawn: DampCase, wanted_humidity: Band) -> DampCase:
    """A bridge whose room is so moist that its coldest spot reaches a humidity of the band.

    Raises
    ------
    Redrawn
        No room is as dry or as moist as that.
    """
    scene = drawn.picture.scene
    wanted = within(rng, wanted_humidity)
    coldest = float(np.quantile(drawn.picture.true_surface_degc[drawn.area], 0.02))
    humidity = (
        wanted
        * float(saturation_pressure_pa(coldest))
        / float(vapour_pressure_pa(scene.climate.indoor_degc, 1.0))
    )
    if not 0.40 <= humidity <= 0.85:
        raise Redrawn
    share = humidity / scene.climate.indoor_humidity
    climate = replace(scene.climate, indoor_humidity=humidity)
    read = min(99.0, round(100.0 * (humidity + scene.errors.humidity), 1))
    written = replace(drawn.picture.written, relative_humidity_percent=read)
    picture = replace(
        drawn.picture,
        scene=replace(scene, climate=climate),
        true_humidity=drawn.picture.true_humidity * share,
        written=written,
    )
    return replace(drawn, picture=picture)
