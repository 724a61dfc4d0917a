"""Every invented site, worked by its surveyor, leads to what is true of it."""

import tomllib
from pathlib import Path

import pytest

from thermalkit.diagnosis.damp.causes.wording import source
from thermalkit.diagnosis.run import run
from thermalkit.language import render, say
from thermalkit.record.store import read_record, replay
from thermalkit.site import read_site

SITES = Path(__file__).parents[3] / "sample_sites"
LEADING = ("ground-moisture", "pipe-leak", "rain-gable", "cooled-bedroom", "old-stain")


@pytest.fixture(scope="module")
def found():
    """Findings of every site by its name, from the decisions in its record."""
    folders = [path.parents[1] for path in SITES.glob("*/record/damp.json")]
    return {
        folder.name: run("damp", read_site(folder), replay(read_record(folder, "damp"))) for folder in folders
    }


def causes(findings):
    return [finding for finding in findings.findings if finding.code == "damp.cause"]


def codes(findings):
    return {finding.code for finding in findings.findings}


def test_no_decision_is_missing_or_stale(found):
    """Every record fits its site."""
    assert not {name: findings.open_steps for name, findings in found.items() if findings.open_steps}


@pytest.mark.parametrize("name", LEADING)
def test_the_first_named_source_is_the_true_one(found, name):
    """Invented truth of the site's maker; it leads with more than half."""
    truth = tomllib.loads((SITES / name / "truth.toml").read_text(encoding="utf-8"))["source_id"]
    (cause,) = causes(found[name])
    assert cause.alternatives[0].name == source(truth)
    assert cause.alternatives[0].probability > 0.5


def test_a_survey_that_cannot_answer_names_no_source(found):
    """It is not usable, says why, and says what to measure."""
    findings = found["cannot-answer"]
    assert not findings.survey.usable
    assert [remark.statement.id for remark in findings.survey.remarks if remark.effect == "excludes"] == [
        "conditions.difference-too-small",
        "conditions.sun-still-there",
    ]
    assert all(a.probability <= 0.5 for cause in causes(findings) for a in cause.alternatives)
    assert findings.findings[0].code == "damp.unanswered"
    assert findings.findings[0].next_steps


def test_a_cooled_room_gets_two_findings(found):
    """The room's air on the surface, and outdoor air that leaks in."""
    findings = {
        f.code: f for f in found["cooled-bedroom"].findings if f.mark == "outlet" and f.verdict is not None
    }
    assert findings["damp.season.surface-humidity"].verdict == "not indicated"
    assert findings["damp.season.leaked-air"].verdict == "indicated"
    assert "\u2212" not in render(findings["damp.season.leaked-air"].statement, "en")


@pytest.mark.parametrize("name", ["ground-moisture", "rain-gable", "pipe-leak"])
def test_loggers_acquit_the_room_air(found, name):
    """At the wet place the room's air stays far from the limit over the fortnight."""
    (finding,) = (
        f for f in found[name].findings if f.code == "damp.season.surface-humidity" and f.mark == "cold"
    )
    assert finding.verdict == "not indicated"


@pytest.mark.parametrize(
    ("name", "is_wet"), [("ground-moisture", True), ("rain-gable", True), ("cold-corner", False)]
)
def test_the_factor_of_a_wet_wall_does_not_judge_its_construction(found, name, is_wet):
    """Evaporation cools it (common practice): the sentence itself says so, with the caution beside it."""
    broken = [
        finding
        for finding in found[name].findings
        if finding.code in ("damp.temperature-factor", "damp.surface-humidity-at-conditions")
        and finding.verdict == "indicated"
    ]
    assert broken
    for finding in broken:
        assert finding.statement.id.endswith(".drying") == is_wet
        assert (say("caution.drying") in finding.cautions) == is_wet


def test_cures_are_as_probable_as_the_source_that_they_cure(found):
    """So that they are told as the likeliest cause's and not as further steps."""
    (cause,) = causes(found["cold-corner"])
    (cure,) = [f for f in found["cold-corner"].findings if f.code == "damp.cure.combined"]
    assert cure.probability == cause.alternatives[0].probability > 0.5


def test_nothing_asks_to_plan_what_is_weighed_already(found):
    """Each way to stop condensation has its own step and trade there."""
    place = causes(found["cold-corner"])[0].place
    asked = [s.step.id for f in found["cold-corner"].findings if f.place == place for s in f.next_steps]
    assert "damp.cure.next.insulation" in asked
    assert not {"damp.next.construction", "damp.season.next.look"}.intersection(asked)
