"""What compares between two visits of a house."""

import tomllib
from pathlib import Path

from thermalkit.diagnosis.envelope.compared import compared
from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, replay
from thermalkit.site import read_site

REPAIRED = Path(__file__).parents[3] / "sample_sites" / "repaired-corner"


def test_factor_and_flow_of_each_place(worked):
    """The factor stands for the place; more of it is better, more heat flow is worse."""
    items = [c for c in compared(worked("shutter-box")) if c.mark == "Ringbalken"]
    assert [(c.term, c.higher_is) for c in items] == [
        ("temperature-factor", "better"),
        ("extra-heat-flow", "worse"),
    ]
    assert all(c.draws.shape == (10_000,) for c in items)
    assert not any(c.needs_alike_weather for c in items)


def test_a_cooled_place_compares_its_outdoor_share(worked):
    items = [c for c in compared(worked("cooled-flat")) if c.mark == "bay"]
    assert [c.term for c in items] == ["outdoor-share", "extra-heat-flow"]


def factor(folder):
    marks = tomllib.loads((folder / "truth.toml").read_text(encoding="utf-8"))["marks"]
    return next(mark["factor"] for mark in marks if mark["id"] in ("corner", "suspect"))


def test_the_true_change_of_a_repair_lies_within_its_interval():
    """The same marks before and after, at different weather; truth of both visits' makers."""
    site = read_site(REPAIRED)
    records = [replay(read_record(folder, "envelope")) for folder in (REPAIRED, REPAIRED / "earlier")]
    found = run("envelope", site, *records)
    (change,) = (c for c in found.changes if c.mark == "corner" and c.term.id == "temperature-factor")
    true = factor(REPAIRED) - factor(REPAIRED / "earlier")
    assert change.outcome == "better"
    assert change.change.measured.low < true < change.change.measured.high
    before, after = change.before.measured, change.after.measured
    apart = (before.high - before.low) + (after.high - after.low)
    assert change.change.measured.high - change.change.measured.low < 0.8 * apart
