"""Coloured pictures as bytes of red, green and blue."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.readers.bounds import refusal, require_size
from thermalkit.language import say

if TYPE_CHECKING:
    from PIL.Image import Image

JPEG_MAGIC = b"\xff\xd8\xff"
PNG_MAGIC = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColourPicture:
    """Red, green and blue, uint8 of shape (rows, columns, 3).

    `level` is how far saving may have moved the mean colour of a few pixels, in steps of a channel.
    """

    colours: NDArray[np.uint8]
    is_lossy: bool
    level: float


def colour_picture(file: str, content: bytes) -> ColourPicture:
    """A JPEG or PNG picture; its size is read from the header before anything is decoded.

    Raises
    ------
    ReadingError
        Neither JPEG nor PNG, damaged, or too large.
    """
    import PIL.Image

    if not content.startswith((JPEG_MAGIC, PNG_MAGIC)):
        raise refusal(file, read=say("reader.read.no-picture"), allowed=say("reader.allowed.picture"))
    kind = "JPEG" if content.startswith(JPEG_MAGIC) else "PNG"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            picture = PIL.Image.open(io.BytesIO(content), formats=[kind])
    except Exception as error:  # whatever the decoder makes of damaged data
        raise refusal(
            file, read=say("reader.read.header-damaged", kind=kind), fix=say("reader.fix.copy-again")
        ) from error
    with picture:
        columns, rows = picture.size
        require_size(file, rows, columns)
        level = _level(picture)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                colours = np.array(picture.convert("RGB"))
        except Exception as error:
            raise refusal(
                file, read=say("reader.read.data-damaged", kind=kind), fix=say("reader.fix.copy-again")
            ) from error
    return ColourPicture(colours=colours, is_lossy=kind == "JPEG", level=level)


def _level(picture: Image) -> float:
    """Half a step where each value is kept; a JPEG keeps the mean of 8 x 8 in steps it notes down."""
    tables = getattr(picture, "quantization", None)
    return max(0.5, tables[min(tables)][0] / 8.0) if tables else 0.5
