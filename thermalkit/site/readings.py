"""`readings.csv`: single readings written down on the walk."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

from pydantic import ValidationError

from thermalkit.errors import Problem
from thermalkit.language import Words, say
from thermalkit.site.model import QUANTITIES, ReadingRow
from thermalkit.site.problems import between, choice_of, nearest, number_hint, problems_of, shown
from thermalkit.site.references import not_listed, of_kind

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
        place, read = say("site.place.byte", number=error.start + 1), say("site.read.not-utf8")
        return (), [_problem(place, read, fix=say("site.fix.save-csv-utf8"))]
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
    return _problem(_at_row(row), say("site.read.not-a-table"), fix=say("site.fix.check-quotes"))


def _at_row(number: int) -> Words:
    return say("site.place.row", number=number)


def _problem(place: Words, read: Words, allowed: Words = "", fix: Words = "") -> Problem:
    return Problem(file=READINGS_FILE, place=place, read=read, allowed=allowed, fix=fix)


def _heading_problems(headings: list[str]) -> list[Problem]:
    known = list(ReadingRow.model_fields)
    unknown = [h for h in headings if h not in known]
    first = _at_row(1)
    problems = [
        _problem(first, say("site.read.unknown-heading", heading=shown(h)), fix=nearest(h, known))
        for h in unknown[:50]
    ]
    absent = [n for n in _NEEDED if n not in headings]
    problems += [_problem(first, say("site.read.no-heading", heading=shown(n))) for n in absent]
    twice = (
        sorted({h for h in headings if headings.count(h) > 1} - set(unknown)) if len(headings) < 99 else []
    )
    return problems + [_problem(first, say("site.read.heading-twice", heading=shown(h))) for h in twice]


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
                yield _problem(
                    _at_row(number),
                    say("site.read.too-many-rows"),
                    say("site.allowed.at-most", count=MOST_ROWS),
                )
                return
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != len(headings):
                fix = say("site.fix.semicolons") if delimiter == "," else ""
                read = say("site.read.cells", count=len(cells))
                allowed = say("site.allowed.as-in-row-1", count=len(headings))
                yield _problem(_at_row(number), read, allowed, fix)
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
    problems = list(row_problems(raw, instruments))
    try:
        row = ReadingRow.model_validate(raw)
    except ValidationError as error:
        problems += problems_of(error, ReadingRow, READINGS_FILE, None)
    if not problems:
        yield row
    for problem in problems:
        yield replace(problem, place=say("site.place.cell", number=number, column=problem.place))


def _number(cell: str, delimiter: str) -> object:
    """The cell as a number where it is one; a decimal comma needs semicolons as delimiter."""
    if delimiter == ";" and re.fullmatch(r"[-+]?\d{1,20},\d{1,20}", cell):
        cell = cell.replace(",", ".")
    try:
        return float(cell)
    except ValueError:
        return cell


def row_problems(raw: Mapping[str, object], instruments: Kinds | None) -> Iterator[Problem]:
    """What single columns cannot tell: the range and unit of the quantity, the instrument.

    The place of each problem is the name of its column.
    """
    name, value, instrument = raw.get("quantity"), raw.get("value"), raw.get("instrument")
    quantity = QUANTITIES.get(str(name))
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if quantity and is_number and not quantity.values.low <= value <= quantity.values.high:  # type: ignore[operator]
        low, high = quantity.values.low, quantity.values.high
        fix = number_hint(str(name), float(value), low, high)  # type: ignore[arg-type]
        yield _problem("value", f"{name} = {value:g} {quantity.unit}", between(low, high), fix)
    if quantity and raw.get("unit") in {q.unit for q in QUANTITIES.values()} - {quantity.unit}:
        allowed = say("site.allowed.unit-of", unit=shown(quantity.unit), quantity=str(name))
        yield _problem("unit", shown(raw["unit"]), allowed)
    if instrument is None or instruments is None:
        return
    if instrument not in instruments:
        fix = not_listed(say("site.place.instruments"), instruments)
        yield _problem("instrument", shown(instrument), fix=fix)
    elif quantity and quantity.kinds and instruments[str(instrument)] not in (None, *quantity.kinds):
        kind = instruments[str(instrument)]
        yield _problem("instrument", of_kind(instrument, kind), choice_of(quantity.kinds))
