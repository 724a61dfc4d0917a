"""What is true of a damp case: the scene with it, and boxes that have to stay clear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.exercise.cases.wall_matters import heated, untouched, with_bridge, with_reflection
from thermalkit.exercise.cases.walls import BANDS, box_m, size_m, within
from thermalkit.scenes import Run, Scene, Spot, Stain
from thermalkit.scenes.things import Box


def _wet_patch(rng: np.random.Generator, scene: Scene) -> tuple[tuple[float, float], float]:
    """Centre and radius of a patch on one side of the picture, in metres."""
    height_m, width_m = size_m(scene)
    centre = (rng.choice((0.3, 0.7)) * width_m, rng.uniform(0.35, 0.65) * height_m)
    return (float(centre[0]), float(centre[1])), float(rng.uniform(0.13, 0.18) * width_m)


def _drying(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    (x, y), radius = _wet_patch(rng, scene)
    spot = Spot(
        centre_m=(x, y),
        radius_m=radius,
        stretch=float(rng.uniform(0.8, 1.2)),
        raggedness=0.3,
        softness_m=0.03,
        seed=int(rng.integers(1 << 30)),
    )
    stain = Stain(name="wet", shape=spot, wetness=float(rng.uniform(0.35, 1.0)))
    return replace(scene, stains=(stain,)), [_round_box(scene, x, y, 1.5 * radius)]


def _round_box(scene: Scene, x: float, y: float, reach: float) -> Box:
    return box_m(scene, x - reach, x + reach, y - reach, y + reach)


def _pipe(rng: np.random.Generator, scene: Scene, x: float) -> tuple[Run, list[Box]]:
    """A pipe from the upper edge down and then across, and the boxes it takes."""
    height_m, width_m = size_m(scene)
    turn_m = rng.uniform(0.3, 0.6) * height_m
    across = 1.0 if x < 0.5 * width_m else -1.0
    end_m = x - across * min(rng.uniform(0.1, 0.2) * width_m, 0.22 * width_m)
    run = Run(points_m=((x, height_m), (x, float(turn_m)), (float(end_m), float(turn_m))), width_m=0.022)
    reach = 0.09 * width_m
    left, right = sorted((x, float(end_m)))
    return run, [
        box_m(scene, x - reach, x + reach, turn_m - reach, height_m),
        box_m(scene, left - reach, right + reach, turn_m - reach, turn_m + reach),
    ]


def _warm_pipe(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    _, width_m = size_m(scene)
    run, boxes = _pipe(rng, scene, float(rng.choice((0.3, 0.7)) * width_m))
    return heated(scene, run, "pipe", within(rng, BANDS[difficulty].depth_k)), boxes


def _leak(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """A pipe, a warm bulge where it weeps, and a wet patch round it that dries and is cold."""
    scene, boxes = _drying(rng, scene, difficulty)
    scene = replace(scene, stains=(replace(scene.stains[0], wetness=1.0),))
    x, y = scene.stains[0].shape.centre_m  # type: ignore[union-attr]
    radius = scene.stains[0].shape.radius_m  # type: ignore[union-attr]
    height_m, _ = size_m(scene)
    run = Run(points_m=((x, height_m), (x, y)), width_m=0.022)
    bulge = Spot(centre_m=(x, y), radius_m=0.3 * radius, stretch=1.2, softness_m=0.02)
    scene = heated(scene, run, "pipe", rng.uniform(2.0, 3.0))
    scene = heated(scene, bulge, "warm water", rng.uniform(4.5, 6.0))
    reach = 0.25 * radius + 0.03
    return scene, [*boxes, box_m(scene, x - reach, x + reach, y, height_m)]


MATTERS = {
    "bridge": with_bridge,
    "drying": _drying,
    "leak": _leak,
    "warm-pipe": _warm_pipe,
    "reflection": with_reflection,
    "sound": untouched,
}
