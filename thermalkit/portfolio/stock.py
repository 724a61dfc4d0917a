"""`stock.csv`: how many dwellings of each type there are, visited or not."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import say
from thermalkit.site.files import file_bytes

FILE = "stock.csv"
COLUMNS = ("construction", "built", "dwellings")
_LARGEST = 1_000_000
_MOST = 100_000_000
# Years at which the way of building commonly changed; common practice, with no published source.
YEARS = (1920, 1945, 1965, 1980, 2000)


def period_of(built: int | None) -> str:
    """The period of a year of construction.

    Examples
    --------
    >>> [period_of(year) for year in (1905, 1945, 2010, None)]
    ['–1919', '1945–1964', '2000–', '?']
    """
    if built is None:
        return "?"
    if built < YEARS[0]:
        return f"–{YEARS[0] - 1}"
    for first, after in pairwise(YEARS):
        if built < after:
            return f"{first}–{after - 1}"
    return f"{YEARS[-1]}–"


def type_of(construction: str, built: int | None) -> str:
    """Construction and period in one, as dwellings are grouped.

    Examples
    --------
    >>> type_of("solid brick", 1905)
    'solid brick, –1919'
    """
    return f"{construction or '?'}, {period_of(built)}"


def read_stock(folder: Path) -> Mapping[str, int]:
    """Dwellings of each type; empty where there is no such file.

    Raises
    ------
    ReadingError
        A column is missing or a row is wrong; every problem is named.
    """
    if not (folder / FILE).exists():
        return {}
    try:
        text = file_bytes(folder, FILE, _LARGEST).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ReadingError(FILE, [Problem(file=FILE, read=say("portfolio.stock.not-utf8"))]) from None
    rows = csv.DictReader(text.splitlines())
    if tuple(rows.fieldnames or ()) != COLUMNS:
        read, allowed = ",".join(rows.fieldnames or ()), ",".join(COLUMNS)
        raise ReadingError(
            FILE, [Problem(file=FILE, place=say("portfolio.stock.row", row=1), read=read, allowed=allowed)]
        )
    stock: dict[str, int] = {}
    problems: list[Problem] = []
    for number, row in enumerate(rows, 2):
        problems += _problems(row, number)
        if not problems:
            name = type_of((row["construction"] or "").strip(), int(row["built"]) if row["built"] else None)
            stock[name] = stock.get(name, 0) + int(row["dwellings"])
    if problems:
        raise ReadingError(FILE, problems)
    return stock


def _problems(row: Mapping[str, str | None], number: int) -> Iterator[Problem]:
    for column, low, high in (("built", 1000, 2100), ("dwellings", 0, _MOST)):
        text = (row[column] or "").strip()
        is_whole = text.isascii() and text.isdigit() and len(text) < 12
        if not (is_whole and low <= int(text) <= high) and not (column == "built" and not text):
            yield Problem(
                file=FILE,
                place=say("portfolio.stock.cell", row=number, column=column),
                read=repr(row[column]),
                allowed=say(f"portfolio.stock.{column}", low=low, high=high),
            )
