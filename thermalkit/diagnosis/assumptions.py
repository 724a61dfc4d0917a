"""What is assumed where a surveyor does not know, each row with its reason.

An investigation may bring a table of its own. Names in the reader's language stand in `locale/` under
`assumption.<name>`.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

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
    """Every row of `assumptions.csv`, here and in the folders of investigations, by its name.

    Raises
    ------
    ValueError
        Two tables have one name.
    """
    rows: dict[str, Assumption] = {}
    here = Path(__file__).parent
    for path in (here / "assumptions.csv", *sorted(here.glob("*/assumptions.csv"))):
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
            if row["name"] in rows:
                raise ValueError(f"{path.parent.name}/assumptions.csv defines again: {row['name']}")
            rows[row["name"]] = _assumption(row)
    return rows


def _assumption(row: dict[str, str]) -> Assumption:
    low, high = float(row["low"]), float(row["high"])
    return Assumption(name=row["name"], low=low, high=high, unit=row["unit"], source=row["source"])
