"""How many dwellings there are, and which sites."""

from __future__ import annotations

import pytest

from thermalkit.errors import ReadingError
from thermalkit.language import words_in
from thermalkit.portfolio.kept import keep, kept_row, sites_in
from thermalkit.portfolio.rows import Row
from thermalkit.portfolio.stock import read_stock


def test_stock_is_counted_by_type(tmp_path):
    """Rows of one construction and period add up; a year may be missing."""
    text = "construction,built,dwellings\nsolid brick,1905,120\nsolid brick,1880,30\n,,7\n"
    (tmp_path / "stock.csv").write_text(text)
    assert read_stock(tmp_path) == {"solid brick, –1919": 150, "?, ?": 7}
    assert read_stock(tmp_path / "elsewhere") == {}


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("type,count\n", "row 1"),
        ("construction,built,dwellings\nbrick,1905,-3\n", "row 2, dwellings"),
        ("construction,built,dwellings\nbrick,1905,1e9\n", "row 2, dwellings"),
        ("construction,built,dwellings\nbrick,190,5\n", "row 2, built"),
        ("construction,built,dwellings\nbrick,1905,\n", "row 2, dwellings"),
        ("construction,built,dwellings\nbrick\n", "row 2"),
        ("construction,built,dwellings\nbrick,1905,5,6\n", "row 2"),
        ("construction,built,dwellings\nbrick\x1b[31m,1905,5\n", "row 2, construction"),
        ("", "row 1"),
    ],
)
def test_a_wrong_stock_is_refused(tmp_path, text, place):
    """The row and the column are named."""
    (tmp_path / "stock.csv").write_text(text)
    with pytest.raises(ReadingError) as caught:
        read_stock(tmp_path)
    assert place in [words_in(problem.place, "en") for problem in caught.value.problems]


def test_a_stock_as_spreadsheets_of_other_countries_save_it_is_read(tmp_path):
    """Semicolons, a byte-order mark, spaces in an empty cell, empty rows."""
    text = "construction;built;dwellings\r\nsolid brick; ;120\r\n;;\r\n"
    (tmp_path / "stock.csv").write_bytes(text.encode("utf-8-sig"))
    assert read_stock(tmp_path) == {"solid brick, ?": 120}


def test_a_cell_without_an_end_is_no_table(tmp_path):
    """As a quote that is never closed makes of the rest of a large file."""
    (tmp_path / "stock.csv").write_text("construction,built,dwellings\n" + "x" * 200_000)
    with pytest.raises(ReadingError, match="Check the quotes"):
        read_stock(tmp_path)


def test_a_link_that_leads_nowhere_is_no_stock(tmp_path):
    (tmp_path / "stock.csv").symlink_to("nowhere")
    with pytest.raises(ReadingError, match="missing"):
        read_stock(tmp_path)


def test_a_stock_that_is_no_text_is_refused(tmp_path):
    """Bytes that are not UTF-8."""
    (tmp_path / "stock.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ReadingError, match="UTF-8"):
        read_stock(tmp_path)


def test_sites_are_found_at_any_depth_and_not_inside_each_other(tmp_path):
    """Hidden folders and links are left alone, an earlier visit belongs to its site."""
    for name in ("a/one", "b/c/two", "b/c/two/earlier", ".hidden/three"):
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "site.toml").touch()
    (tmp_path / "loop").symlink_to(tmp_path)
    assert sites_in(tmp_path) == ("a/one", "b/c/two")


@pytest.mark.parametrize("name", ["empty", "nowhere"])
def test_a_folder_without_sites_is_refused(tmp_path, name):
    """It says what is expected."""
    (tmp_path / "empty").mkdir()
    with pytest.raises(ReadingError, match="folder of site folders"):
        sites_in(tmp_path / name)


NO_NUMBER = '{"schema": 1, "row": {"site": "x", "state": "done", "harm": NaN}}'


@pytest.mark.parametrize(
    "text", [NO_NUMBER, "", "{", "[]", '{"schema": 0, "row": {"site": "x"}}', '{"row": {"y": 1}}']
)
def test_a_broken_kept_row_is_made_again(tmp_path, text):
    """Whatever stands in its place."""
    row = Row(site="x", fingerprint="f")
    assert kept_row(tmp_path, "damp", "x") is None
    keep(tmp_path, "damp", row)
    assert kept_row(tmp_path, "damp", "x") == row
    next((tmp_path / "rows").rglob("*.json")).write_text(text)
    assert kept_row(tmp_path, "damp", "x") is None
