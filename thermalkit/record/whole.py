"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from thermalkit.errors import WritingError, printable


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that at any moment the old or the new one stands there, never a part.

    The data goes to a new file in the same folder, which is synced and renamed over the old one; then
    the folder is synced. Folders on the way are made.

    Raises
    ------
    WritingError
        It could not be written; what was there stays and nothing is left beside it.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".part")
    except OSError as error:
        raise _not_written(path, error) from error
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
        _sync_folder(path.parent)
    except BaseException as error:
        Path(name).unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _not_written(path, error) from error
        raise


def _sync_folder(folder: Path) -> None:
    """Make a rename last; where folders cannot be opened the system does it by itself."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _not_written(path: Path, error: OSError) -> WritingError:
    reason = error.strerror or type(error).__name__
    return WritingError(
        printable(f"{path} could not be written ({reason}). What was there before is untouched.")
    )
