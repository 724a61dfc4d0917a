"""Every circuit with what was read, compared and weighed, worked out once a run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.causes import answers_at
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.panel.causes import table
from thermalkit.diagnosis.panel.evidence import known_answers, low
from thermalkit.diagnosis.panel.joint import Joint, joint
from thermalkit.diagnosis.panel.like import Excess, excess, exponent
from thermalkit.diagnosis.panel.limits import BANDS, Bound, band, bounds, insulation_bound
from thermalkit.diagnosis.panel.reading import Reading, reading
from thermalkit.diagnosis.panel.ways import STEPS_OF_ROLES, Way, ways
from thermalkit.diagnosis.weighing import NOTHING, UNKNOWN, Weighing, posterior
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.conductors import MOST_LOAD_RATIO

ACCUSED_FROM = 0.25  # own choice: from here on a cause is worth a closer look


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """One circuit: what was read of it and how it stands against its like."""

    reading: Reading
    excess: Excess
    joint: Joint | None
    answers: Mapping[str, str]
    weighing: Weighing

    @property
    def way(self) -> Way:
        """The circuit with its marks."""
        return self.reading.way

    @property
    def leading(self) -> str:
        """The most probable explanation besides *unknown*."""
        return next(id for id in self.weighing.probability if id != UNKNOWN)

    @property
    def difference(self) -> Quantity | None:
        """By how much its warmest part is warmer than its like."""
        largest = self.excess.largest
        return None if largest is None else quantity("like-difference", measured(largest[1], "K"))

    @property
    def bound(self) -> Bound | None:
        """What its insulation bears."""
        return insulation_bound(self.way.circuit.insulation)

    @property
    def rise_k(self) -> FloatArray | None:
        """Rise over the air of the hottest that was read, shape (draws,)."""
        hottest, air = self.reading.hottest_degc, self.reading.air_degc
        return None if hottest is None or air is None else hottest - air

    @property
    def is_exception(self) -> bool:
        """Whether anything is out of the ordinary; doubt alone is not."""
        probable = bounds()["like", "probable"].value
        largest = self.excess.largest
        if largest is not None and low(largest[1]) > probable:
            return True
        hottest, bound = self.reading.hottest_degc, self.bound
        if hottest is not None and bound is not None and float(np.median(hottest)) > bound.value:
            return True
        if self.excess.likes == () and low(self.rise_k) > bounds()["air", "probable"].value:
            return True
        told = {"above-rated", "this-most", "neutral-loaded", "wanders"}
        return bool(told & set(self.answers.values())) or self._is_accused

    @property
    def is_read(self) -> bool:
        """Whether any temperature of it could be given."""
        seen = self.reading
        return any(item is not None for item in (seen.terminal_degc, seen.device_degc, seen.along))

    @property
    def is_reflection(self) -> bool:
        """Whether nothing but a mirrored spot stands out."""
        return self.leading == "reflection" and "hottest" not in self.answers

    @property
    def _is_accused(self) -> bool:
        first = self.leading
        return first != NOTHING and self.weighing.probability[first] >= ACCUSED_FROM

    @property
    def band(self) -> str:
        """How urgent it is on the whole: the like difference, then insulation, then rise and load."""
        largest, hottest, bound = self.excess.largest, self.reading.hottest_degc, self.bound
        found = ["none"]
        if largest is not None:
            found.append(band(float(np.median(largest[1])), "like"))
        elif self.rise_k is not None:
            found.append(band(float(np.median(self.rise_k)), "air"))
        if hottest is not None and bound is not None and low(hottest) > bound.value:
            found.append("major")
        if self.answers.get("load") == "above-rated":
            found.append("probable")
        return max(found, key=BANDS.index)

    @property
    def urgency(self) -> float:
        """What comes first in a list: the difference to its like, else its rise."""
        largest = self.excess.largest
        rise = self.rise_k if largest is None else largest[1]
        return -np.inf if rise is None else float(np.median(rise))


def readings(case: Case) -> tuple[Reading, ...]:
    """Every circuit's reading, kept while marks and bright places are the same."""
    decided = tuple(case.decided.get(step, ()) for step in STEPS_OF_ROLES.values())
    key = ("panel readings", decided, case.decided.get("bright", ()))
    return kept(case, key, lambda: tuple(reading(case, way) for way in ways(case)))


def known(case: Case) -> dict[str, dict[str, str]]:
    """What frames and currents answer, by circuit."""
    found = readings(case)
    return {
        item.way.id: known_answers(case, item, excess(case, item, found), found)
        for item in found
        if item.way.is_seen
    }


def examined(case: Case) -> tuple[Examined, ...]:
    """Every circuit that was seen, in the order of the file."""
    found = readings(case)
    form = case.decided.get("causes", {})
    return tuple(
        _examined(case, item, found, answers_at(form, item.way.id)) for item in found if item.way.is_seen
    )


def _examined(case: Case, item: Reading, found: tuple[Reading, ...], answers: Mapping[str, str]) -> Examined:
    compared = excess(case, item, found)
    return Examined(
        reading=item,
        excess=compared,
        joint=joint(case, item, compared),
        answers=answers,
        weighing=posterior(table(), answers),
    )


def carried_degc(case: Case, item: Examined, to_a: float) -> FloatArray | None:
    """Hottest conductor at another load in the same air, shape (draws,).

    None where nothing was measured, or the load is more than 2.5 times that of the frame.
    """
    rise, current, air = item.rise_k, item.reading.current_a, item.reading.air_degc
    read = item.way.circuit.measured_current_a
    if rise is None or current is None or air is None or not read or to_a / read > MOST_LOAD_RATIO:
        return None
    return air + rise * (to_a / current) ** exponent(case)


def fullest_load_a(way: Way) -> float | None:
    """The load to carry to: the expected peak, else the rating."""
    circuit = way.circuit
    return circuit.expected_peak_current_a or circuit.rated_current_a
