"""Misconceptions that a record shows by itself: each a rule that can be read, none a guess at a person."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import TruthKeys
from thermalkit.exercise.rubric import Rubric
from thermalkit.exercise.scoring import mask_of, place_share

_MOSTLY = 0.5


def misconceptions(given: HandIn, truth: TruthKeys, rubric: Rubric) -> tuple[str, ...]:
    """Ids of the misconceptions that a hand-in shows."""
    return tuple(name for name, shows in _RULES.items() if shows(given, truth, rubric))


def _brightest(given: HandIn, truth: TruthKeys, rubric: Rubric) -> bool:
    """What is marked is the warmest thing of the picture, and not the place."""
    marks = tuple(mark for mark in given.answers.get("suspect", ()) if mark.frame == truth.frame)
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
    sound = {mark.frame for mark in given.answers.get("sound", ())}
    suspect = {mark.frame for mark in given.answers.get("suspect", ())} or {truth.frame}
    return bool(sound) and not sound & suspect


def _drying(given: HandIn, truth: TruthKeys, rubric: Rubric) -> bool:
    """What dries is cold, and was taken for cold construction."""
    return truth.cause in ("drying", "leak") and given.answers.get("cause") == "bridge"


def _pipe(given: HandIn, truth: TruthKeys, rubric: Rubric) -> bool:
    """What is warm was taken for wet."""
    return truth.cause == "warm-pipe" and given.answers.get("cause") == "leak"


_RULES: dict[str, Callable[[HandIn, TruthKeys, Rubric], bool]] = {
    "brightest-spot": _brightest,
    "forgotten-emissivity": _emissivity,
    "across-rooms": _across_rooms,
    "drying-taken-for-bridge": _drying,
    "pipe-taken-for-leak": _pipe,
}
MISCONCEPTIONS = tuple(_RULES)
"""Ids of all there are."""
