"""Where the place of a case of the envelope is, where no sound stretch can be taken, and how they differ."""

from __future__ import annotations

import numpy as np

from thermalkit.exercise.cases.walls import Mask, glow_area, widened
from thermalkit.measured import FloatArray
from thermalkit.scenes import Seen
from thermalkit.scenes.things import Box

COLD = ("bridge", "missing-insulation", "air-leak")
_HALF, _TOUCHED = 0.5, 0.25  # of the deepest: belongs to the place, is no sound wall any more
_SPOTS = 0.02


def area_of(picture: Seen, truth: str) -> Mask:
    """Where the place is: what is at least half as much colder as its coldest."""
    if truth in COLD:
        return np.asarray((depth := _depth_k(picture)) >= _HALF * depth.max())
    return glow_area(picture) if truth == "reflection" else np.zeros(picture.scene.shape, dtype=np.bool_)


def unfit_of(picture: Seen, area: Mask, truth: str, boxes: list[Box]) -> Mask:
    """Where no sound stretch can be taken: the place and its surroundings, traps, things."""
    wide = widened(area, boxes)
    if truth in COLD:
        wide |= (depth := _depth_k(picture)) >= _TOUCHED * depth.max()
    return wide


def _depth_k(picture: Seen) -> FloatArray:
    """How much colder the wall is than most of it; 0 where things hide it."""
    degc = np.where(np.isfinite(picture.true_factor), picture.true_surface_degc, np.nan)
    return np.asarray(np.nan_to_num(np.nanquantile(degc, 0.9) - degc, nan=0.0))


def differences_k(picture: Seen, area: Mask, unfit: Mask, truth: str) -> tuple[float, ...]:
    """How much colder the place is than sound wall; of something mirrored what is shown, and nothing."""
    if truth == "sound":
        return (0.0,)
    if truth == "reflection":
        shown = picture.apparent_degc
        return (float(shown[~unfit].mean() - np.quantile(shown[area], 1.0 - _SPOTS)), 0.0)
    sound = float(picture.true_surface_degc[~unfit].mean())
    return (sound - float(np.quantile(picture.true_surface_degc[area], _SPOTS)),)
