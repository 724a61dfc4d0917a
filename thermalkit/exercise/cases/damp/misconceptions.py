"""What answers to a damp case can show of what a learner takes for what."""

from __future__ import annotations

from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import TruthKeys


def _drying(given: HandIn, truth: TruthKeys) -> bool:
    """What dries is cold, and was taken for cold construction."""
    return truth.cause in ("drying", "leak") and given.answers.get("cause") == "bridge"


def _pipe(given: HandIn, truth: TruthKeys) -> bool:
    """What is warm was taken for wet."""
    return truth.cause == "warm-pipe" and given.answers.get("cause") == "leak"


MISCONCEPTIONS = {"drying-taken-for-bridge": _drying, "pipe-taken-for-leak": _pipe}
