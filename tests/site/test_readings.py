"""Rows of readings.csv: closed quantities and units, both decimal signs."""

import pytest

from thermalkit.language import words_in
from thermalkit.site.csv_table import MOST_ROWS
from thermalkit.site.model import QUANTITIES, ReadingRow
from thermalkit.site.readings import readings_in

HEAD = "place,quantity,value,unit,instrument\n"
INSTRUMENTS = {"hygro": "thermohygrometer", "pins": "moisture_meter", "odd": None}


def found_in(text, encoding="utf-8"):
    _, problems = readings_in(text.encode(encoding), INSTRUMENTS)
    return {words_in(p.place, "en"): str(p) for p in problems}


def test_comma_and_decimal_point():
    """The form of the contract is read."""
    rows, problems = readings_in((HEAD + "cellar,wood moisture,17.5,%,pins\n\n").encode(), INSTRUMENTS)
    assert not problems
    assert (rows[0].value, rows[0].unit, rows[0].instrument) == (17.5, "%", "pins")


def test_semicolon_decimal_comma_and_byte_order_mark():
    """The form of many spreadsheets is read too."""
    text = "place;quantity;value;unit;depth_mm\ncellar;air temperature;-3,5;°C;1,5\n"
    rows, problems = readings_in(text.encode("utf-8-sig"), {})
    assert not problems
    assert (rows[0].value, rows[0].unit, rows[0].depth_mm) == (-3.5, "degC", 1.5)


def test_quoted_cells_may_hold_delimiters():
    """A comma within quotes belongs to the text."""
    rows, _ = readings_in((HEAD + '"cellar, north",wood moisture,17,%,\n').encode(), {})
    assert rows[0].place == "cellar, north"


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        ("a,relative humidity,0.52,%,", "row 2, value", "0.52 looks like a fraction; did you mean 52?"),
        ("a,air temperature,290,degC,", "row 2, value", "looks like kelvin; did you mean 16.85?"),
        ("a,humidity,50,%,", "row 2, quantity", 'Did you mean "relative humidity"?'),
        ("a,relative humidity,50,degC,", "row 2, unit", '"%" for relative humidity'),
        ("a,relative humidity,50,percent,", "row 2, unit", '"degC"'),
        ("a,relative humidity,x,%,", "row 2, value", '"x"'),
        ("a,relative humidity,1e999,%,", "row 2, value", "inf"),
        ("a,relative humidity,nan,%,", "row 2, value", "nan"),
        ("a,relative humidity,,%,", "row 2, value", "missing"),
        (",relative humidity,50,%,", "row 2, place", "missing"),
        ("a,relative humidity,50,%,rh-3", "row 2, instrument", 'Listed: "hygro", "pins", "odd".'),
        ("a,relative humidity,50,%,pins", "row 2, instrument", '"pins" is a moisture_meter'),
        ("a,relative humidity,50,%,,,", "row 2", "7 cells"),
        ("a,relative humidity,50,5,%,", "row 2", "A decimal comma needs semicolons"),
        ("a\x1b,relative humidity,50,%,", "row 2, place", "control"),
    ],
)
def test_one_bad_row(row, place, words):
    """Each kind of mistake is named by row and column."""
    found = found_in(HEAD + row + "\n")
    assert list(found) == [place]
    assert words in found[place]


def test_instrument_that_could_not_be_understood_raises_no_second_problem():
    """A broken instrument is reported once, where it stands."""
    assert not found_in(HEAD + "a,relative humidity,50,%,odd\n")


def test_time_needs_its_offset():
    """A local time is refused with the fix."""
    found = found_in("place,quantity,value,unit,taken_at\na,wood moisture,5,%,2026-01-21T08:00:00\n")
    assert "Add the offset" in found["row 2, taken_at"]


def test_every_bad_row_is_listed():
    """One bad row does not hide the next."""
    assert len(found_in(HEAD + "a,wood moisture,-1,%,\n" * 3)) == 3


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("place,quantity,valu,unit", 'Did you mean "value"?'),
        ("place,quantity,unit", 'no heading "value"'),
        ("place,quantity,value,unit,unit", "is there twice"),
        ("", "no heading"),
    ],
)
def test_headings(head, words):
    """Headings are a closed list."""
    _, problems = readings_in(head.encode(), {})
    assert any(words in str(problem) for problem in problems)


def test_another_encoding():
    """Text that is not UTF-8 is named with the way out."""
    assert "Save it as CSV UTF-8" in found_in(HEAD + "Gebäude", "cp1252")[f"byte {len(HEAD) + 4}"]


def test_too_many_rows():
    """The number of rows is bounded."""
    found = found_in(HEAD + "a,wood moisture,5,%,\n" * (MOST_ROWS + 5))
    assert found == {f"row {MOST_ROWS + 2}": found[f"row {MOST_ROWS + 2}"]}


def test_a_cell_without_end():
    """An open quote that swallows the file is one problem."""
    assert "Check the quotes" in found_in(HEAD + '\n"' + "x\n" * 200_000)["row 3"]
    assert "Check the quotes" in found_in('"' + "x\n" * 200_000)["row 1"]


def test_quantities_of_model_and_table_agree():
    """The closed list of names, their units and the table of ranges are one."""
    properties = ReadingRow.model_json_schema()["properties"]
    assert properties["quantity"]["enum"] == list(QUANTITIES)
    assert set(properties["unit"]["enum"]) == {quantity.unit for quantity in QUANTITIES.values()}
