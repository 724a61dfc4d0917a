"""What a frame's file may be at most, and the one way a reader opens and refuses."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import Sentence, Words, say
from thermalkit.measured import FloatArray

MAX_FILE_BYTES = 64 * 1024 * 1024
MAX_PIXELS = 4 * 1024 * 1024  # three times the largest common detector, 1280 x 1024
MAX_SIDE = 8192
MIN_SIDE = 8
MAX_LINE_CHARACTERS = 32 * MAX_SIDE
MAX_PROBLEMS = 20  # of one file; a broken export would otherwise list every cell


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stored:
    """Numbers as the file holds them, before scale and offset, and what was taken for granted."""

    values: FloatArray
    assumed: tuple[Sentence, ...] = ()


def refusal(
    file: str, *, place: Words = "", read: Words = "", allowed: Words = "", fix: Words = ""
) -> ReadingError:
    """The error for a file with one thing wrong."""
    return ReadingError(file, [Problem(file=file, place=place, read=read, allowed=allowed, fix=fix)])


def require_size(file: str, rows: int, columns: int) -> None:
    """Refuse a declared size before anything of that size is made.

    Raises
    ------
    ReadingError
        A side or the number of pixels is out of bounds.
    """
    if not (
        MIN_SIDE <= rows <= MAX_SIDE and MIN_SIDE <= columns <= MAX_SIDE and rows * columns <= MAX_PIXELS
    ):
        raise refusal(
            file,
            read=say("reader.read.size", rows=rows, columns=columns),
            allowed=say("reader.allowed.size", least=MIN_SIDE, most=MAX_SIDE, pixels=MAX_PIXELS),
            fix=say("reader.fix.detector-size"),
        )


def content_of(path: Path, file: str) -> bytes:
    """Bytes of a regular file of bounded size; opening a pipe or a device never waits.

    Raises
    ------
    ReadingError
        Not there, not readable, not a regular file, empty or too large.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        descriptor = os.open(path, flags)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refusal(file, read=say("reader.read.not-opened", reason=reason)) from error
    status = os.fstat(descriptor)
    if not stat.S_ISREG(status.st_mode):
        os.close(descriptor)
        raise refusal(file, read=say("reader.read.no-file"), allowed=say("reader.allowed.frame-file"))
    with os.fdopen(descriptor, "rb") as stream:
        # Read one byte more than allowed: the file may have grown since it was measured.
        content = b"" if status.st_size > MAX_FILE_BYTES else stream.read(MAX_FILE_BYTES + 1)
    if status.st_size > MAX_FILE_BYTES or len(content) > MAX_FILE_BYTES:
        raise refusal(
            file,
            read=say("reader.read.bytes", count=max(status.st_size, len(content))),
            allowed=say("reader.allowed.bytes", count=MAX_FILE_BYTES),
            fix=say("reader.fix.one-frame"),
        )
    if not content:
        raise refusal(file, read=say("reader.read.empty"), fix=say("reader.fix.copy-from-camera"))
    return content
