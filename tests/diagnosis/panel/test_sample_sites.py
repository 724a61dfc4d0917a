"""The invented cabinets, worked by their surveyors, lead to what is true of them."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.panel.causes.wording import source
from thermalkit.diagnosis.run import run
from thermalkit.language import render
from thermalkit.record.store import read_record, replay
from thermalkit.site import read_site

SITES = Path(__file__).parents[3] / "sample_sites"
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def found():
    """Findings of both sites from the decisions in their records, the earlier visit's too."""
    results = {}
    for name in ("switch-room", "cabinet-round"):
        folder = SITES / name
        before = folder / "earlier"
        earlier = (replay(read_record(before, "panel")),) if before.is_dir() else ()
        results[name] = run("panel", read_site(folder), replay(read_record(folder, "panel")), *earlier)
    return results


def truth(name):
    rows = tomllib.loads((SITES / name / "truth.toml").read_text(encoding="utf-8"))["rows"]
    return {row["id"]: row for row in rows}


def leading(findings, circuit):
    """The likeliest explanation of a circuit."""
    (cause,) = (f for f in findings.findings if f.code == "panel.cause" and f"/ {circuit} " in f.place)
    return cause.alternatives[0].name


def test_no_decision_is_missing_or_stale(found):
    assert not {name: findings.open_steps for name, findings in found.items() if findings.open_steps}


@pytest.mark.parametrize(
    ("name", "cabinet"),
    [("switch-room", "MDB-1"), ("switch-room", "DB-2"), ("cabinet-round", "UV3"), ("cabinet-round", "UV4")],
)
def test_the_true_explanation_is_first(found, name, cabinet):
    """Invented truth of the site's maker."""
    row = truth(name)[cabinet]
    assert leading(found[name], row["circuit"]) == source(row["fault"])


def test_warm_and_sound_boards_are_in_order(found):
    """Boards 1, 2 and 6: all circuits in the healthy list; board 7 was not seen."""
    quiet = [f for f in found["cabinet-round"].findings if f.code == "panel.in-order"]
    counts = {f.place[16:17]: render(f.statement, "en").split(": ")[1][:1] for f in quiet}
    assert [counts[board] for board in "126"] == ["6", "6", "6"]
    assert [f.place for f in found["cabinet-round"].findings if f.code == "panel.covered"] == [
        "Unterverteilung 7, Keller"
    ]


def test_a_reflection_is_no_exception(found):
    """Board 5: told once for the cabinet, with no temperature and no urgency."""
    about = [f for f in found["cabinet-round"].findings if f.place.startswith("Unterverteilung 5")]
    told = [f for f in about if f.code == "panel.bright"]
    assert len(told) == 1
    assert any(reason.id == "panel.bright.moved" for reason in told[0].reasons)
    assert not any(f.verdict == "indicated" for f in about)


def test_the_repair_shows_with_the_load_taken_out(found):
    """Board 2: the remade joint is better; no other circuit of boards 1, 2 and 6 has changed."""
    changed = [f for f in found["cabinet-round"].findings if f.code == "panel.change"]
    moved = {f.place for f in changed if f.statement.id not in ("change.none", "change.never-taken")}
    quiet = [place for place in moved if place[16:17] in "126"]
    row = next(
        row
        for row in tomllib.loads(
            (SITES / "cabinet-round" / "earlier" / "truth.toml").read_text(encoding="utf-8")
        )["rows"]
        if row["fault"] == "connection"
    )
    assert [place.split(" / ")[1].split()[0] for place in quiet] == [row["circuit"]]
    repaired = next(f for f in changed if f"/ {row['circuit']} " in f.place)
    assert np.sign(repaired.quantities[0].measured.high) < 0


def test_a_sound_circuit_of_a_round_was_looked_at_again(found):
    """All seven boards of both visits are the same by the site's maker, so no place has gone."""
    changes = found["cabinet-round"].changes
    gone = {item.place for item in changes if item.outcome == "gone"}
    assert not gone - {item.place for item in changes if item.after is not None}
