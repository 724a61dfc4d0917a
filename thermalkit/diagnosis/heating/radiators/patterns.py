"""How water passes a panel, told from its front: models of its path weighed against each other.

Models are compared by how well they fit, with a penalty for each number they need (Bayesian information
criterion); where two fit alike none is named.

Source
------
G. Schwarz, Estimating the dimension of a model, Annals of Statistics 6 (1978) 461-464, from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.heating.radiators.front import Front
from thermalkit.diagnosis.heating.radiators.water_paths import (
    MODELS,
    Fit,
    air_at_end,
    falling,
    fitted,
)
from thermalkit.measured import FloatArray

MARGIN = 6.0
COLD_BELOW_K = 5.0
COLD_BELOW_SHARE = 0.2  # of the flow's excess, where the flow was read
LITTLE_WATER_BELOW, ENOUGH_WATER_FROM = 0.42, 0.52
LEAST_LOSS = 0.02
LEAST_DIP_K = 2.5
_FOOT_AS_WARM, _FOOT_WARMER, _FOOT_MUCH_WARMER = 0.85, 0.985, 1.015
_FOOT_RISES, _FOOT_RISES_K = 1.04, 1.2
_COLUMNS_APART = 0.85
_TOP_COLDER = 0.9
_BOTTOM_STAYS_WARM = 0.5
_LEAST_ROWS = 4
_AIR_SHARE = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """What the front shows.

    `outcome` is even, cold-top, cold-middle, cold-bottom, rising, cold or unclear. `left_share` is excess
    of the water that leaves over that of the water that enters, None where it cannot be told. `size` is the
    share of the front's heat that the irregularity takes.
    """

    outcome: str
    fits: Mapping[str, Fit]
    entering_k: float
    left_share: float | None
    size: float = 0.0

    @property
    def best(self) -> Fit | None:
        """The fit with the smallest criterion."""
        return min(self.fits.values(), key=lambda fit: fit.criterion) if self.fits else None


def pattern(seen: Front, *, flow_excess_k: float | None = None, bottom_fed: bool = False) -> Pattern:
    """The pattern of a front.

    Parameters
    ----------
    seen : Front
    flow_excess_k : float, optional
        Of the water in the flow pipe above the room, where it was read.
    bottom_fed : bool
        Whether water is meant to enter at the bottom of one end and rise there.
    """
    known = seen.known
    if np.count_nonzero(known) < 0.25 * known.size:
        return Pattern(outcome="unclear", fits={}, entering_k=float("nan"), left_share=None)
    warm_k = float(np.nanpercentile(seen.excess_k, 90))
    mean_k = float(np.nanmean(seen.excess_k))
    cold_k = COLD_BELOW_K if flow_excess_k is None else min(COLD_BELOW_K, COLD_BELOW_SHARE * flow_excess_k)
    if mean_k < cold_k:
        return Pattern(outcome="cold", fits={}, entering_k=warm_k, left_share=None)
    fits = {name: fitted(seen, name, warm_k) for name in MODELS if _is_worth_fitting(seen, name)}
    return _judged(seen, fits, bottom_fed)


def _judged(seen: Front, fits: Mapping[str, Fit], bottom_fed: bool) -> Pattern:
    possible = [fit for fit in fits.values() if _is_possible(seen, fit, fits, bottom_fed)]
    order = sorted(possible, key=lambda fit: fit.criterion)
    if fits["falling"].criterion < order[0].criterion + MARGIN:
        order = [fits["falling"]]
    outcome, size = _outcome(seen, order[0], bottom_fed)
    if outcome == "even" and not bottom_fed and _rises(seen, fits["rising"]):
        outcome = "rising"
    rivals = [
        _outcome(seen, fit, bottom_fed)[0] for fit in order[1:] if fit.criterion < order[0].criterion + MARGIN
    ]
    if any(rival != outcome for rival in rivals):
        outcome = "unclear"
    left = _left_share(order[0])
    return Pattern(outcome=outcome, fits=fits, entering_k=_entering_k(order[0]), left_share=left, size=size)


def _is_worth_fitting(seen: Front, name: str) -> bool:
    """Whether the front shows what air or a deposit cannot do without."""
    if name.startswith("air"):
        return _top_share(seen) < _TOP_COLDER
    return name != "deposit" or _columns_differ(seen)


def _is_possible(seen: Front, fit: Fit, fits: Mapping[str, Fit], bottom_fed: bool) -> bool:
    """Whether the front itself shows what a model needs."""
    foot = _foot_share(seen, fits["rising"])
    if fit.name == "rising":
        return foot > (_FOOT_AS_WARM if bottom_fed else _FOOT_WARMER)
    if fit.name != "deposit":
        return True
    if bottom_fed:
        # What is meant to be goes before what may be wrong.
        return fits["rising"].criterion > fit.criterion + 2.0 * MARGIN
    return foot < _FOOT_MUCH_WARMER


def _outcome(seen: Front, fit: Fit, bottom_fed: bool) -> tuple[str, float]:
    """What a fitted model says, and the share of heat that an irregularity takes."""
    size, left = _loss(fit), _left_share(fit)
    shows = size >= LEAST_LOSS and _dip_k(fit) >= LEAST_DIP_K
    if fit.name.startswith("air") and shows:
        return "cold-top", size
    if fit.name == "deposit" and shows and _bottom_share(fit) >= _BOTTOM_STAYS_WARM:
        return "cold-middle", size
    if fit.name == "rising" and not bottom_fed and _dip_k(fit) >= LEAST_DIP_K:
        return "rising", 0.0
    if fit.name == "air-at-end":
        return "unclear", 0.0
    if fit.name == "deposit" and shows:
        left = min(left, _bottom_share(fit))
    if left >= ENOUGH_WATER_FROM:
        return "even", 0.0
    return ("cold-bottom", 0.0) if left <= LITTLE_WATER_BELOW else ("unclear", 0.0)


def _foot_share(seen: Front, fit: Fit) -> float:
    """Excess at the foot over that at the head of the end where water rises, 1 where it cannot be told."""
    p = fit.numbers
    beside = seen.along if p[8] > 0.0 else 1.0 - seen.along
    end = seen.excess_k[:, beside < max(0.8 * p[3], beside.min() + 0.06)]
    known = np.flatnonzero(np.isfinite(end).any(axis=1))
    if known.size < _LEAST_ROWS:
        return 1.0
    third = max(known.size // 3, 1)
    return float(np.nanmedian(end[known[-third:]]) / np.nanmedian(end[known[:third]]))


def _rises(seen: Front, fit: Fit) -> bool:
    """Whether one end is clearly warmest at its foot, which falling water cannot do."""
    share = _foot_share(seen, fit)
    return share > _FOOT_RISES and (share - 1.0) * float(np.nanpercentile(seen.excess_k, 90)) > _FOOT_RISES_K


def _columns_differ(seen: Front) -> bool:
    """Whether the bottom is cold against the top in part of the length only."""
    known = np.flatnonzero(np.isfinite(seen.excess_k).any(axis=1))
    third = max(known.size // 3, 1)
    with np.errstate(invalid="ignore"):
        foot, head = (_column_means(seen.excess_k[rows]) for rows in (known[-third:], known[:third]))
        share = foot / head
    share = share[np.isfinite(share)]
    return bool(share.size and np.min(share) < _COLUMNS_APART * np.percentile(share, 95))


def _column_means(rows_k: FloatArray) -> FloatArray:
    count = np.isfinite(rows_k).sum(axis=0)
    return np.asarray(np.where(count > 0, np.nansum(rows_k, axis=0) / np.maximum(count, 1), np.nan))


def _top_share(seen: Front) -> float:
    """Excess of the uppermost cells over that of the middle, 1 where it cannot be told."""
    known = np.flatnonzero(np.isfinite(seen.excess_k).sum(axis=1) >= _LEAST_ROWS)
    if known.size < _LEAST_ROWS:
        return 1.0
    rows = np.array([np.nanmean(seen.excess_k[row]) for row in known])
    return float(rows[0] / np.median(rows[1:]))


def _bottom_share(fit: Fit) -> float:
    """Warmest excess along the bottom over that along the top."""
    along, _ = _grid()
    model = MODELS[fit.name].model
    x = along[0]
    top = model(fit.numbers, x, np.full_like(x, 0.05))
    return float(np.percentile(model(fit.numbers, x, np.full_like(x, 0.95)), 90) / top.max())


def _grid() -> tuple[FloatArray, FloatArray]:
    along, down = np.meshgrid(np.linspace(0.025, 0.975, 20), np.linspace(0.025, 0.975, 20))
    return along, down


def _loss(fit: Fit) -> float:
    """Share of the heat that the irregularity of a model takes."""
    if fit.name in ("falling", "rising"):
        return 0.0
    return float(1.0 - _with(fit).sum() / _without(fit).sum())


def _dip_k(fit: Fit) -> float:
    """How far the irregularity falls below what the front would have without it."""
    if fit.name == "rising":
        p = fit.numbers
        return float(p[0] * (1.0 - p[5] * np.exp(-p[4] - p[1] - p[2])))
    return float((_without(fit) - _with(fit)).max())


def _with(fit: Fit) -> FloatArray:
    return MODELS[fit.name].model(fit.numbers, *_grid())


def _without(fit: Fit) -> FloatArray:
    """The front of a model without its air or deposit."""
    if fit.name == "air-at-end":
        return air_at_end(np.where(np.arange(9) == _AIR_SHARE, 0.0, fit.numbers), *_grid())
    return falling(fit.numbers, *_grid())


def _entering_k(fit: Fit) -> float:
    return float(np.percentile(_with(fit), 98))


def _left_share(fit: Fit) -> float:
    """Excess of the lowest water over that of the highest, without what air or a deposit took."""
    along, _ = _grid()
    x = along[0]
    if fit.name == "rising":
        p = fit.numbers
        return float(np.clip(p[5] * np.exp(-p[4] - p[1] - p[2]), 0.0, 1.0))
    if fit.name == "air-at-end":
        return 1.0  # what leaves has hardly cooled
    top = falling(fit.numbers, x, np.zeros_like(x))
    bottom = falling(fit.numbers, x, np.ones_like(x))
    return float(np.clip(bottom.mean() / top.max(), 0.0, 1.0))
