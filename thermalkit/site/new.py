"""An empty, explained site folder to fill in."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.site.earlier import EARLIER, copy_visit
from thermalkit.site.problems import shown

SUBFOLDERS = ("thermal", "photos", "loggers", "record")
_CONTENTS = {"site.toml": "new_site.toml", "README.md": "new_readme.md"}


def write_new_site(folder: Path | str, *, again: Path | str | None = None) -> Path:
    """Write a commented site folder, whole or not at all.

    Parameters
    ----------
    folder : path
        Does not exist yet or is empty; the folder above it exists.
    again : path, optional
        Folder of an earlier visit to the same building. Its rooms and instruments are taken over, and
        it is copied into the folder `earlier`, so that both visits can be set side by side.

    Raises
    ------
    WritingError
        The folder is not empty, or cannot be written.
    ReadingError
        The earlier visit cannot be read.
    """
    again = None if again is None else Path(again)
    folder = Path(folder)
    texts = {
        name: files("thermalkit.site").joinpath(source).read_text(encoding="utf-8")
        for name, source in _CONTENTS.items()
    }
    if again is not None:
        from thermalkit.site.again import spreadsheets_again, text_again

        texts["site.toml"] = text_again(texts["site.toml"], again)
        texts |= spreadsheets_again(again)
    name = shown(str(folder))
    try:
        if folder.is_dir() and any(folder.iterdir()):
            raise WritingError(say("site.new.not-empty", name=name))
        if folder.exists() and not folder.is_dir():
            raise WritingError(say("site.new.file", name=name))
        if not folder.absolute().parent.is_dir():
            raise WritingError(say("site.new.no-parent", name=name))
        with tempfile.TemporaryDirectory(dir=folder.absolute().parent, prefix=".new-site-") as stage:
            staged = Path(stage) / "site"
            _fill(staged, texts)
            if again is not None:
                copy_visit(again, staged / EARLIER)
            _put_in_place(staged, folder)
    except OSError as error:
        raise WritingError(
            say("site.new.not-written", name=name, reason=error.strerror or str(error))
        ) from error
    return folder


def _fill(staged: Path, texts: Mapping[str, str]) -> None:
    staged.mkdir()
    for name in SUBFOLDERS:
        (staged / name).mkdir()
    for name, text in texts.items():
        (staged / name).write_text(text, encoding="utf-8")


def _put_in_place(staged: Path, folder: Path) -> None:
    """Move the whole folder at once; into an existing empty one piece by piece, undone on failure."""
    if not folder.exists():
        staged.rename(folder)
        return
    moved: list[Path] = []
    try:
        for part in sorted(staged.iterdir()):
            target = folder / part.name
            part.rename(target)
            moved.append(target)
    except OSError:
        for target in moved:
            shutil.rmtree(target) if target.is_dir() else target.unlink()
        raise
