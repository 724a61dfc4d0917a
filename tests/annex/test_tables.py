import csv
from dataclasses import replace

from thermalkit.annex.tables import ACTIONS_COLUMNS, FINDINGS_COLUMNS, actions_csv, findings_csv


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
    for start in "=+-@\t\r":
        hostile = replace(findings.findings[0], place=f"{start}1+1", mark=f"{start}x")
        table = findings_csv(replace(findings, findings=(hostile,)), "en").decode("utf-8-sig")
        row = next(csv.DictReader(table.splitlines(keepends=True)))
        assert row["place"] == f"'{start}1+1"
        assert row["mark"] == f"'{start}x"
    cold = findings.findings[0].quantities[0]
    cold = replace(cold, measured=replace(cold.measured, low=-3.0))
    frost = replace(findings.findings[0], quantities=(cold,))
    assert read(findings_csv(replace(findings, findings=(frost,)), "en"))[0]["low"] == "-3.0"


def test_each_job_has_its_row(findings):
    """As many rows as next steps, with the cautions as precondition."""
    rows = read(actions_csv(findings, "en"))
    assert tuple(rows[0]) == ACTIONS_COLUMNS
    assert len(rows) == sum(len(f.next_steps) for f in findings.findings)
    assert all(row["by"] and row["job"] for row in rows)
