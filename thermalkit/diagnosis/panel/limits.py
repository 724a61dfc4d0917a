"""What a rise or a temperature is held against: bands of urgency, insulation, and type tests for comparison.

The bands of ANSI/NETA MTS leave gaps (3 to 4, 10 to 11, 20 to 21 K); they are read as half open: above 3,
above 15 K. Type-test limits hold for new gear in a laboratory at its rated load: shown, never judged by.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from thermalkit.diagnosis.finding import Limit
from thermalkit.glossary import TERMS
from thermalkit.language import Sentence, say

ASSUMED_INSULATION = "PVC"
LIKE_K = ("investigate", "probable", "major")
BANDS = ("none", "investigate", "probable", "monitor", "major")
AIR_K = ("investigate", "probable", "monitor", "major")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """One row of `limits.csv`."""

    id: str
    kind: str
    value: float
    source: str
    confidence: str

    @property
    def cited(self) -> Sentence:
        """Its source, and whether it is known from memory only."""
        return say(f"panel.limit.{self.confidence.replace(' ', '-')}", source=self.source)


@cache
def bounds() -> dict[tuple[str, str], Bound]:
    """Every bound by its kind and id."""
    text = (files("thermalkit.diagnosis.panel") / "limits.csv").read_text(encoding="utf-8")
    return {
        (row["kind"], row["id"]): Bound(
            id=row["id"],
            kind=row["kind"],
            value=float(row["value"]),
            source=row["source"],
            confidence=row["confidence"],
        )
        for row in csv.DictReader(text.splitlines())
    }


def band(rise_k: float, kind: str) -> str:
    """The half-open band a rise falls into, "none" below the first.

    Parameters
    ----------
    rise_k : float
        In K.
    kind : str
        "like" (against like components under like load) or "air" (over the air).

    Examples
    --------
    >>> [band(rise_k, "like") for rise_k in (1.0, 3.0, 3.5, 15.0, 15.1)]
    ['none', 'investigate', 'probable', 'probable', 'major']
    """
    steps = LIKE_K if kind == "like" else AIR_K
    passed = [id for id in steps if rise_k > bounds()[kind, id].value]
    return passed[-1] if passed else "none"


def rise_limit(term: str, kind: str) -> Limit:
    """The first rise that is a probable deficiency."""
    return limit_of(term, bounds()[kind, "probable"])


def limit_of(term: str, bound: Bound) -> Limit:
    """A bound as the limit of a quantity."""
    return Limit(term=TERMS[term], sense="at_most", value=bound.value, source=bound.cited)


def insulation_bound(insulation: str) -> Bound | None:
    """What the insulation of a conductor bears; PVC where it is not known, None for a bare conductor."""
    known = ASSUMED_INSULATION if insulation == "unknown" else insulation
    return bounds().get(("insulation", known))


def type_test_degc(plating: str) -> tuple[float, Bound]:
    """Temperature that a type test allows a terminal, at the test's own air, and the row it comes from."""
    bound = bounds()["type-test", plating]
    return bounds()["ambient", "reference"].value + bound.value, bound
