"""Photos for the annex: small, upright, and without what a camera writes about its owner."""

from __future__ import annotations

import base64
import warnings
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST_SIDE_PX = 1200
QUALITY = 80


def photo_bytes(path: Path) -> bytes | None:
    """A photo as JPEG, turned upright, scaled down, without any metadata.

    Parameters
    ----------
    path : Path
        A JPEG or PNG file.

    Returns
    -------
    bytes or None
        The same bytes for the same file; None where the file holds no picture.
    """
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about damaged metadata, which are left out anyway
            with Image.open(path, formats=("JPEG", "PNG")) as opened:
                opened.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
                # Small before anything is copied: a huge picture is then in memory once, not three times.
                small = _with_full_colours(opened)
                small.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX), Image.Resampling.LANCZOS)
                pixels = _on_white(ImageOps.exif_transpose(small))
    except Exception:  # whatever the decoder makes of damaged data
        return None
    # A picture made anew from pixels carries nothing but pixels.
    bare = Image.new("RGB", pixels.size)
    bare.paste(pixels)
    stream = BytesIO()
    bare.save(stream, "JPEG", quality=QUALITY, optimize=True)
    return stream.getvalue()


def photo_uri(path: Path) -> str | None:
    """The photo as a data URI, None where the file holds no picture."""
    data = photo_bytes(path)
    return None if data is None else "data:image/jpeg;base64," + base64.b64encode(data).decode("ascii")


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
