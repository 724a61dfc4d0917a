"""Every invented site of the envelope, worked by its surveyor, leads to what is true of it."""

import tomllib
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, replay
from thermalkit.site import read_site

SITES = Path(__file__).parents[3] / "sample_sites"
NAMES = sorted(path.parents[1].name for path in SITES.glob("*/record/envelope.json"))
FLOWS = ("cooled-flat", "shutter-box")


@pytest.fixture(scope="module")
def found():
    return {
        name: run("envelope", read_site(SITES / name), replay(read_record(SITES / name, "envelope")))
        for name in NAMES
    }


def truth(name):
    return tomllib.loads((SITES / name / "truth.toml").read_text(encoding="utf-8"))


def test_no_decision_is_missing_or_stale(found):
    """Every record fits its site."""
    assert set(FLOWS) <= set(NAMES)
    assert not {name: findings.open_steps for name, findings in found.items() if findings.open_steps}


@pytest.mark.parametrize("name", FLOWS)
def test_the_true_heat_flow_of_each_place_lies_within_its_interval(found, name):
    """Truth of the site's maker, for the marks its surveyor drew."""
    flows = {
        f.mark: f.quantities[0].measured for f in found[name].findings if f.code == "envelope.loss.extra"
    }
    for mark, true in truth(name)["extra_heat_flow_w_k"].items():
        assert flows[mark].low < true < flows[mark].high


def test_the_true_factors_of_the_renovation_lie_within_theirs(found):
    factors = {
        f.mark: f.quantities[0].measured
        for f in found["shutter-box"].findings
        if f.code == "envelope.temperature-factor"
    }
    for mark in truth("shutter-box")["marks"]:
        if mark["id"] in ("Rollladenkasten", "Ringbalken"):
            assert factors[mark["id"]].low < mark["factor"] < factors[mark["id"]].high


def test_a_cooled_flat_gets_two_findings_for_each_place(found):
    """The room's air stays dry on it, outdoor air that leaks in does not; and heat comes in."""
    for mark in ("slab edge", "bay"):
        here = {f.code: f for f in found["cooled-flat"].findings if f.mark == mark}
        assert here["envelope.room-air"].verdict == "not indicated"
        assert here["envelope.leaked-air"].verdict == "indicated"
        assert here["envelope.leaked-air"].next_steps
        assert here["envelope.loss.gain-now"].quantities[0].measured.low > 0.0
        assert "envelope.temperature-factor" not in here
        assert "envelope.loss.year-gain" in here


def test_an_empty_bay_looks_like_one(found):
    """A rectangle, as drawn; the slab edge a line."""
    shapes = {
        f.mark: f.statement.id for f in found["cooled-flat"].findings if f.code == "envelope.shape.outline"
    }
    assert shapes == {"slab edge": "envelope.shape.line", "bay": "envelope.shape.rectangle"}
