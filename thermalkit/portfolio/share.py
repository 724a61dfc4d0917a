r"""The share of a stock of dwellings that lies past a limit, with partial pooling by type.

Two steps in one chain of Gibbs samples. A dwelling's true margin is normal about the mean of its type, the
means of types normal about a common one; what was measured is normal about the true margin. This shrinks
uncertain dwellings towards their type and tells how many of the visited ones lie past the limit. The share
of each type is then beta, the types' shares drawn from one beta distribution whose mean and weight are
unknown too (a grid), so that types with few visits borrow from the others; dwellings not visited are
binomial with their type's share. The shape of the margins' distribution thus matters only close to the limit.

Source
------
Gelman and others, Bayesian Data Analysis, chapters 5 (beta-binomial, weak prior on the weight) and 11 (Gibbs
sampling of the normal hierarchical model), from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from thermalkit.measured import FloatArray, Measured, measured

BURN_IN, KEPT = 300, 2000
_SEED = 4000
_MEANS = np.linspace(0.01, 0.99, 50)
_WEIGHTS = np.geomspace(0.5, 200.0, 16)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dwelling:
    """A visited dwelling: its type, how far it keeps from the limit (negative: past it), and how surely."""

    type: str
    margin: float
    deviation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeShare:
    """What is known of one type: dwellings in stock, visited ones, share past the limit (0 to 1)."""

    type: str
    dwellings: int
    visited: int
    share: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """The share of the whole stock (0 to 1) and of each type.

    `more_visits` is about how many further visits would bring the interval to `within` to either side;
    None where visits alone do not, since what was measured is itself too uncertain.
    """

    dwellings: int
    visited: int
    share: Measured
    types: tuple[TypeShare, ...]
    within: float
    more_visits: int | None


def estimated_share(
    visited: Sequence[Dwelling], stock: Mapping[str, int], *, within: float = 0.05, kept: int = KEPT
) -> Share:
    """Share of a stock past the limit.

    Parameters
    ----------
    visited : sequence of Dwelling
        At least one.
    stock : mapping of str to int
        Dwellings of each type, visited ones included; a type that is only visited counts as visited.
    within : float
        Half-width of the interval that would settle the question.
    kept : int
        Samples.

    Raises
    ------
    ValueError
        Nothing was visited.
    """
    if not visited:
        raise ValueError("no dwelling was visited")
    types = sorted({*stock, *(dwelling.type for dwelling in visited)})
    of = np.array([types.index(dwelling.type) for dwelling in visited])
    seen = np.bincount(of, minlength=len(types))
    total = np.maximum([stock.get(name, 0) for name in types], seen)
    margin = np.array([dwelling.margin for dwelling in visited])
    deviation = np.array([dwelling.deviation for dwelling in visited])
    past, shares = _chain(margin, deviation, of, seen, total, kept)
    whole = past.sum(axis=1) / total.sum()
    return Share(
        dwellings=int(total.sum()),
        visited=len(visited),
        share=measured(whole, ""),
        types=tuple(
            TypeShare(
                type=name,
                dwellings=int(total[i]),
                visited=int(seen[i]),
                share=measured(past[:, i] / total[i], ""),
            )
            for i, name in enumerate(types)
        ),
        within=within,
        more_visits=_more_visits(shares, past, seen, total, within),
    )


def _chain(
    margin: FloatArray,
    deviation: FloatArray,
    of: np.ndarray,
    seen: np.ndarray,
    total: np.ndarray,
    kept: int,
) -> tuple[FloatArray, FloatArray]:
    """Dwellings past the limit and shares of each type, both of shape (kept, types)."""
    rng = np.random.default_rng(_SEED)
    count = len(seen)
    scale = max(float(np.std(margin)), float(np.median(deviation)), 1e-9)
    true, means = margin.copy(), np.full(count, float(np.mean(margin)))
    middle, within2, between2 = float(np.mean(margin)), scale**2, scale**2
    past = np.empty((kept, count))
    shares = np.empty((kept, count))
    for step in range(BURN_IN + kept):
        weight = 1.0 / deviation**2 + 1.0 / within2
        centre = (margin / deviation**2 + means[of] / within2) / weight
        true = centre + rng.standard_normal(margin.size) / np.sqrt(weight)
        weight = seen / within2 + 1.0 / between2
        sums = np.bincount(of, weights=true, minlength=count)
        means = (sums / within2 + middle / between2) / weight + rng.standard_normal(count) / np.sqrt(weight)
        middle = float(np.mean(means) + rng.standard_normal() * np.sqrt(between2 / count))
        # Weak inverse-gamma priors of half the data's own scale keep both spreads from collapsing.
        within2 = _spread2(rng, true - means[of], 0.5 * scale)
        between2 = _spread2(rng, means - middle, 0.5 * scale)
        if step >= BURN_IN:
            broken = np.bincount(of, weights=true < 0.0, minlength=count).astype(np.float64)
            a, b = _pooled(rng, broken, seen)
            share = np.clip(rng.beta(a + broken, b + seen - broken), 1e-9, 1.0 - 1e-9)
            shares[step - BURN_IN] = share
            past[step - BURN_IN] = broken + rng.binomial(total - seen, share)
    return past, shares


def _spread2(rng: np.random.Generator, residuals: FloatArray, usual: float) -> float:
    shape, rate = 1.0 + residuals.size / 2.0, usual**2 + float(residuals @ residuals) / 2.0
    return rate / float(rng.gamma(shape))


def _pooled(rng: np.random.Generator, broken: FloatArray, seen: np.ndarray) -> tuple[float, float]:
    """One draw of the beta distribution that the shares of types come from."""
    from scipy.special import betaln

    a = _MEANS[:, None] * _WEIGHTS
    b = (1.0 - _MEANS[:, None]) * _WEIGHTS
    likelihood = np.zeros_like(a)
    for hits, visits in zip(broken, seen, strict=True):
        if visits:
            likelihood += betaln(a + hits, b + visits - hits) - betaln(a, b)
    likelihood -= np.log1p(_WEIGHTS)  # a weight about as likely small as large
    chance = np.exp(likelihood - likelihood.max()).ravel()
    chosen = int(rng.choice(chance.size, p=chance / chance.sum()))
    return float(a.ravel()[chosen]), float(b.ravel()[chosen])


def _more_visits(
    shares: FloatArray, past: FloatArray, seen: np.ndarray, total: np.ndarray, within: float
) -> int | None:
    """Visits, spread over types by what each leaves open, until the interval is narrow enough.

    A type's share after more visits varies as a share of that many dwellings does; dwellings left are
    binomial. What the measurement itself leaves open of the visited ones is not made smaller by visits.
    """
    mean = shares.mean(axis=0)
    spread = mean * (1.0 - mean)
    # How many dwellings a type's knowledge is worth now, what it borrows from other types included.
    worth = np.maximum(spread / np.maximum(shares.var(axis=0), 1e-12) - 1.0, 1.0)
    left = (total - seen).astype(np.float64)
    unvisited2 = float(np.sum(left**2 * spread / (worth + 1.0) + left * spread))
    measured2 = max(float(past.sum(axis=1).var()) - unvisited2, 0.0)

    def half_width(visits: float) -> float:
        need = left * np.sqrt(spread)
        more = np.minimum(left, visits * need / max(float(need.sum()), 1e-12))
        after = left - more
        open2 = after**2 * spread / (worth + more + 1.0) + after * spread
        return float(1.96 * np.sqrt(measured2 + open2.sum()) / total.sum())

    if half_width(float(left.sum())) > within:
        return None
    low, high = 0, int(left.sum())
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if half_width(float(middle)) <= within else (middle + 1, high)
    return low
