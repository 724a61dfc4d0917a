"""What may be true of a wall in several kinds of cases: the scene with it, and boxes to be kept clear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.exercise.cases.walls import BANDS, even_film, within
from thermalkit.scenes import FlatWall, Heat, OuterCorner, Run, Scene, Spot
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.scene import plane_m
from thermalkit.scenes.things import Box, Thing
from thermalkit.scenes.walls import Band as Strip
from thermalkit.scenes.walls import Film
from thermalkit.scenes.wet import face_of


def with_bridge(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """A corner of solid brick, a concrete post, or a lintel; moist enough to reach the humidity wanted."""
    rows, columns = scene.shape
    kind = rng.choice(("corner", "post", "lintel"))
    if kind == "corner":
        brick = layer("brick", rng.uniform(0.24, 0.36), rng.uniform(0.55, 0.8), 1.4)
        film = Film(open_m2k_w=0.13, sheltered_m2k_w=rng.uniform(0.18, 0.25), reach_m=0.2)
        wall: OuterCorner | FlatWall = OuterCorner(
            layers=(layer("plaster", 0.015, 0.57, 1.1), brick), film=film
        )
        scene = replace(
            scene,
            wall=wall,
            origin=rng.choice((0.3, 0.7)) + rng.uniform(-0.04, 0.04),
            angle_deg=rng.uniform(40, 50),
        )
    else:
        masonry = layer("masonry", rng.uniform(0.24, 0.30), rng.uniform(0.10, 0.16), 1.0)
        layers = (layer("plaster", 0.015, 0.57, 1.1), masonry, layer("render", 0.02, 0.87, 1.6))
        strip = Strip(name="concrete", material=CONCRETE, width_m=rng.uniform(0.16, 0.28), first=1, last=1)
        is_level = bool(kind == "lintel")
        wall = FlatWall(layers=layers, film=even_film(rng), sheltered_at_m=0.0, band=strip, is_level=is_level)
        at = 0.25 if is_level else rng.choice((0.3, 0.7))
        scene = replace(scene, wall=wall, origin=at + rng.uniform(-0.03, 0.03))
    half = 0.16
    at = scene.origin
    if kind == "lintel":
        return scene, [(round((at - half) * rows), round((at + half) * rows), 0, columns)]
    return scene, [(0, rows, round((at - half) * columns), round((at + half) * columns))]


def with_reflection(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """The scene with something warm that the paint mirrors, and its box."""
    rows, columns = scene.shape
    top, left = rng.uniform(0.25, 0.4) * rows, rng.choice((0.12, 0.55)) * columns
    box = (round(top), round(top + 0.45 * rows), round(left), round(left + 0.28 * columns))
    thing = Thing(name="mirrored", box=box, mirrored_k=within(rng, BANDS[difficulty].mirrored_k), hides=False)
    return replace(scene, things=(thing,)), [box]


def untouched(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """The scene in which nothing is wrong."""
    return scene, []


def heated(scene: Scene, shape: Run | Spot, name: str, rise_k: float) -> Scene:
    """The scene with heat behind the plaster that warms the surface by as much at most."""
    return _with_heat(scene, shape, name, rise_k, depth_m=0.02)


def cooled(scene: Scene, shape: Run | Spot, name: str, drop_k: float) -> Scene:
    """The scene with cold air along the surface that cools it by as much at most."""
    return _with_heat(scene, shape, name, -drop_k, depth_m=0.0)


def _with_heat(scene: Scene, shape: Run | Spot, name: str, rise_k: float, depth_m: float) -> Scene:
    unit = face_of(scene).rise_k(shape.share(*plane_m(scene)), depth_m)
    heat = Heat(name=name, shape=shape, power_w_m2=rise_k / float(unit.max()), depth_m=depth_m)
    return replace(scene, heats=(*scene.heats, heat))
