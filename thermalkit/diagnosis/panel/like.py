"""Like components under like load: the difference that urgency comes from first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.panel.reading import Reading
from thermalkit.diagnosis.panel.ways import like_ways, peers
from thermalkit.measured import FloatArray

Part = Callable[[Reading], FloatArray | None]
CLOSE_LOAD = 1.05  # loads so close that nothing has to be corrected


def terminal_degc(item: Reading) -> FloatArray | None:
    """Its terminal."""
    return item.terminal_degc


def device_degc(item: Reading) -> FloatArray | None:
    """Its device."""
    return item.device_degc


def level_degc(item: Reading) -> FloatArray | None:
    """Its conductor away from the terminal."""
    return None if item.along is None or not item.along.is_enough else item.along.level_degc


@dataclass(frozen=True, slots=True, kw_only=True)
class Excess:
    """By how much a way is warmer than its like, in K, draws or None.

    `joint_k` is what its end adds beyond what theirs add, `raw_k` the difference whatever they carry.
    """

    terminal_k: FloatArray | None
    device_k: FloatArray | None
    level_k: FloatArray | None
    joint_k: FloatArray | None
    raw_k: FloatArray | None
    likes: tuple[str, ...]

    @property
    def largest(self) -> tuple[str, FloatArray] | None:
        """The part that is warmest against its like."""
        parts = {"terminal": self.terminal_k, "body": self.device_k, "conductor": self.level_k}
        known = {name: draws for name, draws in parts.items() if draws is not None}
        if not known:
            return None
        name = max(known, key=lambda part: float(np.median(known[part])))
        return name, known[name]


def excess(case: Case, item: Reading, all_readings: tuple[Reading, ...]) -> Excess:
    """Compare a way with those of its cabinet that are built alike and carry alike."""
    by_id = {other.way.id: other for other in all_readings}
    others = tuple(other.way for other in all_readings)
    likes = [by_id[way.id] for way in like_ways(item.way, others)]
    same = [by_id[way.id] for way in peers(item.way, others)]
    parts: dict[str, FloatArray | None] = {
        name: _against(case, item, likes, part)
        for name, part in (("terminal", terminal_degc), ("device", device_degc), ("level", level_degc))
    }
    return Excess(
        terminal_k=parts["terminal"],
        device_k=parts["device"],
        level_k=parts["level"],
        joint_k=_joint(case, item, likes),
        raw_k=_raw(item, same),
        likes=tuple(like.way.id for like in likes),
    )


def _against(case: Case, item: Reading, likes: list[Reading], part: Part) -> FloatArray | None:
    """Its temperature less the middle of what its likes would have at its load, shape (draws,)."""
    own = part(item)
    if own is None:
        return None
    expected = [found for like in likes if (found := _at_load_of(case, like, item, part)) is not None]
    return own - np.median(expected, axis=0) if expected else None


def _at_load_of(case: Case, like: Reading, item: Reading, part: Part) -> FloatArray | None:
    found = part(like)
    if found is None or like.current_a is None or item.current_a is None:
        return found
    ratio = item.current_a / like.current_a
    if item.air_degc is None:
        middle = float(np.median(ratio))
        return found if 1.0 / CLOSE_LOAD <= middle <= CLOSE_LOAD else None
    return item.air_degc + (found - item.air_degc) * ratio ** exponent(case)


def _joint(case: Case, item: Reading, likes: list[Reading]) -> FloatArray | None:
    """What its end adds beyond what the ends of its likes add, at its own load, shape (draws,)."""
    if item.along is None or not item.along.is_enough:
        return None
    expected = []
    for like in likes:
        if like.along is not None and like.along.is_enough:
            ratio = 1.0
            if like.current_a is not None and item.current_a is not None:
                ratio = item.current_a / like.current_a  # type: ignore[assignment]
            expected.append(like.along.joint_k * ratio ** exponent(case))
    return item.along.joint_k - np.median(expected, axis=0) if expected else None


def _raw(item: Reading, same: list[Reading]) -> FloatArray | None:
    """Against those built alike, whatever they carry."""
    for part in (terminal_degc, level_degc):
        own = part(item)
        others = [found for other in same if (found := part(other)) is not None]
        if own is not None and others:
            return own - np.median(others, axis=0)
    return None


def exponent(case: Case) -> FloatArray:
    """Power of the current that a rise goes with, shape (draws,)."""
    row = case.assumed("load-exponent")
    return case.draws.between("load-exponent cabinet", row.low, row.high)
