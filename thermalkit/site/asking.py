"""What a form asks, read off the models of the site file: on paper before a visit, on a screen after it.

English words stand in the models. Their German stands in `german.toml` beside this file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import AwareDatetime
from pydantic.fields import FieldInfo

from thermalkit.site.fields import FileInFolder, Keys, RefersTo
from thermalkit.site.german import german
from thermalkit.site.model import ReadingRow
from thermalkit.site.problems import table_model
from thermalkit.site.sections import site_model

READINGS = "readings"
NAMED = "instruments"  # its entries stand under names, where others have an id
# Drawn on pictures, constant, or proposed from the file: nobody is asked to write these.
NOT_ASKED = frozenset({"format", "marks", "plans", "loggers.columns", "frames.strip"})
# What narrows a result or has to be given; all else is asked under "more".
FIRST: Mapping[str, tuple[str, ...]] = {
    "site": ("name", "surveyed_at", "country", "question"),
    "surveyor": ("name", "qualification"),
    "weather": (
        *("air_temperature_degc", "mean_24h_air_temperature_degc", "relative_humidity_percent"),
        *("hours_since_sun", "hours_steady"),
    ),
    "instruments": ("kind", "accuracy_k", "accuracy_percent_rh", "calibrated_on"),
    "rooms": (
        *("id", "name", "air_temperature_degc", "relative_humidity_percent", "instrument"),
        "open_flued_appliance",
    ),
    "frames": (
        *("id", "file", "photo", "room", "instrument", "subject", "values", "taken_at", "emissivity"),
        *("reflected_temperature_degc", "distance_m"),
    ),
    "references": ("frame", "mark", "kind", "temperature_degc", "instrument"),
    "loggers": ("id", "file", "place", "room", "clock"),
    "looked_at": ("room", "element", "looked", "why"),
    "elements": ("id", "room", "kind", "construction", "built_in"),
    "samples": ("id", "room", "material", "height_mm", "depth_mm", "method", "moisture_percent"),
    "cabinets": ("id", "name", "room", "air_temperature_degc", "seen"),
    "circuits": (
        *("id", "cabinet", "name", "group", "phase", "rated_current_a", "measured_current_a"),
        *("expected_peak_current_a", "conductor_mm2", "insulation", "terminal_surface"),
        "minutes_since_load_changed",
    ),
    "heating": ("source", "flow_degc", "design_flow_degc", "planned_flow_degc"),
    "radiators": (
        *("id", "room", "frame", "type", "height_mm", "length_mm", "head", "warmer_than_set"),
        *("minutes_steady", "flow_degc", "return_degc", "rated_output_w", "exponent"),
    ),
    "heat_losses": ("room", "element", "area_m2", "transmittance_w_m2k", "load_w"),
    READINGS: ("place", "taken_at", "quantity", "value", "unit", "instrument"),
}
_UNITS = {
    "degc": "°C",
    "percent_rh": "% RH",
    "percent": "%",
    "m_s": "m/s",
    "m2": "m²",
    "m3": "m³",
    "mm2": "mm²",
    "mm": "mm",
    "a": "A",
    "m": "m",
    "k": "K",
    "um": "µm",
    "w_m2k": "W/(m²K)",
    "w": "W",
    "deg": "°",
}
_FORMS: Mapping[Any, str] = {
    float: "number",
    int: "whole",
    bool: "yes-no",
    date: "day",
    datetime: "moment",
    AwareDatetime: "moment",
    object: "word-or-number",
}
_ENGLISH = {"id": "Short name", "set": "Set of limits", "values": "Values in the file"}
_ARTICLE = re.compile(r"^(One|A|Ein|Eine) ")
_SHORT = re.compile(r"[,;]| and | that | und | \(")
_UNIT = re.compile(f"_({'|'.join(_UNITS)})$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One field of a form: its key in the file, its words, and which form an answer has.

    `form` is text, number, whole, numbers, word-or-number, moment, day, yes-no, choice, layers, file
    or entry; `options` holds the words of a choice, the table an entry stands in, or what a file is used for.
    """

    key: str
    label: str
    hint: str
    form: str
    options: tuple[str, ...] = ()
    unit: str = ""
    required: bool = False
    first: bool = True
    default: str = ""
    narrowed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedTable:
    """One table of the site file, or readings.csv."""

    table: str
    title: str
    fields: tuple[Asked, ...]
    model: type[Keys]
    repeated: bool

    @property
    def named(self) -> bool:
        """Whether its entries stand under names."""
        return self.table == NAMED


def entry_name(title: str) -> str:
    """What one entry of a table is called.

    Examples
    --------
    >>> entry_name("One room and its air during the survey"), entry_name("Ein Raum und seine Luft")
    ('Room', 'Raum')
    """
    name = _ARTICLE.sub("", _SHORT.split(title)[0])
    return name[:1].upper() + name[1:]


def entry_words(table: str, language: str) -> str:
    """What the form calls an entry of a table; the table's own name where the form does not ask for it."""
    titles = (item.title for item in asked_tables(language) if item.table == table)
    return next((entry_name(title) for title in titles), table)


@cache
def asked_tables(language: str = "en") -> tuple[AskedTable, ...]:
    """Everything that a form asks, table by table in the order of the file."""
    return tuple(_tables(language))


def _tables(language: str) -> Iterator[AskedTable]:
    for table, field in site_model().model_fields.items():
        model = table_model(field.annotation)
        if model is not None and table not in NOT_ASKED:
            yield _table(table, model, _is_repeated(field) or table == NAMED, language)
    yield _table(READINGS, ReadingRow, True, language)


def _is_repeated(field: FieldInfo) -> bool:
    return get_origin(_plain(field.annotation)) is tuple


def _table(table: str, model: type[Keys], repeated: bool, language: str) -> AskedTable:
    fields = [
        _asked(table, key, field, language)
        for key, field in model.model_fields.items()
        if f"{table}.{key}" not in NOT_ASKED
    ]
    first = FIRST.get(table, ())
    fields.sort(key=lambda item: first.index(item.key) if item.key in first else len(first))
    return AskedTable(
        table=table,
        title=_title(table, model, language),
        fields=tuple(fields),
        model=model,
        repeated=repeated,
    )


def _title(table: str, model: type[Keys], language: str) -> str:
    if language == "de":
        return german()["titles"][table]
    words = (model.__doc__ or "").splitlines()[0].rpartition("]: ")[2].rstrip(".")
    words = "one reading of another instrument" if table == READINGS else words
    words = "one instrument and its accuracy (plus or minus)" if table == NAMED else words
    return words[:1].upper() + words[1:]


def _asked(table: str, key: str, field: FieldInfo, language: str) -> Asked:
    form, options = _form(field)
    marker = next((m for m in _parts(field) if isinstance(m, RefersTo)), None)
    unit = _UNIT.search(key)
    return Asked(
        key=key,
        label=_label(key, language),
        hint=german()[table][key] if language == "de" else field.description or "",
        form=form,
        options=options,
        narrowed=marker.kinds if marker else (),
        unit=_UNITS[unit[1]] if unit else "",
        required=field.is_required(),
        first=key in FIRST.get(table, ()),
        default=_default(field),
    )


def _label(key: str, language: str) -> str:
    """A key in words, without its unit.

    Examples
    --------
    >>> _label("mean_24h_air_temperature_degc", "en"), _label("wind_speed_m_s", "de")
    ('Mean 24h air temperature', 'Windgeschwindigkeit')
    """
    if language == "de":
        return german()["labels"][key]
    words = _ENGLISH.get(key) or _UNIT.sub("", key).replace("_", " ")
    return words[:1].upper() + words[1:]


def _default(field: FieldInfo) -> str:
    value = field.default
    return str(value) if isinstance(value, (str, float)) and not isinstance(value, bool) else ""


def _form(field: FieldInfo) -> tuple[str, tuple[str, ...]]:
    parts = list(_parts(field))
    for part in parts:
        if isinstance(part, RefersTo):
            return ("text", ()) if part.words else ("entry", (part.table,))
        if isinstance(part, FileInFolder):
            return "file", (part.use, *part.endings)
    plain = _plain(field.annotation)
    words = get_args(plain) if get_origin(plain) is Literal else ()
    if words:
        return "choice", tuple(str(word) for word in words)
    if get_origin(plain) is tuple:
        return ("layers" if table_model(plain) else "numbers"), ()
    return _FORMS.get(plain, "text"), ()


def _plain(annotation: Any) -> Any:
    """The type below Optional and Annotated; `object` where it is one of several."""
    if get_origin(annotation) is Annotated:
        return _plain(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        kinds = [arg for arg in get_args(annotation) if arg is not type(None)]
        return _plain(kinds[0]) if len(kinds) == 1 else object
    return annotation


def _parts(field: FieldInfo) -> Iterator[object]:
    """Everything attached to a field's type, at any depth."""
    yield from field.metadata
    pending = [field.annotation]
    while pending:
        part: Any = pending.pop()
        yield from getattr(part, "__metadata__", ())
        pending += get_args(part) if get_origin(part) is not Literal else ()
