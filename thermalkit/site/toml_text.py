"""The text of `site.toml`, parsed; whatever a hostile file provokes becomes one problem."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import LANGUAGES, Words, say
from thermalkit.site.files import LARGEST_SITE_FILE, file_bytes
from thermalkit.site.problems import shown
from thermalkit.site.references import SITE_FILE

# The parser needs quadratic time for a key of very many parts.
_LONG_KEY = re.compile(r"""(?<![\w"'-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){20}""")


def tables_in(content: bytes) -> dict[str, Any]:
    """Tables of a TOML file.

    Raises
    ------
    ReadingError
        Not UTF-8 or not TOML; the problem gives line and column.
    """
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
        if _LONG_KEY.search(text):
            raise _unreadable(say("site.read.long-key"), say("site.allowed.key-parts"))
        return tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise _unreadable(
            say("site.read.not-utf8"),
            fix=say("site.fix.save-utf8"),
            place=say("site.place.byte", number=error.start + 1),
        ) from None
    except RecursionError:
        raise _unreadable(say("site.read.too-deep"), say("site.allowed.few-levels")) from None
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        place = re.search(r"\(at (line \d+, column \d+|end of document)\)$", message)
        what = message[: place.start()].strip() if place else message
        fix = say("site.fix.toml")
        where = place.group(1) if place else ""
        raise _unreadable(shown(what)[1:-1], "TOML", fix, place=where) from None
    except ValueError:
        raise _unreadable(say("site.read.no-such-number"), "TOML") from None


def asked_language(folder: Path, file: str = SITE_FILE, table: str = "report") -> str:
    """The language that a file asks for, even one with problems; English where none can be read."""
    try:
        asked = tables_in(file_bytes(folder, file, LARGEST_SITE_FILE)).get(table)
    except ReadingError:
        return LANGUAGES[0]
    wanted = asked.get("language") if isinstance(asked, dict) else None
    return wanted if wanted in LANGUAGES else LANGUAGES[0]


def _unreadable(read: Words, allowed: Words = "", fix: Words = "", place: Words = "") -> ReadingError:
    return ReadingError(
        SITE_FILE, [Problem(file=SITE_FILE, place=place, read=read, allowed=allowed, fix=fix)]
    )
