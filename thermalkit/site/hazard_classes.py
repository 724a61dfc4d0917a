"""`hazard_classes.csv`: the user's own table that turns findings into classes and days to act within."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from thermalkit.errors import Problem
from thermalkit.language import say
from thermalkit.site.csv_table import CsvTable, csv_table
from thermalkit.site.fields import Between, Keys, Text
from thermalkit.site.problems import problems_of, shown

HAZARD_FILE = "hazard_classes.csv"
LARGEST_HAZARD_FILE = 500_000
_HEADINGS = ("code", "verdict", "class", "act_within_days", "source")
_CODE = re.compile(r"[a-z0-9-]+(\.[a-z0-9-]+)*(\.?\*)?|\*")


class HazardRow(Keys):
    """One row: which findings, their class, and how soon to act.

    Nothing of it is built in: no class and no date is law unless the user's source makes it so.
    """

    code: Text = Field(description="Code of a finding, such as damp.mould; its end may be a *.")
    verdict: Literal["indicated", "inconclusive", "not indicated", "noted"] | None = Field(
        None, description="Only findings with this verdict; empty for all."
    )
    hazard_class: Text = Field(alias="class", description="Shown to the client as it stands.")
    act_within_days: Annotated[int, Between(0, 3650)] | None = Field(
        None, description="Counted from the visit."
    )
    source: Text = Field(description="Where the table comes from; shown beside each class.")

    def fits(self, code: str, verdict: str) -> bool:
        """Whether the row speaks of such a finding."""
        start = self.code.removesuffix("*")
        named = code == self.code or (start != self.code and code.startswith(start))
        return named and self.verdict in (None, verdict)


def hazard_rows_in(content: bytes) -> tuple[tuple[HazardRow, ...], list[Problem]]:
    """Rows of the table, and everything wrong with it."""
    table = csv_table(content, HAZARD_FILE, _HEADINGS, ("code", "class", "source"))
    rows: dict[tuple[str, str | None], HazardRow] = {}
    for number, cells in table.rows.items():
        for problem in _row_problems(table, number, cells, rows):
            place = say("site.place.cell", number=number, column=problem.place)
            table.problems.append(replace(problem, place=place))
    return tuple(rows.values()), table.problems


def _row_problems(
    table: CsvTable, number: int, cells: dict[str, str], rows: dict[tuple[str, str | None], HazardRow]
) -> Iterator[Problem]:
    try:
        row = HazardRow.model_validate(cells)
    except ValidationError as error:
        yield from problems_of(error, HazardRow, HAZARD_FILE, None)
        return
    if not _CODE.fullmatch(row.code):
        yield table.problem("code", shown(row.code), say("site.allowed.finding-code"))
    elif (row.code, row.verdict) in rows:
        yield table.problem("code", shown(row.code), fix=say("site.fix.same-finding"))
    rows.setdefault((row.code, row.verdict), row)


def hazard_of(rows: tuple[HazardRow, ...], code: str, verdict: str | None) -> HazardRow | None:
    r"""The row that fits a finding most closely: a whole code before a part, a verdict before none.

    Examples
    --------
    >>> rows, _ = hazard_rows_in(b"code,verdict,class,source\ndamp.*,,B,own\ndamp.mould,indicated,A,own\n")
    >>> [hazard_of(rows, code, "indicated").hazard_class for code in ("damp.mould", "damp.leak")]
    ['A', 'B']
    """
    fitting = [row for row in rows if row.fits(code, verdict or "noted")]
    return max(
        fitting,
        key=lambda row: (row.code == code, len(row.code), row.verdict is not None),
        default=None,
    )
