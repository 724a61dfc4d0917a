"""Where the readings begin in a logger's file, and which cells hold the time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from thermalkit.errors import ReadingError
from thermalkit.language import say
from thermalkit.site.loggers.headings import TIME_ROLES, Column, one_each, roles_of
from thermalkit.site.loggers.moments import is_time_of_day, written
from thermalkit.site.loggers.text import DELIMITERS, MOST_COLUMNS, cells_of, refusal
from thermalkit.site.model import LoggerColumns
from thermalkit.site.problems import listed, shown

LONGEST_PREAMBLE = 5000
_UNIT_ROWS = 2  # rows of units or channel names between the headings and the readings
_FIX = say("logger.fix.columns")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a file is laid out; `heading_row` and `first_row` count lines from 0."""

    delimiter: str
    heading_row: int
    first_row: int
    headings: tuple[str, ...]
    time: tuple[int, ...]  # one column, or those of date and time of day
    columns: dict[str, Column]

    def moment(self, cells: Sequence[str]) -> str:
        """The text of date and time in a row; empty where its cells are missing."""
        return " ".join(cells[i] for i in self.time if i < len(cells)).strip()

    @property
    def time_heading(self) -> str:
        """Heading of the time, of both columns where it has two."""
        return " ".join(self.headings[i] for i in self.time)

    @property
    def unused(self) -> list[str]:
        """Headings of columns that are not read."""
        used = {column.index for column in self.columns.values()} | set(self.time)
        return [heading for i, heading in enumerate(self.headings) if i not in used and heading]


def layout_of(file: str, lines: Sequence[str], wanted: LoggerColumns | None) -> Layout:
    """Find headings and first reading, whatever stands above them.

    Raises
    ------
    ReadingError
        None found, no time in the row below them, or two columns for the same.
    """
    unread: ReadingError | None = None
    for row, line in enumerate(lines[:LONGEST_PREAMBLE]):
        for delimiter in DELIMITERS:
            if not 1 <= line.count(delimiter) < MOST_COLUMNS:
                continue
            headings = cells_of(line, delimiter)
            roles = roles_of(headings, wanted)
            if not roles.keys() - set(TIME_ROLES) or not roles.keys() & set(TIME_ROLES):
                continue
            times = {i: role for role in TIME_ROLES for i in roles.get(role, [])}
            below = _rows_below(lines, row, delimiter)
            for first, cells in below:
                time = _time_columns(file, headings, times, cells, first)
                if time:
                    between = [c for r, c in below if r < first]
                    return _layout(file, row, first, delimiter, headings, between, time, roles, wanted)
            unread = unread or _no_time(file, row, below, times)
    raise unread or _no_headings(file, lines)


def _rows_below(lines: Sequence[str], row: int, delimiter: str) -> list[tuple[int, list[str]]]:
    """The next few rows that hold something."""
    filled = ((r, lines[r]) for r in range(row + 1, min(row + 20, len(lines))) if lines[r].strip(" \t;,"))
    return [
        (r, cells_of(line, delimiter)) for (r, line), _ in zip(filled, range(_UNIT_ROWS + 1), strict=False)
    ]


def _time_columns(
    file: str, headings: Sequence[str], times: Mapping[int, str], cells: Sequence[str], row: int
) -> tuple[int, ...]:
    """Columns of the time, told by what stands in them; none where there is no time."""
    found = {i: cells[i] for i in times if i < len(cells)}
    hours = [i for i, cell in found.items() if is_time_of_day(cell)]
    if "date" in times.values():  # 10.11.12 is a time of day only beside a date
        hours = [i for i in hours if times[i] == "time"]
    else:
        hours = [i for i in hours if not written(found[i])]
    moments = {i: moment for i, cell in found.items() if i not in hours and (moment := written(cell))}
    whole = [i for i, moment in moments.items() if moment.clock] or list(moments)
    if len(whole) > 1 or len(hours) > 1:
        names = listed([headings[i] for i in (whole if len(whole) > 1 else hours)])
        fix = say("logger.fix.which-time")
        raise refusal(
            file,
            say("logger.read.times", names=names),
            say("logger.allowed.one"),
            fix,
            say("logger.place.row", row=row + 1),
        )
    if whole and hours and not moments[whole[0]].clock:
        return (whole[0], hours[0])
    return tuple(whole)


def _layout(
    file: str,
    row: int,
    first: int,
    delimiter: str,
    headings: list[str],
    between: list[list[str]],
    time: tuple[int, ...],
    roles: dict[str, list[int]],
    wanted: LoggerColumns | None,
) -> Layout:
    below = [" ".join(cells[i] for cells in between if i < len(cells)) for i in range(len(headings))]
    columns = {
        role: Column(index=i, heading=headings[i], said=f"{headings[i]} {below[i]}".strip())
        for role, i in one_each(file, row + 1, headings, roles, wanted).items()
    }
    return Layout(
        delimiter=delimiter,
        heading_row=row,
        first_row=first,
        headings=tuple(headings),
        time=time,
        columns=columns,
    )


def _no_time(
    file: str, row: int, below: Sequence[tuple[int, list[str]]], times: Iterable[int]
) -> ReadingError:
    if not below:
        return refusal(file, say("logger.read.none-below"), place=say("logger.place.row", row=row + 1))
    first, cells = below[-1]
    read = shown(" ".join(cells[i] for i in times if i < len(cells)))
    fix = say("logger.fix.moment")
    return refusal(file, read, say("logger.allowed.moment"), fix, say("logger.place.time", row=first + 1))


def _no_headings(file: str, lines: Sequence[str]) -> ReadingError:
    """What stands above the first row that holds a date, since headings should."""
    above = ""
    for row, line in enumerate(lines[:LONGEST_PREAMBLE]):
        for delimiter in DELIMITERS:
            cells = cells_of(line, delimiter) if line.count(delimiter) < MOST_COLUMNS else []
            if len(cells) > 1 and any(written(cell) for cell in cells):
                names = listed(cells_of(above, delimiter)) if above else say("logger.read.nothing")
                read = say("logger.read.headings", names=names)
                allowed = say("logger.allowed.headings")
                return refusal(file, read, allowed, _FIX, say("logger.place.row", row=row + 1))
        above = line if line.strip() else above
    allowed = say("logger.allowed.table")
    return refusal(file, say("logger.read.no-date", count=LONGEST_PREAMBLE), allowed, say("logger.fix.csv"))
