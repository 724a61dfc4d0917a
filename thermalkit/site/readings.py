"""`readings.csv`: single readings written down on the walk."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

from pydantic import ValidationError

from thermalkit.errors import Problem
from thermalkit.site.model import QUANTITIES, ReadingRow
from thermalkit.site.problems import listed, nearest, number_hint, problems_of, shown

READINGS_FILE = "readings.csv"
MOST_ROWS = 10_000
Kinds = Mapping[str, str | None]
_NUMBERS = ("value", "depth_mm", "height_mm")
_SAME_UNIT = {"°C": "degC", "C": "degC"}
_NEEDED = ("place", "quantity", "value", "unit")


def readings_in(content: bytes, instruments: Kinds | None) -> tuple[tuple[ReadingRow, ...], list[Problem]]:
    """Rows of a readings file, and everything wrong with it.

    Comma or semicolon; with semicolons a decimal comma is understood. Rows are counted as a
    spreadsheet does, the headings being row 1.

    Parameters
    ----------
    content : bytes
        UTF-8, with or without byte order mark.
    instruments : mapping or None
        Kind of each listed instrument, None where it could not be understood; no mapping at all
        where the site file could not be read.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        fix = "Save it as CSV UTF-8."
        return (), [_problem(place=f"byte {error.start + 1}", read="not UTF-8 text", fix=fix)]
    lines = text.splitlines()
    first = lines[0] if lines else ""
    delimiter = ";" if first.count(";") > first.count(",") else ","
    table = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows: list[ReadingRow] = []
    problems: list[Problem] = []
    try:
        headings = [cell.strip() for cell in next(table, [])]
        problems += _heading_problems(headings)
        if not problems:
            for found in _rows(table, headings, delimiter, instruments):
                (rows if isinstance(found, ReadingRow) else problems).append(found)  # type: ignore[arg-type]
    except csv.Error:
        problems.append(_not_a_table(1))
    return tuple(rows), problems


def _not_a_table(row: int) -> Problem:
    return _problem(f"row {row}", "not a table", fix="Check the quotes from here on.")


def _problem(place: str, read: str, allowed: str = "", fix: str = "") -> Problem:
    return Problem(file=READINGS_FILE, place=place, read=read, allowed=allowed, fix=fix)


def _heading_problems(headings: list[str]) -> list[Problem]:
    known = list(ReadingRow.model_fields)
    unknown = [h for h in headings if h not in known]
    problems = [_problem("row 1", f"unknown heading {shown(h)}", fix=nearest(h, known)) for h in unknown[:50]]
    problems += [_problem("row 1", f'no heading "{n}"') for n in _NEEDED if n not in headings]
    twice = (
        sorted({h for h in headings if headings.count(h) > 1} - set(unknown)) if len(headings) < 99 else []
    )
    return problems + [_problem("row 1", f"heading {shown(h)} is there twice") for h in twice]


def _rows(
    table: Iterator[list[str]],
    headings: list[str],
    delimiter: str,
    instruments: Kinds | None,
) -> Iterator[ReadingRow | Problem]:
    number = 1
    try:
        for number, cells in enumerate(table, start=2):
            if number > MOST_ROWS + 1:
                yield _problem(f"row {number}", "too many rows", f"at most {MOST_ROWS}")
                return
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != len(headings):
                fix = "A decimal comma needs semicolons between the columns." if delimiter == "," else ""
                yield _problem(f"row {number}", f"{len(cells)} cells", f"{len(headings)}, as in row 1", fix)
                continue
            yield from _row(number, dict(zip(headings, cells, strict=True)), delimiter, instruments)
    except csv.Error:
        yield _not_a_table(number + 1)


def _row(
    number: int, cells: dict[str, str], delimiter: str, instruments: Kinds | None
) -> Iterator[ReadingRow | Problem]:
    raw: dict[str, object] = {key: cell.strip() for key, cell in cells.items() if cell.strip()}
    for key in _NUMBERS:
        if key in raw:
            raw[key] = _number(str(raw[key]), delimiter)
    raw["unit"] = _SAME_UNIT.get(str(raw.get("unit")), raw.get("unit"))
    problems = list(_row_problems(raw, instruments))
    try:
        row = ReadingRow.model_validate(raw)
    except ValidationError as error:
        problems += problems_of(error, ReadingRow, READINGS_FILE, None)
    if not problems:
        yield row
    for problem in problems:
        yield replace(problem, place=f"row {number}, {problem.place}")


def _number(cell: str, delimiter: str) -> object:
    """The cell as a number where it is one; a decimal comma needs semicolons as delimiter."""
    if delimiter == ";" and re.fullmatch(r"[-+]?\d{1,20},\d{1,20}", cell):
        cell = cell.replace(",", ".")
    try:
        return float(cell)
    except ValueError:
        return cell


def _row_problems(raw: Mapping[str, object], instruments: Kinds | None) -> Iterator[Problem]:
    """What single columns cannot tell: the range and unit of the quantity, the instrument."""
    name, value, instrument = raw.get("quantity"), raw.get("value"), raw.get("instrument")
    quantity = QUANTITIES.get(str(name))
    if quantity and isinstance(value, float) and not quantity.values.low <= value <= quantity.values.high:
        low, high = quantity.values.low, quantity.values.high
        fix = number_hint(str(name), value, low, high)
        yield _problem("value", f"{name} = {value:g} {quantity.unit}", f"{low:g} to {high:g}", fix)
    if quantity and raw.get("unit") in {q.unit for q in QUANTITIES.values()} - {quantity.unit}:
        yield _problem("unit", shown(raw["unit"]), f'"{quantity.unit}" for {name}')
    if instrument is None or instruments is None:
        return
    if instrument not in instruments:
        fix = f"Listed: {listed(instruments)}." if instruments else "None is listed."
        fix = f"Not listed under [instruments] in site.toml. {fix}"
        yield _problem("instrument", shown(instrument), fix=fix)
    elif quantity and quantity.kinds and instruments[str(instrument)] not in (None, *quantity.kinds):
        kind = instruments[str(instrument)]
        yield _problem("instrument", f"{shown(instrument)} is a {kind}", " or ".join(quantity.kinds))
