"""Heating: a radiator with one thing true of it, one trap of the visit and one of the picture.

Everything follows from the random numbers that are handed in. Pipes, head and room stand in every note, so
that what is written down tells nothing by being there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from thermalkit.exercise.cases import Redrawn
from thermalkit.exercise.cases.heating.misconceptions import MISCONCEPTIONS as MISCONCEPTIONS
from thermalkit.exercise.cases.heating.notes import site_files as site_files
from thermalkit.exercise.cases.heating.places import COLD, Places, places_of
from thermalkit.exercise.cases.heating.truth import FRAME, OTHER_FRAME
from thermalkit.exercise.cases.heating.truth import is_reached as is_reached
from thermalkit.exercise.cases.heating.truth import truth_of as truth_of
from thermalkit.exercise.cases.heating.views import other_radiator, radiator_scene, with_things
from thermalkit.exercise.cases.walls import within
from thermalkit.exercise.difficulty import LEVELS, Band
from thermalkit.exercise.plan import ClassKeys
from thermalkit.scenes.radiator_sites import true_zones
from thermalkit.scenes.radiators import PIPE_ACCURACY_K, RadiatorSeen, radiator_seen

VISIT_TRAPS = ("mild", "covered")
PICTURE_TRAPS = ("low-emissivity", "old-mark")
DEPTH_K: dict[str, Band] = {"easy": (10.0, 50.0), "medium": (8.0, 40.0), "hard": (6.0, 35.0)}
"""How much colder the place is than what works, by difficulty."""
_LEAST_PX, _LEAST_WORKING_PX = 120, 150
_LEAST_APART = 0.3  # of top and foot, as shares of the warmest excess
_HEAD_LOW, _ROOM_WARM = 0.25, 0.3  # how often so where it does not matter


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatingCase:
    """A case with its truth, before it is written."""

    truth: str
    visit_trap: str
    picture_trap: str
    picture: RadiatorSeen
    other: RadiatorSeen
    places: Places
    accuracy_k: float


def draw_case(rng: np.random.Generator, plan: ClassKeys, truth: str) -> HeatingCase:
    """Draw a case in which something is true.

    Raises
    ------
    Redrawn
        What was drawn lies outside the bands of the difficulty.
    """
    visit_trap = str(rng.choice(VISIT_TRAPS))
    picture_trap = "old-mark" if truth == "chrome" else str(rng.choice(PICTURE_TRAPS))
    is_mild, is_covered = visit_trap == "mild", visit_trap == "covered"
    scene = radiator_scene(rng, plan.difficulty, truth, mild=is_mild, covered=is_covered)
    scene = with_things(rng, scene, picture_trap)
    picture = _noted(rng, radiator_seen(scene, rng, FRAME, FRAME), *_head_and_room(rng, truth))
    places = places_of(picture, truth)
    if (truth in COLD and not _stands_out(places, DEPTH_K[plan.difficulty])) or not _shows(picture, truth):
        raise Redrawn
    other = radiator_seen(other_radiator(rng, scene, plan.difficulty), rng, OTHER_FRAME, OTHER_FRAME)
    return HeatingCase(
        truth=truth,
        visit_trap=visit_trap,
        picture_trap=picture_trap,
        picture=picture,
        other=_noted(rng, other, "open", "no"),
        places=places,
        accuracy_k=round(within(rng, LEVELS[plan.difficulty].accuracy_k), 1),
    )


def _stands_out(places: Places, depths_k: Band) -> bool:
    depth_k = places.working_degc - places.surface_degc
    is_large = places.area.sum() >= _LEAST_PX and places.works.sum() >= _LEAST_WORKING_PX
    return bool(is_large and depths_k[0] <= depth_k <= depths_k[1])


def _shows(picture: RadiatorSeen, truth: str) -> bool:
    """Whether top and foot differ as somebody expects who has seen it once; of air and little water."""
    zones = true_zones(picture)
    top_colder = zones["bottom"] - zones["top"]
    if truth == "air":
        return top_colder >= _LEAST_APART
    return truth not in ("starved", "satisfied") or -top_colder >= _LEAST_APART


def _head_and_room(rng: np.random.Generator, truth: str) -> tuple[str, str]:
    """How the head stood, and whether the room was as warm as it is set to."""
    low, warm = rng.random() < _HEAD_LOW, rng.random() < _ROOM_WARM
    if truth == "satisfied":
        return "throttling", "yes"
    if truth == "starved":
        return "throttling" if low else "open", "no"
    return "throttling" if low and not warm else "open", "yes" if warm else "no"


def _noted(rng: np.random.Generator, seen: RadiatorSeen, head: str, warm: str) -> RadiatorSeen:
    """What stands in the notes of every case: pipes, head and room, but no emissivity."""
    scene, error_k = seen.scene, 0.5 * PIPE_ACCURACY_K

    def read(water_degc: float) -> float:
        under_k = 0.02 * (water_degc - scene.room_degc)
        return round(float(water_degc - under_k + rng.uniform(-error_k, error_k)), 1)

    notes = replace(
        seen.notes,
        emissivity=None,
        head=head,
        warmer_than_set=warm,
        minutes_steady=float(rng.integers(60, 180)),
        flow_degc=read(scene.flow_degc),
        return_degc=read(seen.state.return_degc),
        connection=scene.connection,
    )
    return replace(seen, notes=notes)
