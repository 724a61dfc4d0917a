"""Holding a quantity against a limit."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from thermalkit.diagnosis.finding import Limit, Quantity, Sense, Verdict
from thermalkit.glossary import TERMS
from thermalkit.language import Sentence, say


def verdict(item: Quantity, limit: Limit) -> Verdict:
    """Whether the limit is broken: only where it lies strictly outside the interval.

    *Indicated* means that the irregularity the limit guards against is indicated.
    """
    low, high = item.measured.low, item.measured.high
    if limit.sense == "at_least":
        return "indicated" if high < limit.value else "not indicated" if low > limit.value else "inconclusive"
    return "indicated" if low > limit.value else "not indicated" if high < limit.value else "inconclusive"


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitSet:
    """A row of `limits.csv`: the smallest temperature factor and the conditions it is stated for."""

    id: str
    country: str
    use: str
    factor: float
    film_m2k_w: float
    surface_humidity: float
    indoor_degc: float
    indoor_humidity: float
    outdoor_degc: float
    source: str
    confidence: str
    conditions: str

    @property
    def factor_limit(self) -> Limit:
        """The temperature factor that every place has to reach."""
        return self._limit(
            "temperature-factor", "at_least", self.factor, say("limit.set", id=self.id, source=self.source)
        )

    def humidity_limit(self, term: str) -> Limit:
        """The highest humidity at a surface, in percent, for a term that is one."""
        return self._limit(term, "at_most", 100.0 * self.surface_humidity, say("limit.surface-humidity"))

    @staticmethod
    def _limit(term: str, sense: Sense, value: float, source: Sentence) -> Limit:
        return Limit(term=TERMS[term], sense=sense, value=value, source=source)


_NUMBERS = ("factor", "film_m2k_w", "surface_humidity", "indoor_degc", "indoor_humidity", "outdoor_degc")


@cache
def limit_sets() -> dict[str, LimitSet]:
    """Every limit set by its id, from `limits.csv`."""
    text = (files("thermalkit.diagnosis") / "limits.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return {
        row["id"]: LimitSet(**{key: float(value) if key in _NUMBERS else value for key, value in row.items()})  # type: ignore[arg-type]
        for row in rows
    }


def limit_set_of(country: str) -> str:
    """The limit set proposed for a country; the dwelling set of a neighbour's rule is never assumed.

    Returns
    -------
    str
        Id of the first set of that country, else of the set without a country.
    """
    sets = limit_sets().values()
    own = [item.id for item in sets if item.country == country]
    return own[0] if own else next(item.id for item in sets if not item.country)
