"""Dates and times of day as loggers write them: how one cell reads, and which number is the month."""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from thermalkit.language import Sentence, say
from thermalkit.site.loggers.text import refusal

Ints = NDArray[np.int64]
Times = NDArray[np.datetime64]

_DATE = r"([0-9]{1,4})([-/. ]) ?([0-9]{1,2}|[^\W\d_]{3,9})\.?[-/. ] ?([0-9]{1,4})"
_CLOCK = r"([0-9]{1,2})[:.h]([0-9]{2})(?:[:.]([0-9]{2}(?:[.,][0-9]{1,9})?))?\s*([ap]\.?\s?m\.?)?"
_OFFSET = r"(?:UTC|GMT)?(Z|UTC|GMT|[-+][0-9]{2}:?[0-9]{2})?"
_MOMENT = re.compile(rf"{_DATE}(?:(?:\s*[T,]\s*|\s+){_CLOCK}\s*{_OFFSET})?", re.IGNORECASE)
_TIME_OF_DAY = re.compile(rf"{_CLOCK}\s*{_OFFSET}", re.IGNORECASE)
_MONTH_NAMES = (
    "jan gen ene,feb fev fév,mar mär mrz maa,apr avr abr,may mai mei mag,jun giu,jul lug,aug aoû ago,"
    "sep set,oct okt ott out,nov,dec dez déc dic"
)
_MONTHS = {
    name: number for number, names in enumerate(_MONTH_NAMES.split(","), start=1) for name in names.split()
}
LARGEST_OFFSET_MIN = 14 * 60
NO_OFFSET = 10_000  # more minutes than any clock is off
FIRST_YEAR, LAST_YEAR = 1980, 2100
# How a date is written; from NUMBERS on, its two first numbers are day and month in either order.
YEAR_FIRST, MONTH_NAMED, NUMBERS, DOTTED, TWO_DIGITS, TWO_DIGITS_DOTTED, TWO_DIGITS_DASHED = range(7)
_LEAP_DAYS = 20  # a month read as a day makes the next row lie about 30 days away
_FIX = say("logger.fix.date-order")


class Written(NamedTuple):
    """One moment as its cell has it; `first` and `second` are month and day, or not yet told apart."""

    year: int
    first: int
    second: int
    form: int
    seconds: float
    offset_min: int
    clock: int  # 0: no time of day, 1: 24 hours, 2: with am or pm


def written(cell: str) -> Written | None:
    """The moment in a cell, None where there is none.

    Examples
    --------
    >>> written("21/01/2021 3:05 pm")
    Written(year=2021, first=21, second=1, form=2, seconds=54300.0, offset_min=10000, clock=2)
    >>> written("12.5") is None
    True
    """
    found = _MOMENT.fullmatch(cell)
    if found is None:
        return None
    a, mark, b, c = found.group(1, 2, 3, 4)
    time = _time_of_day(*found.group(5, 6, 7, 8)) if found[5] else (0.0, 0)
    date = _date(a, mark, b, c)
    offset_min = _offset_min(found[9])
    if time is None or date is None or LARGEST_OFFSET_MIN < abs(offset_min) < NO_OFFSET:
        return None
    return Written(*date, time[0], offset_min, time[1])


def is_time_of_day(cell: str) -> bool:
    """Whether a cell holds a time without a date."""
    return _TIME_OF_DAY.fullmatch(cell) is not None


def _date(a: str, mark: str, b: str, c: str) -> tuple[int, int, int, int] | None:
    if not b[0].isdigit():
        month = _MONTHS.get(b[:3].lower(), 0)
        year, day = (a, c) if len(a) == 4 else (c, a)
        return (_year(year), month, int(day), MONTH_NAMED) if month and len(day) <= 2 else None
    if len(a) == 4 and len(c) <= 2:
        return int(a), int(b), int(c), YEAR_FIRST
    if len(a) > 2 or len(c) == 3 or len(c) == 1:
        return None
    if len(c) == 4:
        form = DOTTED if mark == "." else NUMBERS
    else:
        form = {"-": TWO_DIGITS_DASHED, ".": TWO_DIGITS_DOTTED}.get(mark, TWO_DIGITS)
    return _year(c), int(a), int(b), form


def _year(digits: str) -> int:
    return int(digits) + (2000 if len(digits) == 2 else 0)


def _time_of_day(hour: str, minute: str, second: str | None, half: str | None) -> tuple[float, int] | None:
    """Seconds since midnight and which kind of clock wrote them."""
    h, m, s = int(hour), int(minute), float((second or "0").replace(",", "."))
    if half:
        if not 1 <= h <= 12:
            return None
        h = h % 12 + (12 if half[0] in "pP" else 0)
    if m > 59 or s >= 60 or h * 3600 + m * 60 + s > 86_400:
        return None
    return h * 3600 + m * 60 + s, 2 if half else 1


def _offset_min(text: str | None) -> int:
    if not text:
        return NO_OFFSET
    if text[0] not in "+-":
        return 0
    minutes = int(text[1:3]) * 60 + int(text[-2:])
    return -minutes if text[0] == "-" else minutes


def dates_of(
    file: str, rows: Ints, year: Ints, first: Ints, second: Ints, form: Ints, stated: str | None
) -> tuple[Times, list[Sentence]]:
    """Calendar days in the order in which the file means them, and what was assumed.

    Parameters
    ----------
    file : str
        Named in problems.
    rows : ndarray of int, shape (n,)
        Row of the file of each entry.
    year, first, second, form : ndarray of int, shape (n,)
        As in `Written`.
    stated : "day-first", "month-first" or None
        What the surveyor wrote down.

    Raises
    ------
    ReadingError
        A day that does not exist, or day and month cannot be told apart.
    """
    numeric = form >= NUMBERS
    assumed: list[Sentence] = []
    day_first = True
    if numeric.any():
        _require_year_last(file, rows, year, first, second, form)
        if stated:
            day_first, why = stated == "day-first", say("logger.order.stated")
        else:
            dotted = bool(np.all(np.isin(form[numeric], (DOTTED, TWO_DIGITS_DOTTED))))
            which = (rows[numeric], year[numeric], first[numeric], second[numeric])
            day_first, why = _day_first(file, *which, dotted)
        assumed.append(
            say("logger.assumed.day-first" if day_first else "logger.assumed.month-first", why=why)
        )
    if np.any(form >= TWO_DIGITS):
        assumed.append(say("logger.assumed.two-digits"))
    swapped = numeric & day_first
    days, real = _days(year, np.where(swapped, second, first), np.where(swapped, first, second))
    real &= (year >= FIRST_YEAR) & (year <= LAST_YEAR)
    if not real.all():
        wrong = np.flatnonzero(~real)
        read = say("logger.read.no-such-day", first=FIRST_YEAR, last=LAST_YEAR)
        if len(wrong) > 1:
            read = say("logger.read.day-and-more", read=read, count=len(wrong) - 1)
        fix = say("logger.fix.stopped") if not numeric.any() else _FIX
        raise refusal(
            file, read, say("logger.allowed.dates"), fix, say("logger.place.time", row=int(rows[wrong[0]]))
        )
    return days, assumed


def _days(year: Ints, month: Ints, day: Ints) -> tuple[Times, NDArray[np.bool_]]:
    """Calendar days, and which of them exist."""
    real = (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31) & (year >= 1) & (year <= 9999)
    months = ((year - 1970) * 12 + np.where(real, month, 1) - 1).astype("datetime64[M]")
    days = months.astype("datetime64[D]") + (np.where(real, day, 1) - 1)
    return days, real & (days.astype("datetime64[M]") == months)


def _day_first(
    file: str, rows: Ints, year: Ints, first: Ints, second: Ints, dotted: bool
) -> tuple[bool, Sentence]:
    """Whether the day stands first, and how that is known."""
    days, months = np.flatnonzero(first > 12), np.flatnonzero(second > 12)
    if len(days) and len(months):
        read = say("logger.read.both-orders", day=int(rows[days[0]]), month=int(rows[months[0]]))
        raise refusal(file, read, say("logger.allowed.one-order"), _FIX, say("logger.place.times"))
    if len(days) or len(months):
        row = (rows[days] if len(days) else rows[months])[0]
        return bool(len(days)), say("logger.order.row", row=int(row))
    if np.array_equal(first, second):
        return True, say("logger.order.same")
    if dotted:
        return True, say("logger.order.dots")
    leaps_day, leaps_month = _leaps(year, second, first), _leaps(year, first, second)
    if (leaps_day == 0) == (leaps_month == 0):
        read = say("logger.read.either", day=f"{first[0]:02d}/{second[0]:02d}/{year[0]}")
        raise refusal(
            file, read, say("logger.allowed.told-apart"), _FIX, say("logger.place.time", row=int(rows[0]))
        )
    return leaps_day == 0, say("logger.order.follow")


def _leaps(year: Ints, month: Ints, day: Ints) -> int:
    """How often the next row lies weeks away, or on a day that does not exist."""
    days, real = _days(year, month, day)
    far = np.abs(np.diff(days).astype(np.int64)) > _LEAP_DAYS
    return int(np.count_nonzero(far) + np.count_nonzero(~real))


def _require_year_last(file: str, rows: Ints, year: Ints, first: Ints, second: Ints, form: Ints) -> None:
    """Refuse 21-01-05, which may be of 2021 or of 2005.

    Raises
    ------
    ReadingError
        Years of two digits behind dashes, or that change from day to day.
    """
    short = np.flatnonzero(form >= TWO_DIGITS)
    if not len(short):
        return
    leaping = bool(np.any(np.abs(np.diff(year[short])) > 1)) or len(set(year[short].tolist())) > 4
    if leaping or np.any(form == TWO_DIGITS_DASHED):
        i = short[0]
        read = f"{first[i]:02d}-{second[i]:02d}-{year[i] % 100:02d}"
        raise refusal(
            file,
            read,
            say("logger.allowed.long-years"),
            say("logger.fix.iso"),
            say("logger.place.time", row=int(rows[i])),
        )


def require_full_clock(file: str, rows: Ints, days: Times, seconds: NDArray[np.float64], clock: Ints) -> None:
    """Refuse a 12-hour clock that does not say am or pm.

    Raises
    ------
    ReadingError
        Some rows say am or pm and others do not, or every time comes twice a day and none is above 12.
    """
    halves = clock == 2
    if halves.any() and np.any(clock == 1):
        row = rows[np.flatnonzero(clock == 1)[0]]
        raise refusal(
            file,
            say("logger.read.no-half"),
            say("logger.allowed.as-others"),
            place=say("logger.place.time", row=int(row)),
        )
    hours = seconds // 3600
    if halves.any() or len(rows) < 24 or hours.min() < 1 or hours.max() > 12:
        return
    moments = days.astype("datetime64[s]") + seconds.astype(np.int64)
    if len(np.unique(moments)) < 0.75 * len(moments):
        fix = say("logger.fix.24-hours")
        raise refusal(
            file,
            say("logger.read.12-hours"),
            say("logger.allowed.times-apart"),
            fix,
            say("logger.place.times"),
        )
