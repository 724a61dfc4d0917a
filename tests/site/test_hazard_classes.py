"""The user's own table of classes is checked like every other file of the folder."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.language import words_in
from thermalkit.site import read_site
from thermalkit.site.hazard_classes import hazard_of, hazard_rows_in

TABLE = """\
code,verdict,class,act_within_days,source
damp.*,,C,,own practice
damp.mould.*,indicated,B,28,own practice
damp.mould.index,indicated,A,7,own practice
damp.leak,noted,A,1,own practice
"""


def test_a_site_without_a_table_has_no_classes(folder):
    """None is built in."""
    assert read_site(folder.path).hazard_classes == ()


def test_the_table_of_a_site_is_read_and_fingerprinted(folder):
    """Its bytes belong to what the findings were made from."""
    (folder.path / "hazard_classes.csv").write_text(TABLE, "utf-8")
    site = read_site(folder.path)
    assert [row.hazard_class for row in site.hazard_classes] == ["C", "B", "A", "A"]
    assert "hazard_classes.csv" in site.files


@pytest.mark.parametrize(
    ("code", "verdict", "expected"),
    [
        ("damp.mould.index", "indicated", "A"),
        ("damp.mould.index", "inconclusive", "C"),
        ("damp.mould.humidity", "indicated", "B"),
        ("damp.leak", None, "A"),
        ("damp.leak", "indicated", "C"),
        ("heating.balance", "indicated", None),
        ("damp", "indicated", None),
    ],
)
def test_the_closest_row_counts(code, verdict, expected):
    """A whole code before a part of one, a verdict before none."""
    rows, problems = hazard_rows_in(TABLE.encode())
    row = hazard_of(rows, code, verdict)
    assert problems == []
    assert (row.hazard_class if row else None) == expected


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        ("Damp!,,A,7,own", "row 2, code", "a code of a finding"),
        ("damp.*.x,,A,7,own", "row 2, code", "a code of a finding"),
        ("damp.*,bad,A,7,own", "row 2, verdict", '"indicated", "inconclusive", "not indicated" or "noted"'),
        ("damp.*,,A,soon,own", "row 2, act_within_days", "0 to 3650"),
        ("damp.*,,A,2.5,own", "row 2, act_within_days", "whole number"),
        ("damp.*,,A,-1,own", "row 2, act_within_days", "0 to 3650"),
        ("damp.*,,,7,own", "row 2, class", "missing"),
        ("damp.*,,A,7,", "row 2, source", "missing"),
        ("damp.*,,A,7", "row 2", "4 cells"),
        ("damp.*,,A\u202e,7,own", "row 2, class", "direction"),
        ("damp.*,,A,7,own\ndamp.*,,B,,own", "row 3, code", "in a row above"),
    ],
)
def test_what_is_wrong_is_told_by_row(folder, row, place, words):
    """Where, what is allowed, the likely fix."""
    text = "code,verdict,class,act_within_days,source\n" + row + "\n"
    (folder.path / "hazard_classes.csv").write_text(text, "utf-8")
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    problems = {words_in(p.place, "en"): str(p) for p in caught.value.problems}
    assert list(problems) == [place]
    assert problems[place].startswith("hazard_classes.csv, ")
    assert words in problems[place]


def test_a_table_without_a_source_is_refused():
    """A class that nobody answers for is not shown to a client."""
    _, problems = hazard_rows_in(b"code,class\ndamp.*,A\n")
    assert [str(p) for p in problems] == ['hazard_classes.csv, row 1: no heading "source"']
