"""Verdicts and limit sets."""

from __future__ import annotations

import pytest

from thermalkit.diagnosis.finding import Limit, quantity
from thermalkit.diagnosis.judging import limit_set_of, limit_sets, verdict
from thermalkit.diagnosis.proposals import limit_step
from thermalkit.glossary import TERMS
from thermalkit.language import render, say
from thermalkit.measured import Measured


def judged(low, high, limit, sense):
    term = "temperature-factor"
    item = quantity(term, Measured(value=(low + high) / 2, low=low, high=high, unit=""))
    return verdict(
        item, Limit(term=TERMS[term], sense=sense, value=limit, source=say("limit.surface-humidity"))
    )


@pytest.mark.parametrize(
    ("low", "high", "sense", "expected"),
    [
        (0.50, 0.69, "at_least", "indicated"),
        (0.71, 0.80, "at_least", "not indicated"),
        (0.60, 0.80, "at_least", "inconclusive"),
        (0.50, 0.70, "at_least", "inconclusive"),  # the limit on the edge of the interval decides nothing
        (0.70, 0.80, "at_least", "inconclusive"),
        (0.71, 0.80, "at_most", "indicated"),
        (0.50, 0.69, "at_most", "not indicated"),
        (0.50, 0.70, "at_most", "inconclusive"),
    ],
)
def test_a_verdict_needs_the_limit_outside_the_interval(low, high, sense, expected):
    """Strictly outside, as the findings contract says."""
    assert judged(low, high, 0.70, sense) == expected


def test_published_limits():
    """DIN 4108-2: 0.70 at 20/-5 °C, 50 %, 0.25 m²K/W; BRE IP 1/06: 0.75 for dwellings."""
    german, british = limit_sets()["DE-dwelling"], limit_sets()["GB-dwelling"]
    assert (german.factor, german.film_m2k_w, german.indoor_degc, german.outdoor_degc) == (
        0.70,
        0.25,
        20.0,
        -5.0,
    )
    assert (german.indoor_humidity, german.surface_humidity) == (0.50, 0.80)
    assert british.factor == 0.75


def test_every_row_of_the_limits_is_plausible():
    """Range-checked row by row; what is from memory says so."""
    for item in limit_sets().values():
        assert 0.2 <= item.factor <= 0.95
        assert 0.10 <= item.film_m2k_w <= 0.30
        assert 0.6 <= item.surface_humidity <= 1.0
        assert item.outdoor_degc < item.indoor_degc
        assert item.confidence in {"published", "from memory", "common practice"}
        assert item.source
        assert item.conditions


def test_a_country_without_a_set_gets_the_general_one():
    assert limit_set_of("GB") == "GB-dwelling"
    assert limit_set_of("SE") == limit_set_of("") == "general"


@pytest.mark.parametrize(
    ("language", "shown"),
    [
        ("en", "DE-dwelling: dwellings, f_Rsi ≥ 0.70 (DIN 4108-2)"),
        ("de", "f_Rsi ≥ 0,70 (DIN 4108-2)"),
    ],
)
def test_a_set_of_limits_is_offered_with_its_number(language, shown):
    """DIN 4108-2 asks for 0.70 (from memory); a surveyor chooses by the number, not by a name."""
    assert shown in render(limit_step("damp").control.options(None)["DE-dwelling"], language)
