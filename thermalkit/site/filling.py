"""Answers of a form: from what was typed to values of the site file, with what is wrong beside each."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, tzinfo
from typing import Any

from pydantic import ValidationError

from thermalkit.errors import Problem, printable
from thermalkit.language import render, say
from thermalkit.site.asking import Asked, AskedTable
from thermalkit.site.problems import MISSING, problems_of
from thermalkit.site.references import SITE_FILE

_GERMAN_DAY = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_SHORT_HOUR = re.compile(r"(?<![\d:+-])(?=\d:\d\d)")
_TIME_ALONE = re.compile(r"\d\d:\d\d(:\d\d)?")
_UNITS_OF_TIME = {"hours": ("h",), "minutes": ("min",)}
_LAYER = re.compile(r"(.+?)\s+([\d.,]+)\s*(?:mm)?")


def value_of(asked: Asked, text: str, clock: tzinfo | None = None, day: date | None = None) -> Any:
    """What somebody typed as a value of the file; what cannot be read stays text, for the model to refuse.

    Parameters
    ----------
    asked : Asked
        The field.
    text : str
        Decimal commas, the field's own unit, days as 21.01.2026 and times without an offset are understood.
    clock : tzinfo, optional
        Clock of a time without offset.
    day : date, optional
        Day of a time that stands alone.
    """
    text = text.strip()
    if asked.form in ("number", "word-or-number"):
        number = _number(_without_unit(text, asked))
        return text if isinstance(number, str) else number
    if asked.form == "whole":
        plain = _without_unit(text, asked)
        return int(plain) if re.fullmatch(r"[+-]?\d{1,18}", plain) else text
    if asked.form == "numbers":
        return [_number(part) for part in _parts(text)]
    if asked.form in ("day", "moment"):
        return _day_or_moment(asked.form, text, clock, day)
    if asked.form == "yes-no":
        return {"yes": True, "no": False}.get(text, text)
    return _layers(text) if asked.form == "layers" else text


def text_of(value: Any) -> str:
    """A value of the file as a form shows it; the way back of `value_of`.

    Examples
    --------
    >>> text_of([25.0, 19.5]), text_of([{"material": "brick", "thickness_mm": 215}]), text_of(True)
    ('25; 19.5', 'brick 215', 'yes')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes" if not value.second else "seconds").replace("T", " ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return "; ".join(text_of(part) for part in value)
    if isinstance(value, Mapping):
        return " ".join(text_of(part) for part in value.values())
    return str(value)


def understood(
    table: AskedTable, typed: Mapping[str, str], clock: tzinfo | None = None, day: date | None = None
) -> tuple[dict[str, Any], dict[str, Problem]]:
    """Values of one entry that may be written, and what is wrong with each key that may not.

    A required key that is empty is wrong too.
    """
    raw = {
        field.key: value_of(field, typed[field.key], clock, day)
        for field in table.fields
        if typed.get(field.key, "").strip()
    }
    try:
        table.model.model_validate(raw)
    except ValidationError as error:
        problems = problems_of(error, table.model, SITE_FILE, raw)
        keys = [str(detail["loc"][0]) for detail in error.errors(include_url=False) if detail["loc"]]
        wrong = dict(zip(keys, problems, strict=False))
        return {key: value for key, value in raw.items() if key not in wrong}, wrong
    return raw, {}


def beside(problem: Problem, language: str) -> str:
    """What a form says beside a field that was answered: what is allowed and the likely fix."""
    needed = render(say("site.needed"), language) if problem.read == MISSING else ""
    return printable(" ".join(part for part in (needed, problem.advice(language)) if part))


def _number(text: str) -> Any:
    """A number, with a decimal point or comma; whole ones stay whole."""
    plain = text.strip().replace("−", "-")
    if re.fullmatch(r"[+-]?\d{1,20}", plain):
        return int(plain)
    if re.fullmatch(r"[+-]?(\d{1,20}[.,]\d{0,20}|[.,]\d{1,20})", plain):
        return float(plain.replace(",", "."))
    return text


def _parts(text: str) -> list[str]:
    """Numbers of a list: between semicolons, else blanks, else commas."""
    parts = [part for part in re.split(r"\s*;\s*" if ";" in text else r",?\s+", text) if part]
    return parts[0].split(",") if len(parts) == 1 else parts


def _day_or_moment(form: str, text: str, clock: tzinfo | None, day: date | None) -> Any:
    iso = _GERMAN_DAY.sub(lambda d: f"{d[3]}-{int(d[2]):02}-{int(d[1]):02}", text)
    iso = _SHORT_HOUR.sub("0", iso)
    if day is not None and _TIME_ALONE.fullmatch(iso):
        iso = f"{day.isoformat()} {iso}"
    try:
        if form == "day":
            return date.fromisoformat(iso)
        moment = datetime.fromisoformat(iso) if re.search(r"\d:\d", iso) else None
    except ValueError:
        return text
    if moment is None:
        return text
    return moment.replace(tzinfo=clock) if moment.tzinfo is None else moment


def _without_unit(text: str, asked: Asked) -> str:
    """A number as it is often written: with a plus-minus before it, or its own unit behind it."""
    units = (asked.unit, *_UNITS_OF_TIME.get(asked.key.split("_")[0], ()))
    plain = text.removeprefix("±").strip()
    return next((plain.removesuffix(unit).strip() for unit in units if unit and plain.endswith(unit)), plain)


def _layers(text: str) -> Any:
    """`lime plaster 15; brick 330` as layers of mm."""
    found = [_LAYER.fullmatch(part.strip()) for part in text.split(";")]
    if not all(found):
        return text
    return [{"material": part[1], "thickness_mm": _number(part[2])} for part in found if part]
