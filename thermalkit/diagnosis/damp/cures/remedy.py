"""One cure by itself: how much of it a place needs, whether that is enough, and how it is said."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np

from thermalkit.diagnosis.damp.cures.situations import Measures, Situation
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.language import Interval, Number, Sentence, say
from thermalkit.measured import COVERAGE, FloatArray, Measured, measured

Kind = Literal["ventilation", "warmth", "insulation"]
Reach = Literal["none", "enough", "perhaps", "not"]

# Own choices of what is still done in practice.
MOST_RATIO = 4.0
WARMEST_ROOM_DEGC = 24.0
MOST_RESISTANCE_M2K_W = 3.0  # about 120 mm

_NEVER = 1e6
_STEP = {"ventilation": 0.1, "warmth": 0.5, "insulation": 0.1}
_NOTHING = {"ventilation": 1.0, "warmth": 0.0, "insulation": 0.0}
_TERMS = {"ventilation": "ventilation-ratio", "warmth": "extra-warmth", "insulation": "added-resistance"}


@dataclass(frozen=True, kw_only=True, eq=False)
class Remedy:
    """How much of one cure a place needs, shape (draws,), and the most of it that is done.

    `need` is infinite where no amount is enough.
    """

    kind: Kind
    need: FloatArray
    most: float

    @cached_property
    def interval(self) -> tuple[float, float, float]:
        """Median, low and high of the need; a million stands for never."""
        tail = (1.0 - COVERAGE) / 2.0
        low, value, high = np.quantile(np.minimum(self.need, _NEVER), [tail, 0.5, 1.0 - tail])
        return float(value), float(low), float(high)

    @property
    def reach(self) -> Reach:
        """Whether it is needed, and enough by itself.

        *Perhaps*: not at the upper end of the interval. *Not*: less likely than not.
        """
        value, _, high = self.interval
        if high <= _NOTHING[self.kind] + 1e-9:
            return "none"
        if high <= self.most:
            return "enough"
        return "perhaps" if value <= self.most else "not"

    @property
    def planned(self) -> float:
        """What to plan with: the upper end, rounded up, or the most that is done where it is beyond."""
        step = _STEP[self.kind]
        high = min(self.interval[2], self.most)
        return float(np.ceil(round(high / step, 6)) * step) if high < self.most else self.most

    @property
    def measures(self) -> Measures:
        """The planned amount and nothing else."""
        if self.kind == "ventilation":
            return Measures(ratio=self.planned)
        if self.kind == "warmth":
            return Measures(warmth_k=self.planned)
        return Measures(added_m2k_w=self.planned)

    @property
    def quantity(self) -> Quantity | None:
        """The need with its interval, where all of it can be met."""
        if self.reach not in ("none", "enough"):
            return None
        value, low, high = self.interval
        return quantity(_TERMS[self.kind], Measured(value=value, low=low, high=high, unit=""))

    def said(self) -> Sentence:
        """One sentence."""
        id = f"damp.cure.{self.kind}.{self.reach}"
        shown = self.quantity
        if self.reach == "enough" and shown is not None:
            return say(id, need=shown.shown(), planned=self._number(self.planned))
        return say(id, low=self._number(self.interval[1]), most=self._number(self.most))

    def _number(self, value: float) -> Number:
        unit, digits = {"ventilation": ("", 1), "warmth": ("K", 1), "insulation": ("m2K/W", 1)}[self.kind]
        return Number(min(value, self.most), unit, digits)


Remedies = tuple[Remedy, Remedy, Remedy]
"""Ventilation, warmth, insulation."""


@lru_cache(maxsize=32)  # findings and charts of a place ask again and again
def remedies(situation: Situation) -> Remedies:
    """Ventilation, warmth and insulation, each by itself."""
    warmest_k = max(WARMEST_ROOM_DEGC - float(np.median(situation.indoor_degc)), 0.0)
    return (
        Remedy(kind="ventilation", need=situation.ventilation_ratio, most=MOST_RATIO),
        Remedy(kind="warmth", need=situation.extra_warmth_k, most=warmest_k),
        Remedy(kind="insulation", need=situation.added_resistance_m2k_w, most=MOST_RESISTANCE_M2K_W),
    )


def advised(stated: Situation | None, present: Situation) -> Remedies:
    """What to plan with for the room as found.

    Where its moisture is too much for insulation alone, insulation goes by the limit's own conditions.
    """
    ventilation, warmth, insulation = remedies(present)
    if insulation.reach in ("perhaps", "not") and stated is not None:
        by_limit = remedies(stated)[2]
        insulation = by_limit if by_limit.reach == "enough" else insulation
    return ventilation, warmth, insulation


def thickness(need_m2k_w: FloatArray, conductivity_w_mk: FloatArray) -> Interval:
    """A resistance as millimetres of insulation, for a sentence."""
    m = measured(1000.0 * need_m2k_w * conductivity_w_mk, "mm")
    return Interval(m.value, m.low, m.high, "mm", 0)
