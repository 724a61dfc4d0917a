"""Forms of answers that only a class has: judged without numbers, numbers of one's own, hints."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from thermalkit.diagnosis.class_.choices import hint_text
from thermalkit.diagnosis.class_.questions import AskedNumber
from thermalkit.diagnosis.decisions import Case, NotADecision, OneOf, SomeOf
from thermalkit.language import Sentence, say


@dataclass(frozen=True, slots=True)
class OneAtSight(OneOf):
    """One option, judged by the pictures before any number is shown."""


@dataclass(frozen=True, slots=True)
class SomeAtSight(SomeOf):
    """Any number of options, judged by the notes and the pictures before any number is shown."""


@dataclass(frozen=True, slots=True)
class Hints(SomeOf):
    """Hints that were taken; each of them shows its text and costs marks."""

    text: Callable[[Case, str], Sentence] = hint_text


@dataclass(frozen=True, slots=True)
class Numbers:
    """Any of some numbers by their names; what was not worked out is left out."""

    asked: Callable[[Case], Mapping[str, AskedNumber]]

    def checked(self, value: Any, case: Case) -> dict[str, float]:
        """Numbers that were given, in the order in which they are asked."""
        asked = self.asked(case)
        if not isinstance(value, dict) or not value.keys() <= asked.keys():
            raise NotADecision(say("decision.numbers", read=f"{value!r:.60}", allowed=", ".join(asked)))
        return {name: _number(name, value[name], item) for name, item in asked.items() if name in value}


def _number(name: str, value: Any, item: AskedNumber) -> float:
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value) or not item.low <= value <= item.high:
        raise NotADecision(
            say(
                "decision.number-outside",
                name=name,
                read=f"{value!r:.60}",
                low=f"{item.low:g}",
                high=f"{item.high:g}",
                unit=item.units[0],
            )
        )
    return float(value)
