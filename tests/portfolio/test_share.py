"""The share of a stock past a limit, against stocks whose every dwelling is known.

Margins of invented stocks are normal or skewed either way, types differ in mean and spread, measurement
errors differ from visit to visit; some types were never visited.
"""

from __future__ import annotations

import os

import numpy as np
import pytest

from thermalkit.portfolio.share import Dwelling, estimated_share

STOCKS = int(os.environ.get("THERMALKIT_SCENES", "40"))


def invented_stock(rng):
    """Visited dwellings, dwellings of each type, the true share."""
    common = rng.normal(0.03, 0.05)
    stock, visited, past = {}, [], 0
    for number in range(rng.integers(3, 9)):
        count = int(rng.integers(40, 800))
        skew = (-1.0, 0.0, 1.0)[rng.integers(3)]
        shape = rng.gamma(3.0, 1.0, count)
        spread = skew * (shape - 3.0) / np.sqrt(3.0) if skew else rng.standard_normal(count)
        margins = common + rng.normal(0.0, 0.06) + rng.uniform(0.03, 0.08) * spread
        past += int(np.sum(margins < 0.0))
        stock[f"type {number}"] = count
        for margin in margins[: rng.integers(0, 60)]:
            deviation = rng.uniform(0.015, 0.06)
            seen = margin + deviation * rng.standard_normal()
            visited.append(Dwelling(type=f"type {number}", margin=seen, deviation=deviation))
    return visited, stock, past / sum(stock.values())


@pytest.mark.slow
def test_the_interval_holds_the_true_share():
    """92.5 to 98.5 % of 300 stocks; of fewer, as far as their number allows."""
    held = []
    for seed in range(STOCKS):
        visited, stock, truth = invented_stock(np.random.default_rng([7, seed]))
        share = estimated_share(visited, stock, kept=500).share
        held.append(share.low <= truth <= share.high)
    slack = 1.96 * np.sqrt(0.05 * 0.95 / STOCKS) if STOCKS < 300 else 0.0
    assert 0.925 - slack <= np.mean(held) <= min(0.985 + slack, 1.0)


def known(type_name, margins):
    return [Dwelling(type=type_name, margin=margin, deviation=1e-3) for margin in margins]


def test_a_stock_visited_whole_and_measured_well_is_counted():
    """Nothing is left to estimate: 3 of 12."""
    share = estimated_share(known("a", [-0.1] * 3 + [0.1] * 9), {"a": 12})
    assert share.share.value == share.share.low == share.share.high == 0.25
    assert share.more_visits == 0


def test_a_type_with_few_visits_borrows_from_the_others():
    """One visit tells little beside many to types that are alike."""
    others = [item for name in "bcd" for item in known(name, [-0.1] * 20 + [0.1] * 20)]
    share = estimated_share([*known("a", [0.1]), *others], dict.fromkeys("abcd", 400))
    few, many = share.types[0].share, share.types[1].share
    assert few.high - few.low > many.high - many.low
    assert 0.2 < few.value < 0.6


def test_a_type_never_visited_is_wide():
    """It gets what types are like, not nothing."""
    share = estimated_share(known("a", [-0.1] * 10 + [0.1] * 10), {"a": 20, "b": 100})
    assert share.types[1].visited == 0
    assert share.types[1].share.high - share.types[1].share.low > 0.3


def test_more_visits_are_fewer_where_less_is_asked_and_none_where_measurement_is_the_trouble():
    """Visits narrow what is not visited, never what is measured badly."""
    visited = known("a", [-0.1] * 15 + [0.1] * 35)
    near, far = (estimated_share(visited, {"a": 2000}, within=w).more_visits for w in (0.03, 0.10))
    assert near > far
    blurred = [Dwelling(type="a", margin=0.01 * (-1) ** n, deviation=0.2) for n in range(40)]
    assert estimated_share(blurred, {"a": 40}).more_visits is None


def test_without_visits_there_is_no_share():
    """Nothing was seen."""
    with pytest.raises(ValueError, match="no dwelling"):
        estimated_share([], {"a": 3})
