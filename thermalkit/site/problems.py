"""From what a model refuses to what a surveyor reads: where, what was read, what is allowed, the fix."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from thermalkit.errors import Problem, printable
from thermalkit.site.fields import LONGEST_ID, Keys

MOST_DETAILS = 1000  # nobody reads more, and a hostile file may hold a hundred thousand
_LONGEST_SHOWN = 80
_ALLOWED = {
    "id_form": "printable characters without / or \\, no space at either end",
    "path_form": "a path inside the folder with / between its parts, no .., no drive, no leading /",
    "clock_unknown": "a zone such as Europe/London, or an offset such as +01:00",
    "text_control": "text without control or direction-changing characters",
    "country_unknown": "a country of ISO 3166-1, such as GB, IE or DE",
    "string_type": "text in quotes",
    "model_type": "a table",
    "dict_type": "a table with one table in it per entry",
    "tuple_type": "a list",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "int_from_float": "a whole number",
    "time_wanted": "a date and time with offset, such as 2026-01-21T08:30:00+00:00",
    "timezone_aware": "a date and time with offset, such as 2026-01-21T08:30:00+00:00",
    "datetime_type": "a date and time with offset, such as 2026-01-21T08:30:00+00:00",
    "date_type": "a day, such as 2026-01-21",
}


def shown(value: object) -> str:
    r"""A value from a file, short and on one line, whatever it holds.

    Examples
    --------
    >>> print(shown('a"b' + chr(10)), shown(True), shown(10**5000), shown([1]))
    "a\"b\n" true a number of very many digits a list
    """
    if isinstance(value, str):
        short = value if len(value) <= _LONGEST_SHOWN else value[:_LONGEST_SHOWN] + "…"
        return printable(json.dumps(short, ensure_ascii=False))
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value) if abs(value) < 10**20 else "a number of very many digits"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    if isinstance(value, (Mapping, list, tuple)):
        return "a table" if isinstance(value, Mapping) else "a list"
    return "nothing" if value is None else "something else"


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names in quotes for a message, cut after `most`."""
    names = list(names)
    return ", ".join(shown(name) for name in names[:most]) + (", …" if len(names) > most else "")


def nearest(name: str, known: Iterable[str]) -> str:
    """A sentence that names the likely intended name, else what is known."""
    known = [k for k in known if len(k) <= LONGEST_ID]
    close = get_close_matches(name[:LONGEST_ID], known, n=1)
    if close:
        return f"Did you mean {shown(close[0])}?"
    return f"Known: {listed(known, most=30)}." if known else ""


def key_path(location: Sequence[int | str], raw: object = None) -> str:
    """`frames[2].emissivity`, counted from 0, with the id of the entry where it has one.

    Examples
    --------
    >>> key_path(("frames", 0, "emissivity"), {"frames": [{"id": "corner"}]})
    'frames[0].emissivity ("corner")'
    """
    path, name, here = "", "", raw
    for part in location:
        if part == "[key]":
            continue
        if isinstance(part, int):
            path += f"[{part}]"
        else:
            quoted = (
                part if part.isidentifier() and part.isascii() and len(part) <= LONGEST_ID else shown(part)
            )
            path += f".{quoted}" if path else quoted
        here = _step(here, part)
        if isinstance(here, Mapping) and isinstance(here.get("id"), str):
            name = here["id"]
    return f"{path} ({shown(name)})" if name else path


def _step(here: object, part: int | str) -> object:
    if isinstance(here, Mapping):
        return here.get(part)
    if isinstance(here, list) and isinstance(part, int) and part < len(here):
        return here[part]
    return None


def model_at(model: type[Keys], location: Iterable[int | str]) -> type[Keys]:
    """The innermost table model along a path of keys."""
    for part in location:
        if isinstance(part, str) and part in model.model_fields:
            model = table_model(model.model_fields[part].annotation) or model
    return model


def table_model(annotation: Any) -> type[Keys] | None:
    """The model of the tables that a field holds, singly, in a list or by name."""
    if isinstance(annotation, type) and issubclass(annotation, Keys):
        return annotation
    return next((found for arg in get_args(annotation) if (found := table_model(arg))), None)


def problems_of(error: ValidationError, model: type[Keys], file: str, raw: object) -> list[Problem]:
    """Everything a model refused, as problems of `file`."""
    found = error.errors(include_url=False)[:MOST_DETAILS]
    return [_problem(detail, model, file, raw) for detail in found]


def _problem(detail: ErrorDetails, model: type[Keys], file: str, raw: object) -> Problem:
    location, kind, value = detail["loc"], detail["type"], detail["input"]
    key = str(location[-1]) if location else ""
    table = model_at(model, location[:-1])
    field = table.model_fields.get(key)
    place = key_path(location, raw)
    if kind == "extra_forbidden":
        return Problem(file=file, place=place, read="unknown key", fix=nearest(key, table.model_fields))
    described = field.description if field and field.description else ""
    if kind == "missing":
        return Problem(file=file, place=place, read="missing", fix=described)
    return Problem(
        file=file,
        place=place,
        read=shown(key if kind == "id_form" and "[key]" in location else value),
        allowed=_allowed(detail),
        fix=_fix(key, detail, value) or ("" if kind == "path_form" else described),
    )


def _allowed(detail: ErrorDetails) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind in {"number_wanted", "number_outside"}:
        return f"{context['low']:g} to {context['high']:g}"
    if kind == "literal_error":
        return str(context["expected"]).replace("'", '"')
    if kind in {"too_long", "string_too_long"}:
        return f"at most {context['max_length']}"
    if kind in {"too_short", "string_too_short"}:
        return f"at least {context['min_length']}"
    if kind == "string_pattern_mismatch":
        return f"{context['pattern'].partition('{')[2].partition('}')[0]} capital letters"
    if kind.startswith(("datetime_", "date_")):
        return _ALLOWED["datetime_type" if kind.startswith("datetime") else "date_type"]
    return _ALLOWED.get(kind, detail["msg"])


def _fix(key: str, detail: ErrorDetails, value: object) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "number_outside":
        return number_hint(key, context["value"], context["low"], context["high"])
    if kind == "number_wanted" and isinstance(value, str) and "," in value:
        return f"Write {shown(value.replace(',', '.'))[1:-1]}, with a decimal point and without quotes."
    if kind == "timezone_aware":
        return "Add the offset, e.g. +01:00."
    if kind == "time_wanted" and isinstance(value, date):
        return "Add the time and the offset, e.g. T08:30:00+01:00."
    if kind == "tuple_type" and isinstance(value, Mapping):
        return f"Write [[{key}]] with double brackets above each entry."
    if kind == "country_unknown":
        return 'Did you mean "GB"?' if value == "UK" else ""
    if kind == "string_pattern_mismatch" and isinstance(value, str):
        return _capitals(value, context["pattern"])
    if kind == "literal_error" and isinstance(value, str):
        expected = [word.strip("' ") for word in context["expected"].replace(" or ", ", ").split(", ")]
        close = get_close_matches(value[:LONGEST_ID], expected, n=1)
        return f"Did you mean {shown(close[0])}?" if close else ""
    return ""


def _capitals(value: str, pattern: str) -> str:
    fits = value.isascii() and value.isalpha() and len(value) == int(pattern.partition("{")[2][0])
    return f"Did you mean {shown(value.upper())}?" if fits else ""


def number_hint(name: str, value: float, low: float, high: float) -> str:
    """What a number outside its range was probably meant to be.

    Examples
    --------
    >>> number_hint("relative_humidity_percent", 0.52, 1, 100)
    '0.52 looks like a fraction; did you mean 52?'
    >>> number_hint("air_temperature_degc", 293.15, -60, 60)
    '293.15 looks like kelvin; did you mean 20?'
    """
    guesses = (
        ("percent" in name or "humidity" in name, 0 < value <= 1, "a fraction", value * 100),
        ("emissivity" in name, 1 < value <= 100, "a percentage", value / 100),
        ("temperature" in name, value > 100, "kelvin", value - 273.15),
        (name.endswith("_m"), value > 100, "millimetres", value / 1000),
    )
    for named, looks, what, meant in guesses:
        if named and looks and low <= meant <= high:
            return f"{value:g} looks like {what}; did you mean {meant:.4g}?"
    return ""
