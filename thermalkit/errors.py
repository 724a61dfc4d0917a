"""What can go wrong, in words a surveyor can act on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from thermalkit.language import Sentence, Words, render, say, words_in


class ThermalkitError(Exception):
    """Anything the user can mend, as a sentence; the command prints it without a traceback."""

    def __init__(self, said: Sentence) -> None:
        super().__init__(said)
        self.said = said

    def told(self, language: str = "en") -> str:
        """The words in a language; control characters are shown, never sent to the terminal."""
        return printable(render(self.said, language))

    def __str__(self) -> str:
        """The words in English."""
        return self.told()


class OutOfDomain(ThermalkitError, ValueError):
    """A number lies outside the range in which a formula holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong in a folder: where, what was read, what is allowed, the likely fix."""

    file: str
    place: Words = ""
    read: Words = ""
    allowed: Words = ""
    fix: Words = ""

    def __str__(self) -> str:
        """The paragraph in English, as the command writes it."""
        return self.told()

    def told(self, language: str = "en") -> str:
        """One printable paragraph; control characters are shown, never sent to the terminal."""
        place, read = (words_in(part, language) for part in (self.place, self.read))
        where = ", ".join(part for part in (self.file, place) if part)
        head = f"{where}: {read}" if read else where
        advice = self.advice(language)
        return printable(f"{head}\n    {advice}" if advice else head)

    def advice(self, language: str = "en") -> str:
        """What is allowed and the likely fix, on one line."""
        allowed = render(say("problem.allowed", allowed=self.allowed), language) if self.allowed else ""
        return " ".join(part for part in (allowed, words_in(self.fix, language)) if part)


class ReadingError(ThermalkitError):
    """A folder or file cannot be used as it is; carries every problem found."""

    def __init__(self, where: str, problems: Iterable[Problem]) -> None:
        self.where = where
        self.problems = tuple(problems)
        count = len(self.problems)
        super().__init__(say("problem.head" if count == 1 else "problem.heads", count=count, where=where))

    def told(self, language: str = "en") -> str:
        """Every problem in a language."""
        return "\n".join(
            [super().told(language), *(f"  {problem.told(language)}" for problem in self.problems)]
        )


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
