"""Misconceptions that a record shows by itself: each a rule that can be read, none a guess at a person.

Those below belong to every kind of case; the others stand with the cases that show them.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from thermalkit.exercise.cases import kinds, maker
from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import TruthKeys
from thermalkit.exercise.rubric import Rubric
from thermalkit.exercise.scoring import mask_of, place_share

_MOSTLY = 0.5


def misconceptions(given: HandIn, truth: TruthKeys, rubric: Rubric) -> tuple[str, ...]:
    """Ids of the misconceptions that a hand-in shows."""
    shared = (name for name, shows in _SHARED.items() if shows(given, truth, rubric))
    own = (name for name, shows in maker(truth.kind).MISCONCEPTIONS.items() if shows(given, truth))
    return (*shared, *own)


def all_misconceptions() -> dict[str, str]:
    """Every id there is, and the kind it belongs to; an empty text where all kinds share it."""
    own = {name: kind for kind in kinds() for name in maker(kind).MISCONCEPTIONS}
    return dict.fromkeys(_SHARED, "") | own


def _brightest(given: HandIn, truth: TruthKeys, rubric: Rubric) -> bool:
    """What is marked is the warmest thing of the picture, and not the place."""
    marks = tuple(mark for mark in given.answers.get("suspect", ()) if truth.shows_place(mark.frame))
    mask = mask_of(marks, truth.shape)
    if not mask.any() or (truth.area and place_share(marks, truth, rubric) > 0.0):
        return False
    box = np.zeros(truth.shape, dtype=np.bool_)
    top, below, left, right = truth.brightest
    box[top:below, left:right] = True
    both = np.count_nonzero(mask & box)
    return bool(both >= _MOSTLY * min(int(mask.sum()), int(box.sum())))


def _emissivity(given: HandIn, truth: TruthKeys, rubric: Rubric) -> bool:
    """Apparent temperatures were taken for those of the surface."""
    return given.answers.get("emissivity") == "1.00" != truth.emissivity


def _across_rooms(given: HandIn, truth: TruthKeys, rubric: Rubric) -> bool:
    """The place lies in one room, what it is compared with in another."""
    sound = {truth.shows_place(mark.frame) for mark in given.answers.get("sound", ())}
    suspect = {truth.shows_place(mark.frame) for mark in given.answers.get("suspect", ())} or {True}
    return bool(sound) and not sound & suspect


_SHARED: dict[str, Callable[[HandIn, TruthKeys, Rubric], bool]] = {
    "brightest-spot": _brightest,
    "forgotten-emissivity": _emissivity,
    "across-rooms": _across_rooms,
}
