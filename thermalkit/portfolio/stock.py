"""`stock.csv`: how many dwellings of each type there are, visited or not."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from thermalkit.errors import ReadingError
from thermalkit.language import say
from thermalkit.site.csv_table import csv_table
from thermalkit.site.fields import Between, Keys, Text
from thermalkit.site.files import file_bytes
from thermalkit.site.problems import problems_of

FILE = "stock.csv"
COLUMNS = ("construction", "built", "dwellings")
_LARGEST = 1_000_000
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


class StockRow(Keys):
    """One row: a type of dwelling and how many there are."""

    construction: Text | None = Field(None, description="As in [building] of the sites.")
    built: Annotated[int, Between(1000, 2100)] | None = Field(None, description="A year; empty if unknown.")
    dwellings: Annotated[int, Between(0, 100_000_000)] = Field(description="Visited or not.")


def read_stock(folder: Path) -> Mapping[str, int]:
    """Dwellings of each type; empty where there is no such file.

    Raises
    ------
    ReadingError
        A column is missing or a row is wrong; every problem is named.
    """
    if not os.path.lexists(folder / FILE):
        return {}
    table = csv_table(file_bytes(folder, FILE, _LARGEST), FILE, COLUMNS, COLUMNS)
    stock: Counter[str] = Counter()
    problems = list(table.problems)
    for number, cells in table.rows.items():
        try:
            row = StockRow.model_validate(cells)
        except ValidationError as error:
            for problem in problems_of(error, StockRow, FILE, None):
                place = say("site.place.cell", number=number, column=problem.place)
                problems.append(replace(problem, place=place))
        else:
            stock[type_of(row.construction or "", row.built)] += row.dwellings
    if problems:
        raise ReadingError(FILE, problems)
    return stock
