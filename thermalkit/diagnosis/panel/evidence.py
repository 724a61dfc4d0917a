"""What frames and currents answer of themselves; the rest is for a person.

A difference counts only where its whole interval lies beyond the bound, so that doubt accuses nobody.
"""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.panel.like import Excess
from thermalkit.diagnosis.panel.limits import bounds
from thermalkit.diagnosis.panel.reading import Reading, warmest_apparent_degc
from thermalkit.diagnosis.panel.ways import Way, load_share, peers
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.measured import COVERAGE, FloatArray

LOW_LOAD = 0.4
UNEQUAL = 1.25  # own choice: of the mean of the phases
LOADED_NEUTRAL = 0.5  # own choice: of the mean of the phases
COURSE_K = 2.0  # own choice: least that a joint or a current adds to be told
HOTTER_BESIDE_K = 4.0  # own choice
WANDERS_K = 2.5  # own choice: more than two frames of one place differ by
# Above the rating nothing speaks against an overload: conductors of one circuit are all too warm together.
_AS_USUAL = ("as-neighbours", "as-expected", "none")
ABOVE_EXPECTED = 1.15  # own choice: of the rise that the current should make


def known_answers(case: Case, item: Reading, compared: Excess, others: tuple[Reading, ...]) -> dict[str, str]:
    """Answers of a way by question."""
    found = {
        "along": _along(item, compared),
        "level": _level(item),
        "like": _like(compared, item, others),
        "hottest": _hottest(compared),
        "load": _load(item),
        "phases": phases(item.way, tuple(other.way for other in others)),
        "beside": _beside(case, item.way) if _stands_out(compared) else None,
        "wanders": _wanders(case, item, others),
        "surface": _surface(item),
    }
    if found["load"] == "above-rated":
        found = {question: None if outcome in _AS_USUAL else outcome for question, outcome in found.items()}
    return {question: outcome for question, outcome in found.items() if outcome is not None}


def low(draws: FloatArray | None) -> float:
    """Lower end of the 95 % interval; minus infinity where there is none."""
    return -np.inf if draws is None else float(np.quantile(draws, (1.0 - COVERAGE) / 2.0))


def _along(item: Reading, compared: Excess) -> str | None:
    """Only where 1.5 fin lengths are in view and there is a like conductor."""
    if compared.joint_k is None or compared.level_k is None:
        return None
    falls, level = low(compared.joint_k) > COURSE_K, low(compared.level_k) > COURSE_K
    if falls and level:
        return "falls" if np.median(compared.joint_k) > np.median(compared.level_k) else "level"
    return "falls" if falls else "level" if level else "as-neighbours"


def _level(item: Reading) -> str | None:
    seen = item.along
    if seen is None or not seen.is_enough or seen.expected_k is None or seen.level_k is None:
        return None
    share = seen.level_k / np.maximum(seen.expected_k, 0.5)
    return "above" if low(share) > ABOVE_EXPECTED else "as-expected"


def _like(compared: Excess, item: Reading, others: tuple[Reading, ...]) -> str | None:
    largest = compared.largest
    probable, major = bounds()["like", "probable"].value, bounds()["like", "major"].value
    if largest is not None and low(largest[1]) > major:
        return "above-15"
    if largest is not None and low(largest[1]) > probable:
        return "above-3"
    if low(compared.raw_k) > probable and _carries_more(item.way, tuple(other.way for other in others)):
        return "load-explains"
    return None if largest is None else "none"


def _carries_more(way: Way, others: tuple[Way, ...]) -> bool:
    """Whether it carries clearly more than those built alike."""
    own = way.circuit.measured_current_a
    known = [a for other in peers(way, others) if (a := other.circuit.measured_current_a) is not None]
    return own is not None and bool(known) and own > UNEQUAL * float(np.median(known))


def _stands_out(compared: Excess) -> bool:
    largest = compared.largest
    return largest is not None and low(largest[1]) > bounds()["like", "probable"].value


def _hottest(compared: Excess) -> str | None:
    """A terminal is hottest only where its conductor is known to be less so."""
    if compared.largest is None or not _stands_out(compared):
        return None
    part = compared.largest[0]
    return None if part == "terminal" and compared.level_k is None else part


def _load(item: Reading) -> str | None:
    share, rated = load_share(item.way), item.way.circuit.rated_current_a
    if share is None or rated is None:
        return None
    if low(item.current_a) > rated:
        return "above-rated"
    return "below-40" if share < LOW_LOAD else "up-to-rated"


def phases(way: Way, others: tuple[Way, ...]) -> str | None:
    """How the phases of a multi-phase circuit share its current; None for one that stands alone."""
    group = [
        other.circuit for other in others if way.circuit.group and other.circuit.group == way.circuit.group
    ]
    live = {c.id: c.measured_current_a for c in group if c.phase in ("L1", "L2", "L3")}
    known = [a for a in live.values() if a is not None]
    own = way.circuit.measured_current_a
    if len(known) < 2 or len(known) < len(live) or own is None or max(known) <= 0.0:
        return None
    mean = float(np.mean(known))
    if way.circuit.phase == "N":
        return "neutral-loaded" if own > LOADED_NEUTRAL * mean and max(known) <= UNEQUAL * mean else "even"
    return "this-most" if own == max(known) and own > UNEQUAL * mean else "even"


def _beside(case: Case, way: Way) -> str | None:
    """Whether something within one width left or right of a device is clearly hotter than it."""
    mark = way.marks.get("device")
    if mark is None:
        return None
    frame = case.site.frames[mark.frame]
    mask = mark_mask(mark, frame.apparent_degc.shape)
    rows, columns = np.nonzero(mask)
    if rows.size == 0:
        return None
    width = int(columns.max() - columns.min() + 1)
    left = slice(max(int(columns.min()) - 2 * width, 0), max(int(columns.min()) - 1, 0))
    right = slice(int(columns.max()) + 2, int(columns.max()) + 1 + 2 * width)
    span = slice(int(rows.min()), int(rows.max()) + 1)
    around = [frame.apparent_degc[span, side] for side in (left, right)]
    hottest = [float(np.nanquantile(part, 0.75)) for part in around if part.size and np.isfinite(part).any()]
    if not hottest:
        return None
    own = warmest_apparent_degc(case, mark)
    return "hotter" if max(hottest) > own + HOTTER_BESIDE_K else "not-hotter"


def _wanders(case: Case, item: Reading, others: tuple[Reading, ...]) -> str | None:
    """Whether its warmth against its like changes from frame to frame."""
    terminal = item.way.marks.get("terminal")
    if terminal is None or not item.way.again:
        return None
    same = peers(item.way, tuple(other.way for other in others))
    stands_out = [
        warmest_apparent_degc(case, mark) - _middle_on(case, same, mark.frame)
        for mark in (terminal, *item.way.again)
    ]
    known = [value for value in stands_out if np.isfinite(value)]
    if len(known) < 2:
        return None
    moves = max(known) - min(known) > WANDERS_K and max(known) > WANDERS_K
    return "wanders" if moves else "stays"


def _middle_on(case: Case, same: tuple[Way, ...], frame: str) -> float:
    marks: list[Mark] = []
    for way in same:
        terminal = way.marks.get("terminal")
        marks += [mark for mark in (terminal, *way.again) if mark is not None and mark.frame == frame]
    values = [warmest_apparent_degc(case, mark) for mark in marks]
    return float(np.median(values)) if values else float("nan")


def _surface(item: Reading) -> str | None:
    if item.is_bright:
        return "bright"
    surface = item.way.circuit.terminal_surface
    return None if surface == "unknown" or "terminal" not in item.way.marks else "covered"
