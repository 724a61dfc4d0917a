"""`cabinets.csv`, `circuits.csv`: entries of the site file that somebody keeps in a spreadsheet.

Headings are the keys that an entry has in `site.toml`; what stands in both places counts together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from thermalkit.errors import Problem
from thermalkit.language import say
from thermalkit.site.asking import AskedTable, asked_tables
from thermalkit.site.csv_table import csv_table
from thermalkit.site.fields import Keys
from thermalkit.site.filling import understood
from thermalkit.site.model import MOST_ENTRIES, SiteKeys
from thermalkit.site.references import Entry
from thermalkit.site.sections import in_spreadsheets


def spreadsheet(table: str) -> str:
    """The file that may hold entries of a table."""
    return f"{table}.csv"


def spreadsheets() -> tuple[str, ...]:
    """Every such file."""
    return tuple(spreadsheet(table) for table in in_spreadsheets())


def entries_in(content: bytes, table: str, already: int) -> tuple[list[Entry], list[Problem]]:
    """Entries of a spreadsheet as far as they can be understood, and everything wrong with it.

    Comma, semicolon or tab between cells; numbers with decimal comma, days as 21.01.2026.

    Parameters
    ----------
    content : bytes
        UTF-8, with or without byte order mark.
    table : str
        One of `in_spreadsheets`.
    already : int
        How many entries of it stand in the site file.
    """
    asked = next(item for item in asked_tables() if item.table == table)
    needed = [field.key for field in asked.fields if field.required]
    cells = csv_table(content, spreadsheet(table), [field.key for field in asked.fields], needed)
    found: list[Entry] = []
    problems = list(cells.problems)
    if already + len(cells.rows) > MOST_ENTRIES:
        most = say("site.allowed.at-most", count=MOST_ENTRIES)
        problems.append(cells.problem(table, say("site.read.too-many-rows"), most))
        return found, problems
    for row, typed in cells.rows.items():
        values, wrong = understood(asked, typed)
        problems += _at(cells.file, row, wrong)
        keys = _keys(asked, values)
        if keys is not None:
            at = (table, already + len(found))
            found.append(Entry(location=at, keys=keys, raw=values, file=cells.file, row=row))
    return found, problems


def with_rows(keys: SiteKeys, rows: list[Entry]) -> SiteKeys:
    """What the site file says with the entries of the spreadsheets."""
    added: dict[str, tuple[Any, ...]] = {}
    for entry in rows:
        table = str(entry.location[0])
        added[table] = (*added.get(table, getattr(keys, table)), entry.keys)
    return keys.model_copy(update=added)


def _at(file: str, row: int, wrong: Mapping[str, Problem]) -> Iterator[Problem]:
    for key, problem in wrong.items():
        yield replace(problem, file=file, place=say("site.place.cell", number=row, column=key))


def _keys(asked: AskedTable, values: Mapping[str, Any]) -> Keys | None:
    """What is left of an entry without what was refused; None where that is too little."""
    try:
        return asked.model.model_validate(values)
    except ValidationError:
        return None
