"""Sections of the site file that only one kind of investigation reads.

A section is one module here. It states `TABLES`: for each top-level table of `site.toml` the
pydantic model of its keys, and `REPEATED`: which of them are written with double brackets.
Being there is enough; there is no list to edit.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache
from typing import Annotated, Any

from pydantic import Field, create_model

from thermalkit.site.fields import Keys
from thermalkit.site.model import MOST_ENTRIES, SiteKeys


@cache
def site_model() -> type[SiteKeys]:
    """The model of `site.toml` with the tables of every section found."""
    tables: dict[str, Any] = {}
    for module in pkgutil.iter_modules(__path__):
        section = importlib.import_module(f"{__name__}.{module.name}")
        for table, keys in section.TABLES.items():
            tables[table] = _field(keys, repeated=table in getattr(section, "REPEATED", ()))
    return create_model("SiteFile", __base__=SiteKeys, **tables)


def _field(keys: type[Keys], *, repeated: bool) -> tuple[Any, Any]:
    description = (keys.__doc__ or "").splitlines()[0]
    if repeated:
        many = Annotated[tuple[keys, ...], Field(max_length=MOST_ENTRIES)]  # type: ignore[valid-type]
        return many, Field((), description=description)
    return keys | None, Field(None, description=description)
