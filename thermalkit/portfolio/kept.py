"""Sites of a folder, and the rows of those that are finished."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import Words, say
from thermalkit.portfolio.rows import SCHEMA, Row
from thermalkit.record.whole import write_whole
from thermalkit.site.references import SITE_FILE

_DEEPEST = 6
_LARGEST_ROW = 100_000


def sites_in(folder: Path) -> tuple[str, ...]:
    """Relative paths of the site folders below a folder, sorted; nothing is looked for inside a site.

    Raises
    ------
    ReadingError
        The folder cannot be read or holds no site.
    """
    try:
        found = tuple(sorted(path.relative_to(folder).as_posix() for path in _sites(folder, _DEEPEST)))
    except OSError as error:
        raise _refused(folder, error.strerror or str(error)) from error
    if not found:
        raise _refused(folder, say("portfolio.no-site", file=SITE_FILE))
    return found


def _sites(folder: Path, deep: int) -> Iterator[Path]:
    for path in sorted(folder.iterdir()):
        if path.name.startswith(".") or path.is_symlink() or not path.is_dir():
            continue
        if (path / SITE_FILE).exists():
            yield path
        elif deep > 1:
            yield from _sites(path, deep - 1)


def _refused(folder: Path, read: Words) -> ReadingError:
    allowed = say("portfolio.folder-of-sites", deepest=_DEEPEST)
    return ReadingError(str(folder), [Problem(file=str(folder), read=read, allowed=allowed)])


def kept_row(out: Path, kind: str, site: str) -> Row | None:
    """The finished row of a site; None where there is none, or one that is broken or of another form."""
    try:
        with _path(out, kind, site).open("rb") as stream:
            kept = json.loads(stream.read(_LARGEST_ROW), parse_constant=_no_number)
        row = Row(**kept["row"])
        return row if kept["schema"] == SCHEMA and row.site == site else None
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number of a row")


def keep(out: Path, kind: str, row: Row) -> None:
    """Write the row of a site, whole or not at all.

    Raises
    ------
    WritingError
        It cannot be written.
    """
    kept = {"schema": SCHEMA, "row": asdict(row)}
    text = json.dumps(kept, sort_keys=True, allow_nan=False)
    write_whole(_path(out, kind, row.site), text.encode())


def _path(out: Path, kind: str, site: str) -> Path:
    """Rows of many sites lie in 256 folders, so that none grows too long to list."""
    name = hashlib.sha256(site.encode("utf-8", "surrogateescape")).hexdigest()[:32]
    return out / "rows" / kind / name[:2] / f"{name}.json"
