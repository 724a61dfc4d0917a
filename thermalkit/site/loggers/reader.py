"""The door for a logger's file: everything wrong with it at once, everything assumed listed."""

from __future__ import annotations

import re
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray
from thermalkit.site.files import LARGEST_LOGGER, file_bytes
from thermalkit.site.loggers.clock import utc_of
from thermalkit.site.loggers.layout import Layout, layout_of
from thermalkit.site.loggers.moments import Ints, Times, Written, dates_of, require_full_clock, written
from thermalkit.site.loggers.quantities import MOST_PROBLEMS, quantities_of
from thermalkit.site.loggers.series import LoggerSeries, gaps_in
from thermalkit.site.loggers.text import DELIMITERS, MOST_ROWS, cells_of, lines_of, refusal, rows_in_words
from thermalkit.site.model import LoggerKeys
from thermalkit.site.problems import listed, shown

if TYPE_CHECKING:
    import pandas as pd

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_EMPTY_WORDS = "- -- --- ---- nan na n/a #n/a null none nil inf -inf err error fault open"
_EMPTY = frozenset(("", *_EMPTY_WORDS.split()))
_WHOLE_DIGITS = 9.0
_SIGN = say("logger.place.sign")


@dataclass(slots=True)
class _Rows:
    """What the rows of a file hold, column by column."""

    rows: array[int] = field(default_factory=lambda: array("q"))
    moments: array[float] = field(default_factory=lambda: array("d"))  # those of `Written`, one after another
    numbers: dict[str, array[float]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    signs: dict[str, int] = field(default_factory=dict)  # decimal sign: row where it was first seen
    short: int = 0
    footer: list[int] = field(default_factory=list)

    def moment(self, name: str) -> FloatArray:
        """One field of `Written`, for every row."""
        width = len(Written._fields)
        return np.array(self.moments[Written._fields.index(name) :: width], dtype=np.float64)

    def ints(self, name: str) -> Ints:
        """The same, for fields that hold whole numbers."""
        return self.moment(name).astype(np.int64)


def read_logger(path: Path | str, keys: LoggerKeys) -> LoggerSeries:
    """A logger's file as one checked series.

    Parameters
    ----------
    path : path
        The file; at most 64 MB, 2 million rows, 200 columns.
    keys : LoggerKeys
        What the site file says about it; problems are named by its `file`.

    Raises
    ------
    ReadingError
        Carries what is wrong, by row; nothing is repaired in silence.
    """
    file = keys.file
    lines, encoding = lines_of(file, _content(Path(path), file))
    layout = layout_of(file, lines, keys.columns)
    found = _rows_of(file, lines, layout)
    assumed = [
        say("reader.assumed.encoding", encoding=encoding),
        say("reader.assumed.delimiter", delimiter=say(f"reader.sign.{DELIMITERS[layout.delimiter]}")),
    ]
    assumed += _left_out(found, layout)
    if found.problems:
        raise ReadingError(file, found.problems)
    utc, words = _moments(file, found, layout, keys)
    columns = {role: np.array(numbers, dtype=np.float64) for role, numbers in found.numbers.items()}
    if layout.delimiter == "," and not found.signs:
        _require_no_torn_decimals(file, columns)
    quantities = quantities_of(file, np.array(found.rows, dtype=np.int64), columns, layout.columns, keys)
    if quantities.problems:
        raise ReadingError(file, quantities.problems)
    table, more = _table(file, utc, quantities.values)
    step_s, gaps = gaps_in(table.index)  # type: ignore[arg-type]
    assumed += [*words, *quantities.assumed, *more]
    return LoggerSeries(keys=keys, table=table, step_s=step_s, gaps=gaps, assumed=tuple(assumed))


def _content(path: Path, file: str) -> bytes:
    real = path.resolve()
    try:
        return file_bytes(real.parent, real.name, LARGEST_LOGGER)
    except ReadingError as error:
        raise ReadingError(file, [replace(problem, file=file) for problem in error.problems]) from None


def _rows_of(file: str, lines: Sequence[str], layout: Layout) -> _Rows:
    """Every row below the headings; a row without time in between is a problem, after the last a footer."""
    found = _Rows(numbers={role: array("d") for role in layout.columns})
    heading = lines[layout.heading_row]
    for number, line in enumerate(lines[layout.first_row :], start=layout.first_row + 1):
        cells = cells_of(line, layout.delimiter)
        if not any(cells) or line == heading:
            continue
        if len(found.rows) >= MOST_ROWS:
            found.problems.append(
                Problem(
                    file=file,
                    place=say("logger.place.row", row=number),
                    read=say("logger.read.too-many-rows"),
                )
            )
            break
        moment = written(layout.moment(cells))
        if moment is None:
            found.footer.append(number)
        if found.footer and (moment or _holds_number(layout, cells)):
            bad = found.footer[:MOST_PROBLEMS]
            found.problems += [_no_time(file, lines, layout, row) for row in bad]
            found.footer.clear()
        if moment:
            found.rows.append(number)
            found.moments.extend(moment)
            _add_numbers(file, found, layout, number, cells)
        if len(found.problems) >= MOST_PROBLEMS:
            break
    return found


def _holds_number(layout: Layout, cells: Sequence[str]) -> bool:
    places = [column.index for column in layout.columns.values() if column.index < len(cells)]
    return any(_NUMBER.fullmatch(cells[i]) for i in places)


def _no_time(file: str, lines: Sequence[str], layout: Layout, row: int) -> Problem:
    text = layout.moment(cells_of(lines[row - 1], layout.delimiter))
    return Problem(
        file=file,
        place=say("logger.place.time", row=row),
        read=shown(text),
        allowed=say("logger.allowed.moment"),
    )


def _add_numbers(file: str, found: _Rows, layout: Layout, number: int, cells: list[str]) -> None:
    if len(cells) < len(layout.headings):
        found.short += 1
    elif layout.delimiter == "," and any(cells[len(layout.headings) :]):
        fix = say("logger.fix.semicolons")
        allowed = say("logger.allowed.as-in-row", count=len(layout.headings), row=layout.heading_row + 1)
        place, read = say("logger.place.row", row=number), say("logger.read.cells", count=len(cells))
        found.problems.append(Problem(file=file, place=place, read=read, allowed=allowed, fix=fix))
    for role, column in layout.columns.items():
        cell = cells[column.index] if column.index < len(cells) else ""
        value = float("nan")
        if _NUMBER.fullmatch(cell):
            for sign in (",", "."):
                if sign in cell:
                    found.signs.setdefault(sign, number)
            value = float(cell.replace(",", "."))
        elif cell.casefold() not in _EMPTY:
            place = say("logger.place.cell", row=number, column=column.heading)
            allowed = say("logger.allowed.number-or-empty")
            found.problems.append(Problem(file=file, place=place, read=shown(cell), allowed=allowed))
        found.numbers[role].append(value)
    if len(found.signs) > 1 and not any(p.place == _SIGN for p in found.problems):
        read = say("logger.read.both-signs", comma=found.signs[","], point=found.signs["."])
        fix = say("logger.fix.no-thousands")
        found.problems.append(
            Problem(file=file, place=_SIGN, read=read, allowed=say("logger.allowed.one-sign"), fix=fix)
        )


def _left_out(found: _Rows, layout: Layout) -> list[Sentence]:
    """What of the file was not read, in words."""
    words: list[Sentence] = []
    if layout.heading_row:
        words.append(say("logger.assumed.headings", row=layout.heading_row + 1))
    if layout.unused:
        words.append(say("logger.assumed.unused", columns=listed(layout.unused)))
    if "," in found.signs:
        words.append(say("reader.assumed.decimal", sign=say("reader.sign.comma")))
    if found.short:
        words.append(say("logger.assumed.short", rows=rows_in_words(found.short)))
    if found.footer:
        words.append(say("logger.assumed.footer", rows=rows_in_words(len(found.footer))))
    return words


def _moments(file: str, found: _Rows, layout: Layout, keys: LoggerKeys) -> tuple[Times, list[Sentence]]:
    """UTC of every row, and what was assumed about dates and clock."""
    rows, clock = np.array(found.rows, dtype=np.int64), found.ints("clock")
    seconds = found.moment("seconds")
    days, assumed = dates_of(
        file,
        rows,
        found.ints("year"),
        found.ints("first"),
        found.ints("second"),
        found.ints("form"),
        keys.date_order,
    )
    require_full_clock(file, rows, days, seconds, clock)
    local = days.astype("datetime64[ms]") + np.round(seconds * 1000.0).astype("timedelta64[ms]")
    if not clock.all():
        dayless = rows_in_words(int(np.count_nonzero(clock == 0)))
        assumed.append(say("logger.assumed.midnight", rows=dayless))
    steps = np.diff(local).astype(np.int64)
    order = slice(None, None, -1 if np.count_nonzero(steps < 0) > np.count_nonzero(steps > 0) else 1)
    utc, words = utc_of(
        file, rows[order], local[order], found.ints("offset_min")[order], keys, layout.time_heading
    )
    return utc[order], assumed + words


def _require_no_torn_decimals(file: str, columns: dict[str, FloatArray]) -> None:
    """Refuse 20,5,55,3 read as 20 °C and 5 %.

    Raises
    ------
    ReadingError
        Only whole numbers, and no humidity of two digits.
    """
    humidity = columns.get("relative_humidity", np.empty(0))
    humidity = humidity[np.isfinite(humidity)]
    whole = all(not np.any(values[np.isfinite(values)] % 1) for values in columns.values())
    if len(humidity) and whole and 1 < humidity.max() <= _WHOLE_DIGITS:
        fix = say("logger.fix.semicolons")
        raise refusal(file, say("logger.read.torn"), say("logger.allowed.humidity"), fix)


def _table(file: str, utc: Times, values: dict[str, FloatArray]) -> tuple[pd.DataFrame, list[Sentence]]:
    """Rows in the order of time, each time once; rows without any number left out."""
    import pandas as pd

    index = pd.DatetimeIndex(utc, name="time")
    table = pd.DataFrame(values, index=index)
    table = table[np.asarray(table.index.notna()) & table.notna().any(axis=1).to_numpy()]
    if table.empty:
        raise refusal(file, say("logger.read.no-readings"), say("logger.allowed.rows"))
    steps = np.diff(table.index.to_numpy()).astype(np.int64)
    assumed: list[Sentence] = []
    if np.any(steps < 0):
        newest_first = bool(np.all(steps <= 0))
        back = np.count_nonzero(steps < 0)
        assumed.append(
            say("logger.assumed.newest-first")
            if newest_first
            else say("logger.assumed.sorted", count=int(back))
        )
    table = table.sort_index(kind="stable")
    again = table.index.duplicated()
    if again.any():
        assumed.append(_repeats(table, int(again.sum())))
        table = table[~again]
    return table.tz_localize("UTC"), assumed


def _repeats(table: pd.DataFrame, count: int) -> Sentence:
    repeated = table[table.index.duplicated(keep=False)]
    differing = int((repeated.groupby(level=0).nunique(dropna=True) > 1).any(axis=1).sum())
    words = say("logger.assumed.repeats", rows=rows_in_words(count))
    return say("logger.assumed.repeats-differ", repeats=words, count=differing) if differing else words
