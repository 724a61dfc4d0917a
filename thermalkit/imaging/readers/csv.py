"""Delimited text: comma, semicolon or tab; decimal point or comma; UTF-8, UTF-16 or Windows-1252.

One line per row of pixels. A first line of column names or numbers and a first column of row
numbers are recognised and left out; what was taken for granted is listed.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

import numpy as np

from thermalkit.errors import Problem, ReadingError
from thermalkit.imaging.readers.bounds import (
    MAX_LINE_CHARACTERS,
    MAX_PIXELS,
    MAX_PROBLEMS,
    MAX_SIDE,
    Stored,
    refusal,
    require_size,
)
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray

MASKED_WORDS = frozenset(
    ("", "-", "--", "nan", "na", "n/a", "null", "none", "inf", "+inf", "-inf", "infinity", "-infinity")
)
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_WORDS = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    number: int  # in the file, from 1
    cells: list[str]


def stored_csv(file: str, content: bytes) -> Stored:
    """Numbers of a table; cells without a number are NaN.

    Raises
    ------
    ReadingError
        Not text, out of bounds, ragged, ambiguous, or cells that are neither numbers nor empty.
    """
    text, encoding = _text(file, content)
    delimiter = _delimiter(file, text)
    # Counted before anything is split: a table is refused at the size it would take.
    breaks = text.count("\n") + text.count("\r")
    if text.count(delimiter) > MAX_PIXELS + 2 * MAX_SIDE or breaks > 4 * MAX_SIDE:
        raise refusal(
            file,
            read=say("reader.read.more-cells", cells=MAX_PIXELS, rows=MAX_SIDE),
            allowed=say("reader.allowed.pixels", count=MAX_PIXELS),
            fix=say("reader.fix.one-frame"),
        )
    quoted = re.search(r'"\s*[+-]?\d+,\d+\s*"', text) is not None
    decimal_comma = quoted if delimiter == "," else _has_decimal_comma(file, text)
    lines = list(_lines(file, text, delimiter))
    if lines and all(line.cells[-1].strip() == "" for line in lines):
        lines = [_Line(number=line.number, cells=line.cells[:-1]) for line in lines]
    labelled, lines = _without_header(lines)
    require_size(file, len(lines), len(lines[0].cells) if lines else 0)
    values = _numbers(file, lines, decimal_comma)
    if _is_counting(values[:, 0]) and values.shape[1] > 8:
        values, labelled = values[:, 1:], (*labelled, say("reader.assumed.row-numbers"))
        require_size(file, *values.shape)
    if delimiter == "," and not quoted:
        _require_no_split_decimals(file, values)
    assumed = (
        say("reader.assumed.encoding", encoding=encoding),
        say("reader.assumed.delimiter", delimiter=say(f"reader.sign.{_WORDS[delimiter]}")),
        say("reader.assumed.decimal", sign=say(f"reader.sign.{'comma' if decimal_comma else 'point'}")),
        *labelled,
    )
    return Stored(values=values, assumed=assumed)


def _text(file: str, content: bytes) -> tuple[str, str]:
    """Decoded text and the name of its encoding."""
    marks = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}
    encodings = [name for mark, name in marks.items() if content.startswith(mark)] or ["utf-8", "cp1252"]
    text = None
    for encoding in encodings:
        try:
            text = content.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    if text is None or "\x00" in text:
        raise refusal(
            file,
            read=say("reader.read.not-text"),
            allowed=say("reader.allowed.numbers-as-text"),
            fix=say("reader.fix.csv-utf8"),
        )
    return text.replace("\N{MINUS SIGN}", "-"), encoding.removesuffix("-sig")


def _delimiter(file: str, text: str) -> str:
    """The strongest separator found: a comma may also be a decimal sign, a semicolon may not."""
    for delimiter in ("\t", ";", ","):
        if delimiter in text:
            return delimiter
    raise refusal(
        file,
        read=say("reader.read.no-delimiter"),
        allowed=say("reader.allowed.delimiter"),
        fix=say("reader.fix.csv"),
    )


def _has_decimal_comma(file: str, text: str) -> bool:
    comma, point = re.search(r"\d,\d", text), re.search(r"\d\.\d", text)
    if comma and point:
        raise refusal(
            file,
            read=say("reader.read.both-signs", first=repr(comma[0]), second=repr(point[0])),
            allowed=say("reader.allowed.one-sign"),
            fix=say("reader.fix.decimal-point"),
        )
    return comma is not None


def _lines(file: str, text: str, delimiter: str) -> Iterator[_Line]:
    """Lines that hold something, split into cells; a line without end is refused, not read."""
    for number, match in enumerate(re.finditer(r"([^\r\n]*)(\r\n|\r|\n|\Z)", text), start=1):
        start, end = match.span(1)
        if end - start > MAX_LINE_CHARACTERS:
            raise refusal(
                file,
                place=say("reader.place.row", row=number),
                read=say("reader.read.characters", count=end - start),
                allowed=say("reader.allowed.at-most", count=MAX_LINE_CHARACTERS),
                fix=say("reader.fix.row-per-line"),
            )
        line = match[1]
        if not line.strip(" \t"):
            continue
        if '"' in line:
            yield _Line(number=number, cells=_unquoted(file, number, line, delimiter))
        else:
            yield _Line(number=number, cells=line.split(delimiter))


def _unquoted(file: str, number: int, line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error as error:
        raise refusal(
            file,
            place=say("reader.place.row", row=number),
            read=say("reader.read.quotes", reason=str(error)),
            allowed=say("reader.allowed.plain-numbers"),
        ) from error


def _without_header(lines: list[_Line]) -> tuple[tuple[Sentence, ...], list[_Line]]:
    """Lines below a header of names or of column numbers, and what was left out."""
    if not lines:
        return (), lines
    rest = [cell.strip() for cell in lines[0].cells[1:]]
    if rest and all(not _NUMBER.fullmatch(cell.replace(",", ".")) for cell in rest):
        if any(cell.lower() not in MASKED_WORDS for cell in rest):
            return (say("reader.assumed.column-names"),), lines[1:]
        return (), lines
    if len(rest) >= 8 and all(cell.isascii() and cell.isdigit() and len(cell) < 6 for cell in rest):
        numbers = np.array([int(cell) for cell in rest], dtype=np.float64)
        corner = lines[0].cells[0].strip()
        if _is_counting(numbers) or (corner == "0" and numbers[0] == 1 and np.all(np.diff(numbers) == 1)):
            return (say("reader.assumed.column-numbers"),), lines[1:]
    return (), lines


def _is_counting(numbers: FloatArray) -> bool:
    """Whether numbers run 0, 1, 2, ... or 1, 2, 3, ..."""
    return bool(len(numbers) >= 8 and numbers[0] in (0, 1) and np.all(np.diff(numbers) == 1))


def _numbers(file: str, lines: list[_Line], decimal_comma: bool) -> FloatArray:
    """Cells as numbers; every bad cell and ragged row is collected, up to a bound."""
    columns = len(lines[0].cells)
    values = np.full((len(lines), columns), np.nan)
    problems: list[Problem] = []
    for row, line in enumerate(lines):
        if len(line.cells) != columns:
            problems.append(
                Problem(
                    file=file,
                    place=say("reader.place.row", row=line.number),
                    read=say("reader.read.cells", count=len(line.cells)),
                    allowed=say("reader.allowed.as-in-row", count=columns, row=lines[0].number),
                )
            )
        else:
            values[row], bad = _row(line.cells, decimal_comma)
            problems.extend(islice(_bad_cells(file, line, bad), MAX_PROBLEMS))
        if len(problems) >= MAX_PROBLEMS:
            break
    if problems:
        raise ReadingError(file, problems[:MAX_PROBLEMS])
    return values


def _row(cells: list[str], decimal_comma: bool) -> tuple[FloatArray, list[int]]:
    """Numbers of one row, NaN where masked, and the columns that are neither."""
    values = np.full(len(cells), np.nan)
    bad = []
    for column, cell in enumerate(cells):
        plain = cell.strip()
        number = plain.replace(",", ".") if decimal_comma else plain
        if _NUMBER.fullmatch(number):
            values[column] = float(number)
        elif plain.lower() not in MASKED_WORDS:
            bad.append(column)
    values[np.isinf(values)] = np.nan
    return values, bad


def _bad_cells(file: str, line: _Line, bad: list[int]) -> Iterator[Problem]:
    for column in bad:
        yield Problem(
            file=file,
            place=say("reader.place.cell", row=line.number, column=column + 1),
            read=repr(line.cells[column][:40]),
            allowed=say("reader.allowed.number-or-empty"),
            fix=say("reader.fix.alone"),
        )


def _require_no_split_decimals(file: str, values: FloatArray) -> None:
    """Refuse decimals torn in two: '21,5,21,6' reads as 21 and 5 and 21 and 6."""
    if values.shape[1] % 2 or not np.all(np.isfinite(values)) or np.any(values % 1):
        return
    across = np.median(np.abs(values[:, 0::2] - values[:, 1::2]))
    along = np.median(np.abs(np.diff(values[:, 0::2], axis=1)))
    if across > 3 * (along + 1) and np.max(np.abs(values[:, 1::2])) < 1000:
        raise refusal(
            file,
            read=say("reader.read.jumping"),
            allowed=say("reader.allowed.point-where-comma"),
            fix=say("reader.fix.semicolons"),
        )
