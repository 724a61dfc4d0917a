"""The quantities of the field, with the symbols of the standards.

They are the rows of `terms.csv` of any folder in the package; an investigation brings its own. Names and
definitions in the reader's language stand in the `locale/` beside it under `term.<id>` and `definition.<id>`;
names follow ISO 7345, ISO 9346 and ISO 13788.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from thermalkit.language import Sentence, say


@dataclass(frozen=True, slots=True)
class Term:
    """A quantity: its id, symbol, unit, decimals kept in findings and decimals shown in text."""

    id: str
    symbol: str
    unit: str
    kept: int
    shown: int

    @property
    def name(self) -> Sentence:
        """The term in the reader's language."""
        return say(f"term.{self.id}")

    @property
    def definition(self) -> Sentence:
        """What the term means, for the glossary of an annex."""
        return say(f"definition.{self.id}")


def _terms() -> dict[str, Term]:
    """Every row of every `terms.csv`; ValueError where two rows have one id."""
    terms: dict[str, Term] = {}
    here = Path(__file__).parent
    for path in (here / "terms.csv", *sorted(here.glob("diagnosis/*/terms.csv"))):
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
            if row["id"] in terms:
                raise ValueError(f"{path.parent.name}/terms.csv defines again: {row['id']}")
            terms[row["id"]] = Term(
                row["id"], row["symbol"], row["unit"], int(row["kept"]), int(row["shown"])
            )
    return terms


TERMS = _terms()
