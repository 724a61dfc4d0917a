"""From the bytes of a logger's file to lines and cells, all of them bounded."""

from __future__ import annotations

import codecs
import csv

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import Sentence, Words, say

DELIMITERS = {"\t": "tab", ";": "semicolon", ",": "comma"}
MOST_ROWS = 2_000_000
MOST_COLUMNS = 200
LONGEST_LINE = 10_000
_MARKS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}


def refusal(file: str, read: Words, allowed: Words = "", fix: Words = "", place: Words = "") -> ReadingError:
    """The error for a file with one thing wrong."""
    return ReadingError(file, [Problem(file=file, place=place, read=read, allowed=allowed, fix=fix)])


def lines_of(file: str, content: bytes) -> tuple[list[str], str]:
    """Lines of a text file and the name of its encoding.

    Raises
    ------
    ReadingError
        Empty, not text, too many or too long lines.
    """
    text, encoding = _decoded(file, content)
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\N{MINUS SIGN}", "-")
    if text.count("\n") > MOST_ROWS + MOST_COLUMNS:
        raise refusal(
            file,
            say("logger.read.too-many-rows"),
            say("logger.allowed.at-most", count=MOST_ROWS),
            say("logger.fix.by-months"),
        )
    lines = text.split("\n")
    longest = max(range(len(lines)), key=lambda i: len(lines[i]))
    if len(lines[longest]) > LONGEST_LINE:
        read = say("logger.read.characters", count=len(lines[longest]))
        raise refusal(
            file,
            read,
            say("logger.allowed.at-most", count=LONGEST_LINE),
            place=say("logger.place.row", row=longest + 1),
        )
    return lines, encoding


def _decoded(file: str, content: bytes) -> tuple[str, str]:
    encodings = [name for mark, name in _MARKS.items() if content.startswith(mark)]
    if not encodings and b"\x00" in content[:2]:  # UTF-16 of Latin text without its mark
        encodings = ["utf-16-be" if content[:1] == b"\x00" else "utf-16-le"]
    for encoding in encodings or ["utf-8", "cp1252"]:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not text.strip():
            raise refusal(file, say("logger.read.empty"), fix=say("logger.fix.export-again"))
        if "\x00" not in text:
            return text, encoding.removesuffix("-sig").replace("cp1252", "windows-1252")
    raise refusal(
        file, say("logger.read.not-text"), say("logger.allowed.table-as-text"), say("logger.fix.data-as-csv")
    )


def rows_in_words(count: int) -> Sentence:
    """`1 row`, `2 rows`."""
    return say("logger.row" if count == 1 else "logger.rows", count=count)


def cells_of(line: str, delimiter: str) -> list[str]:
    """Cells of one line, without the space around them; quotes hold their cell together.

    Examples
    --------
    >>> cells_of('2021-01-21, "20,5" ,55', ",")
    ['2021-01-21', '20,5', '55']
    """
    if '"' in line:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    return [cell.strip() for cell in line.split(delimiter)]
