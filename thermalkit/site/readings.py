"""`readings.csv`: single readings written down on the walk."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

from pydantic import ValidationError

from thermalkit.errors import Problem
from thermalkit.language import Words, say
from thermalkit.site.csv_table import csv_table
from thermalkit.site.model import QUANTITIES, ReadingRow
from thermalkit.site.problems import between, choice_of, number_hint, problems_of, shown
from thermalkit.site.references import not_listed, of_kind

READINGS_FILE = "readings.csv"
Kinds = Mapping[str, str | None]
_NUMBERS = ("value", "depth_mm", "height_mm")
_SAME_UNIT = {"°C": "degC", "C": "degC"}
_NEEDED = ("place", "quantity", "value", "unit")


def readings_in(content: bytes, instruments: Kinds | None) -> tuple[tuple[ReadingRow, ...], list[Problem]]:
    """Rows of a readings file, and everything wrong with it.

    Comma, semicolon or tab; with the latter two a decimal comma is understood. Rows are counted as a
    spreadsheet does, the headings being row 1.

    Parameters
    ----------
    content : bytes
        UTF-8, with or without byte order mark.
    instruments : mapping or None
        Kind of each listed instrument, None where it could not be understood; no mapping at all
        where the site file could not be read.
    """
    table = csv_table(content, READINGS_FILE, list(ReadingRow.model_fields), _NEEDED)
    rows: list[ReadingRow] = []
    problems: list[Problem] = list(table.problems)
    for number, cells in table.rows.items():
        for found in _row(number, cells, table.delimiter, instruments):
            (rows if isinstance(found, ReadingRow) else problems).append(found)  # type: ignore[arg-type]
    return tuple(rows), problems


def _problem(place: str, read: Words, allowed: Words = "", fix: Words = "") -> Problem:
    return Problem(file=READINGS_FILE, place=place, read=read, allowed=allowed, fix=fix)


def _row(
    number: int, cells: dict[str, str], delimiter: str, instruments: Kinds | None
) -> Iterator[ReadingRow | Problem]:
    raw: dict[str, object] = dict(cells)
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
    """The cell as a number where it is one; a decimal comma needs another delimiter."""
    if delimiter != "," and re.fullmatch(r"[-+]?\d{1,20},\d{1,20}", cell):
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
