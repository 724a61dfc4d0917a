"""The envelope: a wall with one thing true of it, seen without and with a fan that draws air out.

Everything follows from the random numbers that are handed in.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.exercise.cases import Redrawn
from thermalkit.exercise.cases.envelope.matters import MATTERS, under_pressure
from thermalkit.exercise.cases.envelope.misconceptions import MISCONCEPTIONS as MISCONCEPTIONS
from thermalkit.exercise.cases.envelope.places import area_of, differences_k, unfit_of
from thermalkit.exercise.cases.envelope.truth import FAN_FRAME
from thermalkit.exercise.cases.envelope.truth import is_reached as is_reached
from thermalkit.exercise.cases.envelope.truth import truth_of as truth_of
from thermalkit.exercise.cases.wall_notes import wall_files
from thermalkit.exercise.cases.wall_traps import BESIDE_WARM, wall_drawn
from thermalkit.exercise.cases.walls import (
    BANDS,
    FRAME,
    WallCase,
    hours_since_sun,
    other_room,
    within,
)
from thermalkit.exercise.difficulty import LEVELS
from thermalkit.exercise.plan import ClassKeys
from thermalkit.scenes import Options, Seen, seen

_BESIDE_COLD = ("reflection", "low-emissivity")
TRAPS_BY_TRUTH = {
    "bridge": _BESIDE_COLD,
    "missing-insulation": _BESIDE_COLD,
    "air-leak": (*_BESIDE_COLD, "warm-pipe"),
    "reflection": BESIDE_WARM,
    "sound": BESIDE_WARM,
}
_WRITTEN = Options(contact=False, emissivity=False)
_LEAST_PX, _LEAST_SOUND = 60, 0.25
_PRESSURE_PA = (-55.0, -45.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnvelopeCase(WallCase):
    """A wall, and the same view with a fan running."""

    fan: Seen
    pressure_pa: float


def draw_case(rng: np.random.Generator, plan: ClassKeys, truth: str) -> EnvelopeCase:
    """Draw a case in which something is true.

    Raises
    ------
    Redrawn
        What was drawn lies outside the bands of the difficulty.
    """
    wall = wall_drawn(rng, plan.difficulty, MATTERS[truth], TRAPS_BY_TRUTH[truth])
    picture = seen(wall.scene, rng, _WRITTEN, frame=FRAME)
    area = area_of(picture, truth)
    unfit = unfit_of(picture, area, truth, [wall.trap_box, wall.lamp_box])
    low_k, high_k = BANDS[plan.difficulty].depth_k
    depth_k = max(map(abs, differences_k(picture, area, unfit, truth)))
    if truth != "sound" and not (
        low_k <= depth_k <= high_k and area.sum() >= _LEAST_PX and np.mean(~unfit) >= _LEAST_SOUND
    ):
        raise Redrawn
    return EnvelopeCase(
        truth=truth,
        visit_trap=wall.visit_trap,
        picture_trap=wall.picture_trap,
        picture=picture,
        other=other_room(rng, wall.scene),
        fan=seen(under_pressure(rng, wall.scene), rng, _WRITTEN, frame=FAN_FRAME),
        area=area,
        unfit=unfit,
        brightest=wall.lamp_box,
        accuracy_k=round(within(rng, LEVELS[plan.difficulty].accuracy_k), 1),
        hours_since_sun=hours_since_sun(rng, wall.visit_trap),
        pressure_pa=round(within(rng, _PRESSURE_PA)),
    )


def site_files(drawn: EnvelopeCase, plan: ClassKeys, learner: str) -> dict[str, bytes]:
    """Files of a site folder by their path."""
    pressure = {
        "frame": FAN_FRAME,
        "same_view_as": FRAME,
        "pressure_difference_pa": float(drawn.pressure_pa),
    }
    return wall_files("envelope", drawn, plan, learner, {"pressure": [pressure]}, more=(drawn.fan,))
