"""Photos for the annex: small, upright, and without what a camera writes about its owner."""

from __future__ import annotations

import base64
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
        with Image.open(path) as opened:
            opened.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            upright = ImageOps.exif_transpose(opened)
            pixels = _on_white(upright)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    pixels.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX), Image.Resampling.LANCZOS)
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


def _on_white(picture: Image) -> Image:
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        white = Image.new("RGBA", seen.size, "white")
        return Image.alpha_composite(white, seen).convert("RGB")
    return picture.convert("RGB")
