"""An earlier visit: a whole site folder inside that of a later one, so that both stay together."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import Sentence, say
from thermalkit.site import files
from thermalkit.site.readings import READINGS_FILE
from thermalkit.site.references import SITE_FILE
from thermalkit.site.spreadsheets import spreadsheets

if TYPE_CHECKING:
    from thermalkit.site.survey import Site

EARLIER = "earlier"
_TABLES = {SITE_FILE: files.LARGEST_SITE_FILE, READINGS_FILE: files.LARGEST_READINGS} | dict.fromkeys(
    spreadsheets(), files.LARGEST_SITE_FILE
)
_KEPT = (*_TABLES, "thermal", "photos", "loggers", "record")


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """The earlier visit of a site, or what is wrong with its folder; paths as the later visit sees them."""

    site: Site | None = None
    problems: tuple[Problem, ...] = ()
    files: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[Sentence, ...] = ()


def read_earlier(folder: Path, surveyed_at: datetime | None) -> Earlier:
    """The visit in the folder `earlier` of a site; nothing where there is no such folder.

    Its problems do not stop the later visit from being judged. An earlier visit within the earlier one
    is not read.

    Parameters
    ----------
    folder : path
        Of the later visit.
    surveyed_at : datetime, optional
        When the later visit was.
    """
    from thermalkit.site.folder import read_visit

    inner = folder / EARLIER
    if not os.path.lexists(inner):
        return Earlier()
    if inner.is_symlink() or not inner.is_dir():
        problem = Problem(
            file=EARLIER,
            read=say("site.read.link" if inner.is_symlink() else "site.read.not-a-folder"),
            allowed=say("site.allowed.earlier"),
            fix=say("site.fix.earlier"),
        )
        return Earlier(problems=(problem,))
    try:
        site = read_visit(inner)
        records = dict(_records(inner))
    except ReadingError as error:
        return Earlier(problems=tuple(replace(p, file=f"{EARLIER}/{p.file}") for p in error.problems))
    if surveyed_at is not None and site.keys.site.surveyed_at >= surveyed_at:
        problem = Problem(
            file=f"{EARLIER}/{SITE_FILE}",
            place="site.surveyed_at",
            read=site.keys.site.surveyed_at.isoformat(),
            allowed=say("site.allowed.before", moment=surveyed_at.isoformat()),
            fix=say("site.fix.mixed-up"),
        )
        return Earlier(problems=(problem,))
    notes: list[Sentence] = [say("site.note.earlier", folder=EARLIER, note=note) for note in site.notes]
    if os.path.lexists(inner / EARLIER):
        notes.append(say("site.note.earliest", folder=f"{EARLIER}/{EARLIER}"))
    read = {f"{EARLIER}/{path}": digest for path, digest in (*site.files.items(), *records.items())}
    return Earlier(site=site, files=read, notes=tuple(notes))


def _records(folder: Path) -> Iterator[tuple[str, str]]:
    """Path and fingerprint of what was decided on that visit."""
    if not (folder / "record").is_dir():
        return
    for path in sorted((folder / "record").glob("[!.]*.json")):
        relative = f"record/{path.name}"
        yield relative, files.file_sha256(folder, relative, files.LARGEST_LOGGER)


def copy_visit(old: Path, new: Path) -> None:
    """Copy what a visit consists of, without what was made from it and without its own earlier visit.

    Links are followed within the folder only, hidden files are left out.

    Raises
    ------
    ReadingError
        A file is too large or cannot be read.
    OSError
        A folder of it cannot be listed, or it cannot be written.
    """
    new.mkdir()
    for relative in _parts(old):
        content = files.file_bytes(old, relative, _TABLES.get(relative, files.LARGEST_FRAME))
        target = new / relative
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


def _parts(old: Path) -> Iterator[str]:
    """Files of a visit, as paths inside its folder."""
    for name in _KEPT:
        if (old / name).is_file():
            yield name
        if (old / name).is_dir():
            below = files.files_below(old / name, lambda inner: not inner.startswith("."))
            yield from (path.relative_to(old).as_posix() for path in sorted(below) if path.is_file())
