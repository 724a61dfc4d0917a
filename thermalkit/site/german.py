"""German words of the fields of the site file; their English stands in the models."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def german() -> dict[str, dict[str, str]]:
    """Titles of tables, labels of keys, and what each key of each table is for."""
    text = files("thermalkit.site").joinpath("german.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
