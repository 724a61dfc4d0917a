"""Photos as they are looked at: upright, of bounded size, and nothing but pixels."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.measured import FloatArray

if TYPE_CHECKING:
    from PIL.Image import Image

_ORIENTATION = 0x0112  # tag of EXIF 2.3
_LYING = (5, 6, 7, 8)  # of its values: stored on its side


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photo:
    """A photo made smaller; `rows` and `columns` are those of the file, held upright.

    Points on photos are (row, column) of the file held upright, whatever size it is shown at.
    """

    picture: Image
    rows: int
    columns: int

    @property
    def reduction(self) -> float:
        """Pixels of the file to one of `picture`."""
        return self.columns / self.picture.size[0]

    def grey(self) -> FloatArray:
        """Lightness from 0 to 255, shape of `picture`."""
        return np.asarray(self.picture.convert("L"), dtype=np.float64)


def read_photo(path: Path, longest_px: int) -> Photo | None:
    """A photo, its longer side at most `longest_px`; None where the file holds no picture."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about damaged metadata, which are left out anyway
            with Image.open(path, formats=("JPEG", "PNG")) as opened:
                columns, rows = opened.size
                if opened.getexif().get(_ORIENTATION) in _LYING:
                    rows, columns = columns, rows
                opened.draft("RGB", (longest_px, longest_px))
                # Small before anything is copied: a huge picture is then in memory once, not three times.
                small = _with_full_colours(opened)
                small.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
                pixels = _on_white(ImageOps.exif_transpose(small))
    except Exception:  # whatever the decoder makes of damaged data
        return None
    # A picture made anew from pixels carries nothing but pixels.
    bare = Image.new("RGB", pixels.size)
    bare.paste(pixels)
    return Photo(picture=bare, rows=rows, columns=columns)


def _with_full_colours(picture: Image) -> Image:
    """A picture that can be scaled down smoothly; one with a palette cannot."""
    if picture.mode in ("1", "P", "PA"):
        return picture.convert("RGBA" if "transparency" in picture.info else "RGB")
    return picture


def _on_white(picture: Image) -> Image:
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        white = Image.new("RGBA", seen.size, "white")
        return Image.alpha_composite(white, seen).convert("RGB")
    return picture.convert("RGB")
