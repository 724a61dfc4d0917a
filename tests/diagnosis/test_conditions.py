"""Remarks on a survey: what was noticed of a frame and what it does to the result."""

import tomllib
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import accept, run
from thermalkit.language import render
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site import read_site

SITE = Path(__file__).parents[2] / "sample_sites" / "strip-bedroom"


@pytest.fixture(scope="module")
def findings():
    site = read_site(SITE)
    record = read_record(SITE, "damp")
    return run("damp", site, replay(record), recall(record))


@pytest.mark.parametrize(("language", "said"), [("en", "rounded ends"), ("de", "gerundeten Enden")])
def test_what_a_coloured_picture_leaves_open_is_said(findings, language, said):
    """Half a degree of rounding and a pixel of the strip, in every interval."""
    [remark] = [r for r in findings.survey.remarks if r.statement.id == "conditions.coloured"]
    assert remark.effect == "widens"
    text = render(remark.statement, language).replace("\xa0", " ").replace(",", ".")
    assert said in text
    assert "0.5 K" in text


def test_a_frame_of_numbers_has_no_such_remark():
    findings = run("damp", read_site(SITE.with_name("sound-wall")), accept)
    assert all(remark.statement.id != "conditions.coloured" for remark in findings.survey.remarks)


def test_the_truth_lies_within_what_colours_give(findings):
    """Coldest spot and sound wall of the scene, from a JPEG of rounded ends."""
    truth = tomllib.loads((SITE / "truth.toml").read_text(encoding="utf-8"))
    marks = {mark["id"]: mark for mark in truth["marks"]}
    for mark, of in (("cold", "suspect"), ("sound", "sound")):
        [found] = [
            q.measured
            for finding in findings.findings
            if finding.mark == mark and finding.code == "damp.temperature-factor"
            for q in finding.quantities
            if q.term.symbol == "f_Rsi"
        ]
        assert found.low < marks[of]["factor"] < found.high
