"""Files of a site folder: kept inside it, bounded in size, fingerprinted."""

from __future__ import annotations

import hashlib
import stat
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import Words, say
from thermalkit.site.fields import LONGEST_PATH
from thermalkit.site.problems import MISSING, composed, shown

LARGEST_SITE_FILE = 1_000_000
LARGEST_READINGS = 5_000_000
LARGEST_FRAME = 64 * 1024 * 1024
LARGEST_PHOTO = 30_000_000
LARGEST_LOGGER = 64 * 1024 * 1024
MOST_PHOTO_PIXELS = 100_000_000
LARGEST = {"frame": LARGEST_FRAME, "photo": LARGEST_PHOTO, "logger": LARGEST_LOGGER}
_MOST_PIXELS = say("site.allowed.photo-pixels")


def files_below(folder: Path, into: Callable[[str], bool], longest: int = LONGEST_PATH) -> Iterator[Path]:
    """Files and links of a site folder but hidden ones; a folder is entered where `into` says so of its name.

    What lies so deep that its path has more than `longest` characters is left out: no site file can name it.

    Raises
    ------
    OSError
        A folder cannot be listed.
    """
    for path in folder.iterdir():
        left = longest - len(path.name)
        if path.is_symlink() or path.is_file():
            if left >= 0 and not path.name.startswith("."):
                yield path
        elif left > 0 and path.is_dir() and into(path.name):
            yield from files_below(path, into, left - 1)


def inner_file(folder: Path, relative: str, largest: int) -> Path:
    """The real path of a regular file inside `folder`, no larger than `largest` bytes.

    Raises
    ------
    ReadingError
        It is missing, leads out of the folder, is no regular file or is too large.
    """
    try:
        real = (folder / relative).resolve(strict=True)
        status = real.stat()
    except FileNotFoundError:
        raise _refused(relative, MISSING, fix=_other_form(folder, relative)) from None
    except (OSError, RuntimeError, ValueError):
        raise _refused(relative, say("site.read.not-opened")) from None
    if not real.is_relative_to(folder.resolve()):
        raise _refused(
            relative, say("site.read.leads-out"), say("site.allowed.inside"), say("site.fix.copy-in")
        )
    if not stat.S_ISREG(status.st_mode):
        raise _refused(relative, say("site.read.no-file"), say("site.allowed.ordinary"))
    if status.st_size > largest:
        size = f"{status.st_size / 1e6:.1f} MB"
        raise _refused(relative, size, say("site.allowed.at-most", count=f"{largest / 1e6:g} MB"))
    return real


def _refused(relative: str, read: Words, allowed: Words = "", fix: Words = "") -> ReadingError:
    name = shown(relative)[1:-1]
    return ReadingError(name, [Problem(file=name, read=read, allowed=allowed, fix=fix)])


def _other_form(folder: Path, relative: str) -> Words:
    """A hint where only capitals or stored accents differ, which one system forgives and another does not."""
    beside = (folder / relative).parent
    if not beside.is_dir() or not beside.resolve().is_relative_to(folder.resolve()):
        return ""
    wanted = Path(relative).name
    names = [entry.name for entry in beside.iterdir() if entry.name != wanted]
    alike = next((name for name in names if composed(name).lower() == composed(wanted).lower()), None)
    if alike is None:
        return ""
    id = "site.fix.accents" if composed(alike) == composed(wanted) else "site.fix.capitals"
    return say(id, name=shown(alike))


def file_bytes(folder: Path, relative: str, largest: int) -> bytes:
    """Content of a file inside `folder`; raises `ReadingError` as `inner_file` does."""
    path = inner_file(folder, relative, largest)
    try:
        with path.open("rb") as stream:
            content = stream.read(largest + 1)
    except OSError:
        raise _refused(relative, say("site.read.not-opened"), fix=say("site.fix.may-you-read")) from None
    if len(content) > largest:
        raise _refused(relative, say("site.read.grew"))
    return content


def file_sha256(folder: Path, relative: str, largest: int) -> str:
    """Fingerprint of a file inside `folder`; raises `ReadingError` as `inner_file` does."""
    path = inner_file(folder, relative, largest)
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        raise _refused(relative, say("site.read.not-opened"), fix=say("site.fix.may-you-read")) from None


def require_photo(folder: Path, relative: str) -> None:
    """Check type and size of a photo by its header; nothing is decoded.

    Raises
    ------
    ReadingError
        Not a JPEG or PNG picture, or too many pixels.
    """
    from PIL import Image

    path = inner_file(folder, relative, LARGEST_PHOTO)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=("JPEG", "PNG")) as picture:
                columns, rows = picture.size
    except Image.DecompressionBombError:
        raise _refused(relative, say("site.read.too-many-photo-pixels"), _MOST_PIXELS) from None
    except (OSError, SyntaxError, ValueError):
        raise _refused(relative, say("site.read.no-picture"), say("site.allowed.picture")) from None
    if columns * rows > MOST_PHOTO_PIXELS:
        raise _refused(relative, say("site.read.pixels", columns=columns, rows=rows), _MOST_PIXELS)
