"""True heat flows of an invented wall, and several walls of one house on one day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.scenes.climate import random_climate
from thermalkit.scenes.picture import Options, Seen, seen
from thermalkit.scenes.scene import Scene, random_scene
from thermalkit.scenes.walls import random_patch


def true_flow_w_m2k(picture: Seen, mark: Mark) -> float:
    """Steady heat flow into the surface at a mark per kelvin between indoors and outdoors, its mean.

    With the films really there: what flows through a film flows into the wall.
    """
    mask = mark_mask(mark, picture.scene.shape) & np.isfinite(picture.true_factor_at_films)
    flow = (1.0 - picture.true_factor_at_films[mask]) / picture.true_film_m2k_w[mask]
    return float(flow.mean())


def true_extra_w_k(picture: Seen) -> float:
    """How much more flows through the suspect mark of a flat wall than through as much of the sound one."""
    scene = picture.scene
    side_m = float(pixel_size_m(scene.camera.field_of_view_deg[0], scene.camera.columns, scene.distance_m))
    area_m2 = side_m**2 * np.count_nonzero(mark_mask(picture.suspect, scene.shape))
    extra = true_flow_w_m2k(picture, picture.suspect) - true_flow_w_m2k(picture, picture.sound)
    return float(extra * area_m2)


def random_house(rng: np.random.Generator, walls: int = 3, *, contact: bool = True) -> list[Seen]:
    """Flat walls with a cold place each, seen on one walk: one day, one camera, one set of instruments."""
    climate = random_climate(rng)
    first = random_scene(rng, random_patch(rng), climate)
    scenes = [first, *(_same_walk(rng, first) for _ in range(walls - 1))]
    return [
        seen(scene, rng, Options(contact=contact), frame=f"wall-{number}")
        for number, scene in enumerate(scenes, start=1)
    ]


def _same_walk(rng: np.random.Generator, first: Scene) -> Scene:
    other = random_scene(rng, random_patch(rng), first.climate)
    camera = replace(first.camera, offset_k=other.camera.offset_k, drift_k=other.camera.drift_k)
    return replace(other, camera=camera, errors=first.errors)
