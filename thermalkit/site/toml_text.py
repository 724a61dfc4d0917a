"""The text of `site.toml`, parsed; whatever a hostile file provokes becomes one problem."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from thermalkit.errors import Problem, ReadingError
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
            raise _unreadable("a key of very many parts", "at most 20 parts")
        return tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise _unreadable(
            "not UTF-8 text", fix="Save it as UTF-8.", place=f"byte {error.start + 1}"
        ) from None
    except RecursionError:
        raise _unreadable("nested too deeply", "tables and lists a few levels deep") from None
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        place = re.search(r"\(at (line \d+, column \d+|end of document)\)$", message)
        what = message[: place.start()].strip() if place else message
        fix = "Check quotes, brackets and the = before this place."
        where = place.group(1) if place else ""
        raise _unreadable(shown(what)[1:-1], "TOML", fix, place=where) from None
    except ValueError:
        raise _unreadable("a number or date that does not exist", "TOML") from None


def _unreadable(read: str, allowed: str = "", fix: str = "", place: str = "") -> ReadingError:
    return ReadingError(
        SITE_FILE, [Problem(file=SITE_FILE, place=place, read=read, allowed=allowed, fix=fix)]
    )
