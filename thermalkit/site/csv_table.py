"""A small table that somebody keeps in a spreadsheet: its rows as text, and everything wrong with them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from thermalkit.errors import Problem
from thermalkit.language import Words, say
from thermalkit.site.problems import nearest, shown

MOST_ROWS = 10_000


@dataclass(slots=True)
class CsvTable:
    """Rows by their number in the spreadsheet, the headings being row 1."""

    file: str
    delimiter: str = ","
    headings: list[str] = field(default_factory=list)
    rows: dict[int, dict[str, str]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def problem(self, place: Words, read: Words, allowed: Words = "", fix: Words = "") -> Problem:
        """A problem of this file."""
        return Problem(file=self.file, place=place, read=read, allowed=allowed, fix=fix)

    def at_row(self, row: int, read: Words, allowed: Words = "", fix: Words = "") -> Problem:
        """A problem of one row."""
        return self.problem(say("site.place.row", number=row), read, allowed, fix)


def delimiter_of(first_line: str) -> str:
    """What stands between cells: comma, semicolon, or tab as pasted from a spreadsheet."""
    return max((",", ";", "\t"), key=first_line.count)


def csv_table(content: bytes, file: str, known: Sequence[str], needed: Sequence[str]) -> CsvTable:
    """The cells of a table that are filled in.

    Comma, semicolon or tab (as pasted from a spreadsheet), told by the first line.

    Parameters
    ----------
    content : bytes
        UTF-8, with or without byte order mark.
    file : str
        Named in problems.
    known, needed : sequence of str
        Headings that may and that must be there.
    """
    found = CsvTable(file)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        place = say("site.place.byte", number=error.start + 1)
        fix = say("site.fix.save-csv-utf8")
        found.problems.append(found.problem(place, say("site.read.not-utf8"), fix=fix))
        return found
    first = next(iter(text.splitlines()), "")
    found.delimiter = delimiter_of(first)
    table = csv.reader(io.StringIO(text, newline=""), delimiter=found.delimiter)
    try:
        headings = [cell.strip() for cell in next(table, [])]
    except csv.Error:
        found.problems.append(_no_table(found, 1))
        return found
    found.headings = headings
    found.problems += _heading_problems(found, headings, known, needed)
    if not found.problems:
        found.problems += _read_rows(found, table, headings)
    return found


def _no_table(found: CsvTable, row: int) -> Problem:
    return found.at_row(row, say("site.read.not-a-table"), fix=say("site.fix.check-quotes"))


def _heading_problems(
    found: CsvTable, headings: list[str], known: Sequence[str], needed: Sequence[str]
) -> Iterator[Problem]:
    unknown = [h for h in headings if h not in known]
    for h in unknown[:50]:
        yield found.at_row(1, say("site.read.unknown-heading", heading=shown(h)), fix=nearest(h, known))
    for h in needed:
        if h not in headings:
            yield found.at_row(1, say("site.read.no-heading", heading=shown(h)))
    if len(headings) < 99:
        for h in sorted({h for h in headings if headings.count(h) > 1} - set(unknown)):
            yield found.at_row(1, say("site.read.heading-twice", heading=shown(h)))


def _read_rows(found: CsvTable, table: Iterator[list[str]], headings: list[str]) -> Iterator[Problem]:
    """Fill in the rows; what cannot be one is a problem."""
    number = 1
    try:
        for number, cells in enumerate(table, start=2):
            if number > MOST_ROWS + 1:
                most = say("site.allowed.at-most", count=MOST_ROWS)
                yield found.at_row(number, say("site.read.too-many-rows"), most)
                return
            if len(cells) == len(headings):
                row = {key: cell.strip() for key, cell in zip(headings, cells, strict=True) if cell.strip()}
                found.rows |= {number: row} if row else {}
            elif any(cell.strip() for cell in cells):
                fix = say("site.fix.semicolons") if found.delimiter == "," else ""
                allowed = say("site.allowed.as-in-row-1", count=len(headings))
                yield found.at_row(number, say("site.read.cells", count=len(cells)), allowed, fix)
    except csv.Error:
        yield _no_table(found, number + 1)
