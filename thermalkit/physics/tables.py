"""Tables that lie beside the code as CSV, read once, looked up by exact name."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from difflib import get_close_matches
from importlib.resources import files
from typing import TypeVar

from thermalkit.errors import ThermalkitError
from thermalkit.language import say

Row = TypeVar("Row")


class UnknownName(ThermalkitError, LookupError):
    """A table has no row of that name; the message offers the nearest ones."""


def table_rows(file: str) -> list[dict[str, str]]:
    """Rows of a table of this package, as text, by the names in its first line."""
    text = files("thermalkit.physics").joinpath(file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def row_named(kind: str, name: str, rows: Mapping[str, Row]) -> Row:
    """The row of exactly that name; a near one is never taken for it.

    Raises
    ------
    UnknownName
        There is no such row; the message names the nearest ones.

    Examples
    --------
    >>> row_named("material", "brik", {"brick": 0.77, "render": 1.0})
    Traceback (most recent call last):
    thermalkit.physics.tables.UnknownName: there is no material "brik"; near: "brick"
    """
    if name in rows:
        return rows[name]
    near = get_close_matches(name[:80].lower(), rows, n=3, cutoff=0.4) or list(rows)[:5]
    listed = ", ".join(f'"{other}"' for other in near)
    raise UnknownName(say("physics.unknown-name", kind=kind, name=name[:80], near=listed))
