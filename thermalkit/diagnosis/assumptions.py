"""What is assumed where a surveyor does not know: one table, each row with its reason.

Names in the reader's language stand in `locale/` under `assumption.<name>`.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from thermalkit.language import Sentence, say


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """An input that is taken to lie anywhere between two values (rectangular)."""

    name: str
    low: float
    high: float
    unit: str
    source: str

    @property
    def title(self) -> Sentence:
        """What is assumed, in the reader's language."""
        return say(f"assumption.{self.name}")

    @property
    def half_width(self) -> float:
        """Half the distance between the two values."""
        return (self.high - self.low) / 2.0


@cache
def assumptions() -> dict[str, Assumption]:
    """Every row of `assumptions.csv` by its name."""
    text = (files("thermalkit.diagnosis") / "assumptions.csv").read_text(encoding="utf-8")
    return {
        row["name"]: Assumption(
            name=row["name"],
            low=float(row["low"]),
            high=float(row["high"]),
            unit=row["unit"],
            source=row["source"],
        )
        for row in csv.DictReader(text.splitlines())
    }
