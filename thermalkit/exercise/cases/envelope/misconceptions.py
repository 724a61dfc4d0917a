"""What answers to a case of the envelope can show of what a learner takes for what."""

from __future__ import annotations

from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import TruthKeys

_CONSTRUCTION = ("bridge", "missing-insulation")


def _leak(given: HandIn, truth: TruthKeys) -> bool:
    """What grew with the fan was taken for cold construction."""
    return truth.cause == "air-leak" and given.answers.get("cause") in _CONSTRUCTION


def _construction(given: HandIn, truth: TruthKeys) -> bool:
    """What the fan left alone was taken for a draught."""
    return truth.cause in _CONSTRUCTION and given.answers.get("cause") == "air-leak"


MISCONCEPTIONS = {"leak-taken-for-construction": _leak, "construction-taken-for-leak": _construction}
