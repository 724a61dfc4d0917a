import csv
from dataclasses import replace
from itertools import groupby

import pytest

from thermalkit.annex.tables import ACTIONS_COLUMNS, FINDINGS_COLUMNS, actions_csv, findings_csv
from thermalkit.diagnosis.finding import NextStep
from thermalkit.language import say


def read(data):
    return list(csv.DictReader(data.decode("utf-8-sig").splitlines()))


def test_each_quantity_has_its_row(findings):
    """As many rows as quantities, with the columns promised."""
    rows = read(findings_csv(findings, "en"))
    assert tuple(rows[0]) == FINDINGS_COLUMNS
    assert len(rows) == sum(len(f.quantities) or 1 for f in findings.findings)


def test_numbers_are_those_of_the_findings(findings):
    """Values stay plain numbers with a decimal point, whatever the language."""
    for language in ("en", "de"):
        rows = read(findings_csv(findings, language))
        quantities = [q.measured for f in findings.findings for q in f.quantities]
        got = [(float(r["value"]), float(r["low"]), float(r["high"])) for r in rows if r["value"]]
        assert got == [(m.value, m.low, m.high) for m in quantities]


def test_limit_stands_where_it_is_held_against(findings):
    """Only the row of the limit's own quantity names it."""
    for row in read(findings_csv(findings, "en")):
        held = [
            f.limit
            for f in findings.findings
            if (f.code, f.place) == (row["code"], row["place"])
            and f.limit
            and f.limit.term.symbol == row["symbol"]
        ]
        assert row["limit"] == (str(held[0].value) if held else "")


def test_finding_without_quantities_has_a_row_all_the_same(findings):
    """Looked, nothing found, is a row."""
    bare = replace(findings, findings=(replace(findings.findings[0], quantities=(), limit=None),))
    assert len(read(findings_csv(bare, "en"))) == 1


def test_text_that_looks_like_a_formula_gets_an_apostrophe(findings):
    """A spreadsheet shows the text and computes nothing; negative numbers stay numbers."""
    for start in "=+-@\t\n＝＋－＠":
        hostile = replace(findings.findings[0], place=f"{start}1+1", mark=f"{start}x")
        table = findings_csv(replace(findings, findings=(hostile,)), "en").decode("utf-8-sig")
        row = next(csv.DictReader(table.splitlines(keepends=True)))
        assert row["place"] == f"'{start}1+1"
        assert row["mark"] == f"'{start}x"
    cold = findings.findings[0].quantities[0]
    cold = replace(cold, measured=replace(cold.measured, low=-3.0))
    frost = replace(findings.findings[0], quantities=(cold,))
    assert read(findings_csv(replace(findings, findings=(frost,)), "en"))[0]["low"] == "-3.0"


@pytest.fixture
def jobs(findings):
    return read(actions_csv(findings, "en"))


def test_each_job_of_a_place_has_one_row(jobs, findings):
    """What two findings of a place ask for is one job; nothing is lost."""
    asked = {
        (f["place"], step["step"], step["by"])
        for f in findings.as_json("en")["findings"]
        for step in f["next_steps"]
    }
    assert tuple(jobs[0]) == ACTIONS_COLUMNS
    assert sorted((row["place"], row["job"], row["by"]) for row in jobs) == sorted(asked)


def test_what_cannot_wait_stands_first_then_place_by_place(findings):
    """Jobs of a place stand together, the most urgent of them first."""
    last = findings.findings[-1]
    step = NextStep(step=say("annex.place"), by=say("annex.by"), at_once=True)
    hurried = replace(findings, findings=(*findings.findings[:-1], replace(last, next_steps=(step,))))
    jobs = read(actions_csv(hurried, "en"))
    assert [row["urgency"] for row in jobs].index("at once") == 0
    left = [row["place"] for row in jobs if row["urgency"] != "at once"]
    assert [place for place, _ in groupby(left)] == list(dict.fromkeys(left))
    assert len(set(left)) > 1
    order = ["soon", "next", "no hurry"]
    for place in set(left):
        ranks = [order.index(row["urgency"]) for row in jobs[1:] if row["place"] == place]
        assert ranks == sorted(ranks)


@pytest.mark.parametrize("verdict", ["indicated", "inconclusive", "not indicated", None])
def test_urgency_follows_the_verdict(findings, verdict):
    """Indicated is soon, inconclusive next, anything else in no hurry."""
    judged = tuple(replace(f, verdict=verdict) for f in findings.findings)
    jobs = read(actions_csv(replace(findings, findings=judged), "en"))
    words = {"indicated": "soon", "inconclusive": "next", "not indicated": "no hurry", "": "no hurry"}
    assert all(row["urgency"] == words[row["verdict"]] for row in jobs)
    assert jobs


def test_each_job_says_what_to_heed_before(jobs, findings):
    """The cautions of the finding are the precondition; the quantity is for whoever takes it off on site."""
    cautions = {f["code"] + f["place"]: f["cautions"] for f in findings.as_json("en")["findings"]}
    assert all(row["precondition"] == " ".join(cautions[row["finding"] + row["place"]]) for row in jobs)
    assert any("asbestos" in row["precondition"] for row in jobs)
    assert {row["quantity"] for row in jobs} == {""}
