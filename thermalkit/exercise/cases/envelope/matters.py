"""What is true of a case of the envelope: the scene with it, and boxes to be kept clear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.exercise.cases.wall_matters import cooled, untouched, with_bridge, with_reflection
from thermalkit.exercise.cases.walls import BANDS, box_m, even_film, size_m, within
from thermalkit.scenes import FlatWall, Run, Scene, Spot
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.things import Box
from thermalkit.scenes.walls import Band as Strip

JET, SPREAD = "slit", "cold air"
"""Heats of a leak: what grows when a fan draws more air through it."""


def _missing_insulation(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """A timber-framed wall with nothing but air in one field between its posts."""
    width_m = rng.uniform(0.38, 0.48)
    insulation = layer("insulation", rng.uniform(0.12, 0.16), 0.035, 0.05)
    layers = (
        layer("plasterboard", 0.0125, 0.25, 0.9),
        insulation,
        layer("render board", 0.012, 0.30, 1.0),
        layer("render", 0.010, 0.87, 1.6),
    )
    resistance_m2k_w = rng.uniform(0.05, 0.18)  # moving to still air, ISO 6946
    thickness_m = insulation.thickness_m
    void = layer("void", thickness_m, thickness_m / resistance_m2k_w, 0.0012).material
    strip = Strip(name="missing insulation", material=void, width_m=float(width_m), first=1, last=1)
    wall = FlatWall(layers=layers, film=even_film(rng), sheltered_at_m=0.0, band=strip)
    origin = float(rng.choice((0.32, 0.68)) + rng.uniform(-0.03, 0.03))
    rows, columns = scene.shape
    half = 0.5 * width_m / size_m(scene)[1] + 0.06
    box = (0, rows, max(0, round((origin - half) * columns)), min(columns, round((origin + half) * columns)))
    return replace(scene, wall=wall, origin=origin), [box]


def _air_leak(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """A joint through which outdoor air comes in and spreads along the wall below it."""
    height_m, width_m = size_m(scene)
    x = float(rng.choice((0.3, 0.7)) * width_m)
    y = float(rng.uniform(0.62, 0.74) * height_m)
    half_m = float(rng.uniform(0.06, 0.10) * width_m)
    joint = Run(points_m=((x - half_m, y), (x + half_m, y)), width_m=0.03, softness_m=0.01)
    reach_m = float(rng.uniform(0.13, 0.17) * height_m)
    plume = Spot(
        centre_m=(x, y - 0.9 * reach_m),
        radius_m=0.8 * half_m,
        stretch=reach_m / (0.8 * half_m),
        raggedness=0.5,
        softness_m=0.04,
        seed=int(rng.integers(1 << 30)),
    )
    depth_k = within(rng, BANDS[difficulty].depth_k)
    scene = cooled(scene, joint, JET, 0.75 * depth_k)
    scene = cooled(scene, plume, SPREAD, 0.45 * depth_k)
    side_m = 1.8 * half_m + 0.06
    return scene, [box_m(scene, x - side_m, x + side_m, y - 2.2 * reach_m, y + 0.1)]


def under_pressure(rng: np.random.Generator, scene: Scene) -> Scene:
    """The same view while a fan draws air out of the house: only what leaks gets colder."""
    more = float(rng.uniform(1.5, 1.8))
    heats = tuple(
        replace(heat, power_w_m2=more * heat.power_w_m2) if heat.name in (JET, SPREAD) else heat
        for heat in scene.heats
    )
    return replace(scene, heats=heats)


MATTERS = {
    "bridge": with_bridge,
    "missing-insulation": _missing_insulation,
    "air-leak": _air_leak,
    "reflection": with_reflection,
    "sound": untouched,
}
