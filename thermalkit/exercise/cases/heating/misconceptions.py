"""What answers to a case of heating can show of what a learner takes for what.

A fault is taken for granted only by who also answers that one is indicated: one slip alone accuses nobody.
"""

from __future__ import annotations

from collections.abc import Callable

from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import TruthKeys

FAULTS = ("air", "deposit", "starved")


def _fault_where_none_is(cause: str) -> Callable[[HandIn, TruthKeys], bool]:
    """A radiator that works for this reason was taken for a faulty one."""

    def shows(given: HandIn, truth: TruthKeys) -> bool:
        answers = given.answers
        is_fault = answers.get("cause") in FAULTS and answers.get("verdict") == "indicated"
        return truth.cause == cause and is_fault

    return shows


def _deposit(given: HandIn, truth: TruthKeys) -> bool:
    """A foot that is cold from end to end was taken for one full of deposits."""
    return truth.cause == "starved" and given.answers.get("cause") == "deposit"


MISCONCEPTIONS = {
    "throttling-taken-for-fault": _fault_where_none_is("satisfied"),
    "lukewarm-taken-for-fault": _fault_where_none_is("healthy"),
    "mirror-taken-for-cold": _fault_where_none_is("chrome"),
    "little-water-taken-for-deposit": _deposit,
}
