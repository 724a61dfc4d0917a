"""Which missing thing would narrow a result most."""

from __future__ import annotations

from pathlib import Path

import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.narrowing import narrowing, narrowings
from thermalkit.site import read_site

SITE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"


@pytest.fixture
def case():
    return Case(site=read_site(SITE))


def total(case):
    """Of two rectangular inputs, half-widths 3 and 1."""
    return case.draws.rectangular("wide one", 3.0) + case.draws.rectangular("slim one", 1.0)


def test_the_widest_input_comes_first(case):
    """By hand: the central 95 % of a rectangle of half-width a is 1.9 a.

    The trapezium leaves 2.5 % beyond x, (4 - x)²/24 = 0.025, so x = 3.225 and the width is 6.45.
    """
    ranked = narrowing(case, total, ("slim", "wide", "absent"))
    assert [name for name, _ in ranked] == ["wide", "slim", "absent"]
    shares = dict(ranked)
    assert shares["wide"] == pytest.approx(1.0 - 1.9 / 6.45, abs=0.03)
    assert shares["slim"] == pytest.approx(1.0 - 5.7 / 6.45, abs=0.03)
    assert shares["absent"] == 0.0


def test_several_results_are_worked_out_together(case):
    """Once as it is and once for each input, however many results; one that cannot be given ranks nothing."""
    runs = []

    def results(known):
        runs.append(known)
        return {"sum": total(known), "none": None}

    found = narrowings(case, results, ("wide", "slim"))
    assert found["sum"][0][0] == "wide"
    assert found["none"] == []
    assert len(runs) == 3
