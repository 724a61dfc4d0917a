"""Words, numbers and dates of the annex in the reader's language."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from markupsafe import Markup

from thermalkit.diagnosis.finding import Limit, Quantity, Verdict
from thermalkit.language import Number, Sentence, catalogue, number_text, render, say

Rows = list[list[str]]
Pairs = list[tuple[str, str]]

VERDICTS: tuple[Verdict | None, ...] = ("indicated", "inconclusive", "not indicated", None)
# Filled, half filled and empty tell apart without colour.
SYMBOLS: Mapping[Verdict | None, str] = {
    "indicated": "●",
    "inconclusive": "◐",
    "not indicated": "○",
    None: "–",
}

_HIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class Wording:
    """The catalogue of one language, as the templates speak it."""

    language: str

    def say(self, id: str, /, **values: str | int | Number | Sentence) -> str:
        """A sentence of the catalogue.

        Examples
        --------
        >>> Wording("de").say("annex.verdict.indicated")
        'auffällig'
        """
        return render(say(id, **values), self.language)

    def text(self, sentence: Sentence) -> str:
        """A sentence with its values."""
        return render(sentence, self.language)

    def after_place(self, sentence: Sentence, place: str) -> str:
        """A sentence without the name of its place in front, for use below or beside that name."""
        return self.text(sentence).removeprefix(f"{place}: ")

    def either(self, id: str, otherwise: str) -> str:
        """A sentence of the catalogue, or other words where it has none."""
        return self.say(id) if id in catalogue(self.language) else otherwise

    def verdict(self, verdict: Verdict | None) -> str:
        """A verdict in words."""
        return self.say(f"annex.verdict.{(verdict or 'noted').replace(' ', '-')}")

    def urgency(self, verdict: Verdict | None, at_once: bool = False) -> str:
        """How soon to act on a verdict."""
        if at_once:
            return self.say("annex.urgency.at-once")
        return self.say(f"annex.urgency.{(verdict or 'noted').replace(' ', '-')}")

    def number(self, value: float, digits: int, unit: str = "") -> str:
        """A number with its unit."""
        return number_text(value, self.language, digits, unit.replace("m2K/W", "m²K/W"))

    def plain(self, value: float, unit: str = "") -> str:
        """A number with as many decimals as it has, four at most."""
        written = f"{value:.4f}".rstrip("0")
        return self.number(value, len(written.partition(".")[2]), unit)

    def span(self, low: float, high: float, digits: int, unit: str) -> str:
        """Two numbers with one unit."""
        return self.say("number.interval", low=self.number(low, digits), high=self.number(high, digits, unit))

    def interval(self, item: Quantity) -> str:
        """The interval of a quantity."""
        m = item.measured
        return self.span(m.low, m.high, item.term.shown, m.unit)

    def limit(self, limit: Limit) -> str:
        """What a quantity has to reach, or must not pass."""
        return self.say(
            f"annex.{limit.sense}", value=self.number(limit.value, limit.term.shown, limit.term.unit)
        )

    def day(self, when: date) -> str:
        """A date, the month in words."""
        from babel.dates import format_date

        return str(format_date(when, self.say("annex.date-pattern"), locale=self.language))

    def moment(self, when: datetime) -> str:
        """Date and time with the offset they were written with."""
        return f"{self.day(when)}, {when:%H:%M} (UTC{when.isoformat()[-6:]})"


def visible(text: str) -> str:
    r"""Text in which nothing hides: what turns the direction of writing or controls a device is shown.

    Examples
    --------
    >>> visible("dry\u202eyad")
    'dry\ufffdyad'
    """
    return _HIDDEN.sub("\ufffd", text)


def symbol_html(symbol: str) -> Markup:
    """A symbol of a standard with its index set low.

    Examples
    --------
    >>> str(symbol_html("f_Rsi"))
    '<i>f</i><sub>Rsi</sub>'
    """
    letter, _, index = symbol.partition("_")
    return Markup("<i>{}</i><sub>{}</sub>" if index else "<i>{}</i>").format(letter, index)
