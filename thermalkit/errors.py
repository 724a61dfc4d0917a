"""What can go wrong, in words a surveyor can act on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class ThermalkitError(Exception):
    """Anything the user can mend; the command prints it without a traceback."""


class OutOfDomain(ThermalkitError, ValueError):
    """A number lies outside the range in which a formula holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong in a folder: where, what was read, what is allowed, the likely fix."""

    file: str
    place: str = ""
    read: str = ""
    allowed: str = ""
    fix: str = ""

    def __str__(self) -> str:
        """One printable paragraph; control characters are shown, never sent to the terminal."""
        where = ", ".join(part for part in (self.file, self.place) if part)
        head = f"{where}: {self.read}" if self.read else where
        tail = " ".join(
            part for part in (f"Allowed: {self.allowed}." if self.allowed else "", self.fix) if part
        )
        return printable(f"{head}\n    {tail}" if tail else head)


class ReadingError(ThermalkitError):
    """A folder or file cannot be used as it is; carries every problem found."""

    def __init__(self, where: str, problems: Iterable[Problem]) -> None:
        self.where = where
        self.problems = tuple(problems)
        count = len(self.problems)
        lines = "\n".join(f"  {problem}" for problem in self.problems)
        super().__init__(f"{count} problem{'s' if count != 1 else ''} in {printable(where)}\n{lines}")


class WritingError(ThermalkitError):
    """Something could not be written; what was there stays."""


def printable(text: str) -> str:
    r"""Text with control and direction-changing characters made visible.

    Examples
    --------
    >>> printable("a\x1b[31mb")
    'a\\x1b[31mb'
    """
    return "".join(
        c if c.isprintable() or c == "\n" else c.encode("unicode_escape").decode("ascii") for c in text
    )
