"""Sentences as ids with values, rendered in the reader's language when something is written.

The catalogues are the files `locale/<language>.toml` of any folder in the package: one flat table from
id to text with `{names}` for the values. A new investigation brings its own.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from pathlib import Path

LANGUAGES = ("en", "de")

_UNITS = {
    "degC": "°C",
    "m2K/W": "m²K/W",
    "W/m2": "W/m²",
    "g/m2": "g/m²",
    "K": "K",
    "%": "%",
    "h": "h",
    "mm": "mm",
    "m": "m",
    "m2": "m²",
    "": "",
}


@dataclass(frozen=True, slots=True)
class Number:
    """A number to be shown with its unit and a fixed count of decimals."""

    value: float
    unit: str = ""
    digits: int = 1


@dataclass(frozen=True, slots=True)
class Interval:
    """A value shown with the interval that holds it."""

    value: float
    low: float
    high: float
    unit: str = ""
    digits: int = 1


@dataclass(frozen=True, slots=True)
class Day:
    """A date, shown with its month in words."""

    value: date


@dataclass(frozen=True, slots=True)
class Bilingual:
    """Words that stand elsewhere than in a catalogue."""

    en: str
    de: str


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of a catalogue and what it speaks of."""

    id: str
    values: Mapping[str, Value] = field(default_factory=dict)


Words = str | Sentence | Bilingual
Value = str | int | Number | Interval | Day | Sentence | Bilingual


def say(id: str, /, **values: Value) -> Sentence:
    """A sentence with its values.

    Examples
    --------
    >>> render(say("unit.example", air="20 Grad"), "de")
    'Die Luft hat 20 Grad.'
    """
    return Sentence(id, values)


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """Every sentence of a language, from all folders of the package.

    Raises
    ------
    ValueError
        Two folders define the same id.
    """
    texts: dict[str, str] = {}
    for path in sorted(Path(__file__).parent.rglob(f"locale/{language}.toml")):
        added = tomllib.loads(path.read_text(encoding="utf-8"))
        twice = sorted(texts.keys() & added.keys())
        if twice:
            raise ValueError(f"{path.name} in {path.parent.parent.name} defines again: {', '.join(twice)}")
        texts.update(added)
    return texts


def render(sentence: Sentence, language: str) -> str:
    """The sentence in a language, numbers in that language's format."""
    shown = {name: _shown(value, language) for name, value in sentence.values.items()}
    return catalogue(language)[sentence.id].format_map(shown)


def words_in(words: Words, language: str) -> str:
    """Words in a language; what is no sentence stands as it is."""
    return _shown(words, language)


def texts_in(sentences: Iterable[Words], language: str) -> tuple[str, ...]:
    """Several of them in a language."""
    return tuple(words_in(sentence, language) for sentence in sentences)


def number_text(value: float, language: str, digits: int, unit: str = "") -> str:
    r"""A number in the language's format, a no-break space before its unit.

    Examples
    --------
    >>> number_text(1234.5, "de", 1, "K")
    '1.234,5\xa0K'
    """
    from babel.numbers import format_decimal

    pattern = "#,##0" + ("." + "0" * digits if digits else "")
    text = str(format_decimal(round(value, digits) + 0.0, format=pattern, locale=language))
    text = text.replace("-", "\u2212")
    return f"{text}\u00a0{_UNITS.get(unit, unit)}" if unit else text


def day_text(day: date, language: str) -> str:
    """A date with its month in words.

    Examples
    --------
    >>> day_text(date(2026, 3, 1), "de")
    '1. März 2026'
    """
    from babel.dates import format_date

    return str(format_date(day, catalogue(language)["day.pattern"], locale=language))


def _shown(value: object, language: str) -> str:
    if isinstance(value, Sentence):
        return render(value, language)
    if isinstance(value, Bilingual):
        return value.de if language == "de" else value.en
    if isinstance(value, Day):
        return day_text(value.value, language)
    if isinstance(value, Number):
        return number_text(value.value, language, value.digits, value.unit)
    if isinstance(value, Interval):
        low, high = (number_text(v, language, value.digits) for v in (value.low, value.high))
        between = render(say("number.interval", low=low, high=high), language)
        return f"{number_text(value.value, language, value.digits, value.unit)} ({between})"
    return str(value)
