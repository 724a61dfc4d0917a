"""Forms of answers that only a class has: judged without numbers, numbers of one's own, hints."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

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

    texts: Callable[[str], Sentence] = lambda id: say(f"class.hint-text.{id}")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedNumber:
    """A number that a learner works out: what it is, its unit, and where it can lie at all."""

    title: Sentence
    unit: str
    low: float
    high: float


NUMBERS = {
    "surface": AskedNumber(title=say("class.numbers.surface"), unit="degC", low=-60.0, high=200.0),
    "difference": AskedNumber(title=say("class.numbers.difference"), unit="K", low=-100.0, high=100.0),
    "humidity": AskedNumber(title=say("class.numbers.humidity"), unit="%", low=0.0, high=300.0),
}


@dataclass(frozen=True, slots=True)
class Numbers:
    """Any of some numbers by their names; what was not worked out is left out."""

    asked: Mapping[str, AskedNumber]

    def checked(self, value: Any, case: Case) -> dict[str, float]:
        """Numbers that were given, in the order in which they are asked."""
        if not isinstance(value, dict) or not value.keys() <= self.asked.keys():
            raise NotADecision(f"read: {value!r:.60}; allowed: numbers named {', '.join(self.asked)}")
        return {name: _number(name, value[name], item) for name, item in self.asked.items() if name in value}


def _number(name: str, value: Any, item: AskedNumber) -> float:
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value) or not item.low <= value <= item.high:
        raise NotADecision(f"{name}: read: {value!r:.60}; allowed: {item.low:g} to {item.high:g} {item.unit}")
    return float(value)
