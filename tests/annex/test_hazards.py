"""Classes and dates of the user's own table, and of nobody else."""

import csv
import io
from dataclasses import replace
from datetime import date, timedelta

import pytest

from thermalkit.annex.build import page, write_annex
from thermalkit.annex.hazards import hazard
from thermalkit.site.hazard_classes import hazard_rows_in

HEAD = "code,verdict,class,act_within_days,source\n"


@pytest.fixture
def classed(site):
    """The invented site with a table: anything of damp within four weeks, what is indicated within one."""

    def with_table(text):
        rows, problems = hazard_rows_in((HEAD + text).encode())
        assert not problems
        return replace(site, hazard_classes=rows)

    return with_table


TWO = "damp.*,,two,28,House rules of the invented office\ndamp.*,indicated,one,7,House rules\n"


def test_without_a_table_there_is_no_class(findings, site, record):
    """No class and no date is built in."""
    html = page(findings, site, record, "en").decode()
    assert "hazard-classes" not in html.partition("<body>")[2]
    assert all(hazard(f, site) is None for f in findings.findings)


def test_dates_are_counted_from_the_visit(findings, classed):
    """Seven days for what is indicated, else twenty-eight."""
    site = classed(TWO)
    start = site.keys.site.surveyed_at.date()
    due = {f.verdict == "indicated": hazard(f, site).act_by for f in findings.findings}
    assert due == {True: start + timedelta(days=7), False: start + timedelta(days=28)}


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("en", ("Author's own class: one, act by", "none of them is law", "House rules")),
        ("de", ("Eigene Klasse des Verfassers: one, handeln bis", "keine wird dadurch Vorschrift")),
    ],
)
def test_the_annex_names_the_table_as_the_authors_own(findings, classed, record, language, words):
    """Class, day and source, on page one and in a part of its own."""
    html = page(findings, classed(TWO), record, language).decode().replace("&#39;", "'")
    assert all(text in html for text in words)
    assert 'href="#hazard-classes"' in html.partition("<nav")[2].partition("</nav>")[0]


def test_a_table_that_speaks_of_nothing_found_says_so(findings, classed, record):
    """Silence would read as no hazard."""
    html = page(findings, classed("panel.*,,one,1,own\n"), record, "en").decode()
    assert "speaks of none of these findings" in html


def test_a_hostile_table_does_nothing(findings, classed, record):
    """It is text like any other."""
    html = page(findings, classed('damp.*,,<script>x()</script>,,"<img src=x onerror=x()>"\n'), record, "en")
    assert b"<script>x()" not in html
    assert b"<img src=x" not in html


def test_the_jobs_carry_the_class_to_be_acted_on_first(findings, classed, record, tmp_path):
    """Class, day as a spreadsheet sorts it, source."""
    site = classed(TWO)
    write_annex(tmp_path / "damp.html", findings, site, record)
    rows = list(csv.DictReader(io.StringIO((tmp_path / "damp.actions.csv").read_text("utf-8-sig"))))
    assert {row["hazard_class"] for row in rows} <= {"one", "two"}
    assert all(date.fromisoformat(row["act_by"]) for row in rows)
    assert all(row["hazard_class"] == "one" for row in rows if row["verdict"] == "indicated")
    assert "House rules" in {row["hazard_source"] for row in rows}
