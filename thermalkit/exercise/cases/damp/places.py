"""Where the place of a damp case is, where no sound stretch can be taken, and how they differ."""

from __future__ import annotations

import numpy as np

from thermalkit.exercise.cases.walls import Mask, glow_area, widened
from thermalkit.measured import FloatArray
from thermalkit.scenes import Seen
from thermalkit.scenes.scene import plane_m
from thermalkit.scenes.things import Box
from thermalkit.scenes.wet import face_of, wet_share


def area_of(picture: Seen, truth: str) -> Mask:
    """Where the place is: what stands out at least half as much as its extreme."""
    scene = picture.scene
    shown = np.isfinite(picture.true_factor)
    if truth == "bridge":
        return np.asarray((depth := _bridge_depth(picture)) >= 0.5 * depth.max())
    if truth in ("drying", "leak"):
        return np.asarray((wet_share(scene) >= 0.25) & shown)
    if truth == "warm-pipe":
        heat = scene.heats[0]
        rise = face_of(scene).rise_k(heat.power_w_m2 * heat.shape.share(*plane_m(scene)), heat.depth_m)
        return np.asarray((rise >= 0.35 * rise.max()) & shown)
    return glow_area(picture) if truth == "reflection" else np.zeros(scene.shape, dtype=np.bool_)


def unfit_of(picture: Seen, area: Mask, truth: str, boxes: list[Box]) -> Mask:
    """Where no sound stretch can be taken: the place and its surroundings, traps, things."""
    wide = widened(area, boxes)
    if truth == "bridge":
        wide |= (depth := _bridge_depth(picture)) >= 0.25 * depth.max()
    return wide


def _bridge_depth(picture: Seen) -> FloatArray:
    """How much lower the temperature factor is than that of most of the wall; 0 where things hide it."""
    factor = picture.true_factor_at_films
    return np.asarray(np.nan_to_num(np.nanquantile(factor, 0.9) - factor, nan=0.0))


def differences_k(picture: Seen, area: Mask, unfit: Mask, truth: str) -> tuple[float, ...]:
    """How much colder the place is than sound wall, at what stands out most; more than one where two do.

    Of something mirrored: what the picture shows, and nothing, which is what is true of the wall.
    """
    sound = float(picture.true_surface_degc[~unfit].mean())
    if truth == "sound":
        return (0.0,)
    if truth == "reflection":
        shown = picture.apparent_degc
        return (float(shown[~unfit].mean() - np.quantile(shown[area], 0.98)), 0.0)
    inside = picture.true_surface_degc[area]
    cold, warm = sound - float(np.quantile(inside, 0.02)), sound - float(np.quantile(inside, 0.98))
    return {"warm-pipe": (warm,), "leak": (cold, warm)}.get(truth, (cold,))
