"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from thermalkit.errors import WritingError, printable
from thermalkit.language import say

_SUFFIX = ".part"
_RANDOM_CHARACTERS = 8  # what `tempfile` puts between prefix and suffix


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that at any moment the old or the new one stands there, never a part.

    The data goes to a new file in the same folder, which is synced and renamed over the old one; then
    the folder is synced. Folders on the way are made; what an earlier writer left who was killed is
    removed.

    Raises
    ------
    WritingError
        It could not be written; what was there stays and nothing is left beside it.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=_prefix(path), suffix=_SUFFIX)
    except (OSError, ValueError) as error:
        raise _not_written(path, error) from error
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException as error:
        with suppress(OSError):
            Path(name).unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _not_written(path, error) from error
        raise
    # The new file stands in its place: what fails from here on is no failure to write it.
    with suppress(OSError):
        _sync_folder(path.parent)
    with suppress(OSError):
        _remove_leftovers(path)


def _prefix(path: Path) -> str:
    return f".{path.name[:40]}."


def _remove_leftovers(path: Path) -> None:
    """Remove parts of this file whose writer was killed."""
    length = len(_prefix(path)) + _RANDOM_CHARACTERS + len(_SUFFIX)
    for part in path.parent.iterdir():
        if part.name.startswith(_prefix(path)) and part.name.endswith(_SUFFIX) and len(part.name) == length:
            part.unlink()


def _sync_folder(folder: Path) -> None:
    """Make a rename last; where folders cannot be opened the system does it by itself."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _not_written(path: Path, error: OSError | ValueError) -> WritingError:
    reason = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return WritingError(say("record.not-written", path=printable(str(path)), reason=printable(reason)))
