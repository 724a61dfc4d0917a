"""TOML written from plain data."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any


def toml_text(tables: Mapping[str, Any]) -> str:
    r"""Text of a TOML file.

    Parameters
    ----------
    tables : mapping
        Text, numbers, bool, dates and times, lists of these, mappings (tables) and lists of mappings
        (arrays of tables). None is left out.

    Raises
    ------
    TypeError
        A value that TOML cannot hold.

    Examples
    --------
    >>> print(toml_text({"format": 1, "site": {"name": 'A "b"'}, "rooms": [{"id": "c"}]}))
    format = 1
    <BLANKLINE>
    [site]
    name = "A \"b\""
    <BLANKLINE>
    [[rooms]]
    id = "c"
    <BLANKLINE>
    """
    return "\n".join(_lines(tables, ())).lstrip("\n") + "\n"


def _lines(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    given = {key: value for key, value in table.items() if value is not None}
    for key, value in given.items():
        if not _is_table(value) and not _is_tables(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in given.items():
        name = ".".join(_key(part) for part in (*path, key))
        if _is_table(value):
            if not value or not all(_is_table(inner) for inner in value.values()):
                yield f"\n[{name}]"
            yield from _lines(value, (*path, key))
        elif _is_tables(value):
            for item in value:
                yield f"\n[[{name}]]"
                yield from _lines(item, (*path, key))


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping)


def _is_tables(value: object) -> bool:
    return isinstance(value, (list, tuple)) and bool(value) and all(_is_table(item) for item in value)


def _key(key: str) -> str:
    return key if key.isascii() and key.replace("-", "").replace("_", "").isalnum() else _text(key)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, Sequence):
        return f"[{', '.join(_value(item) for item in value)}]"
    raise TypeError(f"TOML cannot hold {type(value).__name__}")
