"""Sections of the site file that only one kind of investigation reads.

A section is one module here. It states `TABLES`: for each top-level table of `site.toml` the
pydantic model of its keys, and `REPEATED`: which of them are written with double brackets. `ASKED_BY`
names the investigation whose form asks for them at once, `READ_BY` the only one that
reads them, `OWN` the keys that differ from line to line.
`SPREADSHEETS` are tables that may also stand in a file of their own, `STAYS` the keys of each that a further
visit to the same building has in common with the one before.
Being there is enough; there is no list to edit.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from functools import cache
from types import ModuleType
from typing import Annotated, Any

from pydantic import Field, create_model

from thermalkit.site.fields import Keys
from thermalkit.site.model import MOST_ENTRIES, SiteKeys


@cache
def site_model() -> type[SiteKeys]:
    """The model of `site.toml` with the tables of every section found."""
    tables: dict[str, Any] = {}
    for section in _sections():
        for table, keys in section.TABLES.items():
            tables[table] = _field(keys, repeated=table in getattr(section, "REPEATED", ()))
    return create_model("SiteFile", __base__=SiteKeys, **tables)


@cache
def asked_at_once(kind: str) -> tuple[str, ...]:
    """Tables of the sections that a kind of investigation asks for at once."""
    return tuple(
        table
        for section in _sections()
        if getattr(section, "ASKED_BY", None) == kind
        for table in section.TABLES
    )


@cache
def asked_elsewhere(kind: str) -> tuple[str, ...]:
    """Tables of the sections that only another kind of investigation reads."""
    return tuple(
        table
        for section in _sections()
        if getattr(section, "READ_BY", kind) != kind
        for table in section.TABLES
    )


@cache
def own_keys() -> tuple[str, ...]:
    """Keys of all sections that are each entry's own, and not copied from the one above."""
    return tuple(key for section in _sections() for key in getattr(section, "OWN", ()))


@cache
def in_spreadsheets() -> tuple[str, ...]:
    """Tables whose entries may also stand in a spreadsheet beside the site file."""
    return tuple(table for section in _sections() for table in getattr(section, "SPREADSHEETS", ()))


@cache
def staying_keys() -> dict[str, tuple[str, ...]]:
    """Keys of the sections' tables that stay as they were on a further visit."""
    return {table: keys for section in _sections() for table, keys in getattr(section, "STAYS", {}).items()}


def _sections() -> Iterator[ModuleType]:
    for module in pkgutil.iter_modules(__path__):
        yield importlib.import_module(f"{__name__}.{module.name}")


def _field(keys: type[Keys], *, repeated: bool) -> tuple[Any, Any]:
    description = (keys.__doc__ or "").splitlines()[0]
    if repeated:
        many = Annotated[tuple[keys, ...], Field(max_length=MOST_ENTRIES)]  # type: ignore[valid-type]
        return many, Field((), description=description)
    return keys | None, Field(None, description=description)
