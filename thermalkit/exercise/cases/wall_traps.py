"""What misleads in the picture of a wall, and the lamp that is brightest in all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from thermalkit.exercise.cases import Redrawn
from thermalkit.exercise.cases.wall_matters import heated
from thermalkit.exercise.cases.walls import VISIT_TRAPS, plain_scene, size_m
from thermalkit.scenes import Run, Scene, Spot, Stain
from thermalkit.scenes.things import Box, Thing

BESIDE_WARM = ("low-emissivity", "stain-not-cold")
"""Traps of a case in which a second warm spot could be meant as well."""


Matter = Callable[[np.random.Generator, Scene, str], tuple[Scene, list[Box]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnWall:
    """A wall with what is true of it and what misleads, before it is seen."""

    scene: Scene
    visit_trap: str
    picture_trap: str
    trap_box: Box
    lamp_box: Box


def wall_drawn(
    rng: np.random.Generator, difficulty: str, matter: Matter, picture_traps: Sequence[str]
) -> DrawnWall:
    """A wall with its matter, one trap of the visit, one of the picture, and a lamp.

    Raises
    ------
    Redrawn
        There is no room for all of them.
    """
    visit_trap = str(rng.choice(VISIT_TRAPS))
    picture_trap = str(rng.choice(picture_traps))
    scene = plain_scene(rng, difficulty, small=visit_trap == "small-difference")
    scene, keep_out = matter(rng, scene, difficulty)
    scene, trap_box = with_trap(rng, scene, picture_trap, keep_out)
    lamp = lamp_in(rng, scene, [*keep_out, trap_box])
    return DrawnWall(
        scene=replace(scene, things=(*(scene.things or ()), lamp)),
        visit_trap=visit_trap,
        picture_trap=picture_trap,
        trap_box=trap_box,
        lamp_box=lamp.box,
    )


def with_trap(rng: np.random.Generator, scene: Scene, trap: str, taken: list[Box]) -> tuple[Scene, Box]:
    """The scene with the trap in it, and its box."""
    things = scene.things or ()
    if trap == "reflection":
        box = free_box(rng, scene.shape, taken, 0.34, 0.2)
        thing = Thing(name="mirrored person", box=box, mirrored_k=rng.uniform(12.0, 16.0), hides=False)
        return replace(scene, things=(*things, thing)), box
    if trap == "low-emissivity":
        box = free_box(rng, scene.shape, taken, 0.14, 0.1)
        thing = Thing(name="metal plate", box=box, emissivity=rng.uniform(0.1, 0.25))
        return replace(scene, things=(*things, thing)), box
    box = free_box(rng, scene.shape, taken, 0.32, 0.22)
    x, y, radius = _middle_m(scene, box)
    if trap == "stain-not-cold":
        shape = Spot(centre_m=(x, y), radius_m=radius, raggedness=0.25, seed=int(rng.integers(1 << 30)))
        return replace(scene, stains=(*scene.stains, Stain(name="old stain", shape=shape, wetness=0.0))), box
    run = Run(points_m=((x, y + radius), (x, y - radius)), width_m=0.022)
    return heated(scene, run, "pipe beside", rng.uniform(1.0, 1.5)), box


def _middle_m(scene: Scene, box: Box) -> tuple[float, float, float]:
    """Middle of a box in metres across and up, and the radius that fits in it."""
    rows, columns = scene.shape
    side_m = size_m(scene)[1] / columns
    x = 0.5 * (box[2] + box[3]) * side_m
    y = (rows - 0.5 * (box[0] + box[1])) * side_m
    return x, y, 0.45 * side_m * min(box[1] - box[0], box[3] - box[2])


def lamp_in(rng: np.random.Generator, scene: Scene, taken: list[Box]) -> Thing:
    """What is brightest in every picture, and has nothing to do with the question."""
    box = free_box(rng, scene.shape, taken, 0.1, 0.1)
    return Thing(name="lamp", box=box, share=1.0, excess_k=rng.uniform(12.0, 20.0))


def free_box(
    rng: np.random.Generator, shape: tuple[int, int], taken: list[Box], high: float, wide: float
) -> Box:
    """A box that touches none of those taken, sized as shares of the picture."""
    rows, columns = shape
    height, width = round(high * rows), round(wide * columns)
    for _ in range(60):
        top, left = int(rng.integers(3, rows - height - 3)), int(rng.integers(3, columns - width - 3))
        box = (top, top + height, left, left + width)
        if not any(_touch(box, other) for other in taken):
            return box
    raise Redrawn


def _touch(one: Box, other: Box, gap: int = 4) -> bool:
    return (
        one[0] < other[1] + gap
        and other[0] < one[1] + gap
        and one[2] < other[3] + gap
        and other[2] < one[3] + gap
    )
