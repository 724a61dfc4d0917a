"""From what a model refuses to what a surveyor reads: where, what was read, what is allowed, the fix."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from difflib import get_close_matches
from functools import cache
from typing import Any, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from thermalkit.errors import Problem, printable
from thermalkit.language import Bilingual, Words, say
from thermalkit.site.fields import LONGEST_ID, Keys
from thermalkit.site.german import german

MOST_DETAILS = 1000  # nobody reads more, and a hostile file may hold a hundred thousand
MISSING = say("site.read.missing")
_LONGEST_SHOWN = 80
_A_MOMENT = say("site.allowed.moment")
_ALLOWED = {
    "id_form": say("site.allowed.id"),
    "path_form": say("site.allowed.path"),
    "clock_unknown": say("site.allowed.clock"),
    "text_control": say("site.allowed.plain-text"),
    "country_unknown": say("site.allowed.country"),
    "string_type": say("site.allowed.text"),
    "model_type": say("site.allowed.table"),
    "dict_type": say("site.allowed.tables"),
    "tuple_type": say("site.allowed.list"),
    "bool_type": say("site.allowed.yes-no"),
    "bool_parsing": say("site.allowed.yes-no"),
    "int_from_float": say("site.allowed.whole-number"),
    "time_wanted": _A_MOMENT,
    "timezone_aware": _A_MOMENT,
    "datetime_type": _A_MOMENT,
    "date_type": say("site.allowed.day"),
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


def composed(text: str) -> str:
    """Text with each accent on its letter: some systems store the two apart, and it looks the same."""
    return unicodedata.normalize("NFC", text)


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names in quotes for a message, cut after `most`."""
    names = list(names)
    return ", ".join(shown(name) for name in names[:most]) + (", …" if len(names) > most else "")


def meant(name: str, known: Iterable[str]) -> Words:
    """The question whether a similar name was meant; nothing where none is similar."""
    close = get_close_matches(name[:LONGEST_ID], [k for k in known if len(k) <= LONGEST_ID], n=1)
    return did_you_mean(close[0]) if close else ""


def did_you_mean(value: object) -> Words:
    """The likely fix as a question."""
    return say("site.fix.meant", value=shown(value))


def nearest(name: str, known: Iterable[str]) -> Words:
    """A sentence that names the likely intended name, else what is known."""
    known = [k for k in known if len(k) <= LONGEST_ID]
    fix = meant(name, known)
    return fix or (say("site.fix.known", names=listed(known, most=30)) if known else "")


def choice_of(names: Sequence[str]) -> Words:
    """Names of which one is allowed."""
    *others, last = map(shown, names)
    return say("site.allowed.one-of", others=", ".join(others), last=last) if others else last


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
    place = key_path(location, raw)
    if kind == "extra_forbidden":
        return Problem(
            file=file, place=place, read=say("site.read.unknown-key"), fix=nearest(key, table.model_fields)
        )
    described = _described(table, key)
    if kind == "missing":
        return Problem(file=file, place=place, read=MISSING, fix=described)
    return Problem(
        file=file,
        place=place,
        read=_read(key if kind == "id_form" and "[key]" in location else value),
        allowed=_allowed(detail),
        fix=_fix(key, detail, value) or ("" if kind == "path_form" else described),
    )


def _read(value: object) -> Words:
    """A value as it was read; what is no text or number is named in words."""
    if isinstance(value, (Mapping, list, tuple)):
        return say("site.read.table" if isinstance(value, Mapping) else "site.read.list")
    return shown(value)


def _described(table: type[Keys], key: str) -> Words:
    """What the field is for."""
    field = table.model_fields.get(key)
    if field is None or not field.description:
        return ""
    translated = german().get(_table_names().get(table, "readings"), {})
    return Bilingual(en=field.description, de=translated.get(key, field.description))


@cache
def _table_names() -> dict[type[Keys], str]:
    """What a table is called under which a model stands, in the file or in an entry."""
    from thermalkit.site.sections import site_model

    names: dict[type[Keys], str] = {}
    for name, field in site_model().model_fields.items():
        if model := table_model(field.annotation):
            names[model] = name
            for key, inner in model.model_fields.items():
                if within := table_model(inner.annotation):
                    names.setdefault(within, key)
    return names


def _allowed(detail: ErrorDetails) -> Words:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind in {"number_wanted", "number_outside"}:
        return between(context["low"], context["high"])
    if kind == "literal_error":
        return choice_of(_expected(context["expected"]))
    if kind in {"too_long", "string_too_long"}:
        return say("site.allowed.at-most", count=context["max_length"])
    if kind in {"too_short", "string_too_short"}:
        return say("site.allowed.at-least", count=context["min_length"])
    if kind == "string_pattern_mismatch":
        return say("site.allowed.capitals", count=_length(context["pattern"]))
    if kind.startswith(("datetime_", "date_")):
        return _ALLOWED["datetime_type" if kind.startswith("datetime") else "date_type"]
    return _ALLOWED.get(kind, detail["msg"])


def between(low: float, high: float) -> Words:
    """From one number to another, with a decimal point as a file has it."""
    return say("number.interval", low=f"{low:g}", high=f"{high:g}")


def _expected(text: str) -> list[str]:
    return [word.strip("' ") for word in text.replace(" or ", ", ").split(", ")]


def _length(pattern: str) -> int:
    return int(pattern.partition("{")[2].partition("}")[0])


def _fix(key: str, detail: ErrorDetails, value: object) -> Words:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "number_outside":
        return number_hint(key, context["value"], context["low"], context["high"])
    if kind == "number_wanted" and isinstance(value, str) and "," in value:
        return say("site.fix.decimal-point", value=shown(value.replace(",", "."))[1:-1])
    if kind == "timezone_aware":
        return say("site.fix.offset")
    if kind == "time_wanted" and isinstance(value, date):
        return say("site.fix.time-and-offset")
    if kind == "tuple_type" and isinstance(value, Mapping):
        return say("site.fix.double-brackets", table=key)
    if kind == "country_unknown":
        return did_you_mean("GB") if value == "UK" else ""
    if kind == "string_pattern_mismatch" and isinstance(value, str):
        return _capitals(value, context["pattern"])
    if kind == "literal_error" and isinstance(value, str):
        return meant(value, _expected(context["expected"]))
    return ""


def _capitals(value: str, pattern: str) -> Words:
    fits = value.isascii() and value.isalpha() and len(value) == _length(pattern)
    return did_you_mean(value.upper()) if fits else ""


def number_hint(name: str, value: float, low: float, high: float) -> Words:
    """What a number outside its range was probably meant to be.

    Examples
    --------
    >>> from thermalkit.language import words_in
    >>> words_in(number_hint("relative_humidity_percent", 0.52, 1, 100), "en")
    '0.52 looks like a fraction; did you mean 52?'
    >>> words_in(number_hint("air_temperature_degc", 293.15, -60, 60), "de")
    '293.15 sieht nach Kelvin aus; war 20 gemeint?'
    """
    guesses = (
        ("percent" in name or "humidity" in name, 0 < value <= 1, "fraction", value * 100),
        ("emissivity" in name, 1 < value <= 100, "percentage", value / 100),
        ("temperature" in name, value > 100, "kelvin", value - 273.15),
        (name.endswith("_m"), value > 100, "millimetres", value / 1000),
    )
    for named, looks, what, likely in guesses:
        if named and looks and low <= likely <= high:
            return say(f"site.fix.looks-like-{what}", value=f"{value:g}", meant=f"{likely:.4g}")
    return ""
