"""PNG with one 16-bit grey value per pixel."""

from __future__ import annotations

import io
import struct

import numpy as np

from thermalkit.imaging.readers.bounds import Stored, refusal, require_size
from thermalkit.language import say
from thermalkit.measured import FloatArray

MAGIC = b"\x89PNG\r\n\x1a\n"
_GREY = 0


def stored_png(file: str, content: bytes) -> Stored:
    """Grey values; size and kind are read from the header chunk before anything is decoded.

    Raises
    ------
    ReadingError
        The header or the data are damaged, or the picture is not 16-bit grey.
    """
    if len(content) < 33 or content[8:16] != b"\x00\x00\x00\x0dIHDR":
        raise refusal(
            file, read=say("reader.read.header-damaged", kind="PNG"), fix=say("reader.fix.copy-again")
        )
    columns, rows, depth, colour = struct.unpack(">IIBB", content[16:26])
    if colour != _GREY:
        raise refusal(
            file,
            read=say("reader.read.coloured"),
            allowed=say("reader.allowed.grey-16"),
            fix=say("reader.fix.coloured"),
        )
    if depth != 16:
        raise refusal(
            file,
            read=say("reader.read.grey", depth=int(depth)),
            allowed=say("reader.allowed.grey-16"),
            fix=say("reader.fix.grey"),
        )
    require_size(file, rows, columns)
    return Stored(values=_decoded(file, content, rows, columns))


def _decoded(file: str, content: bytes, rows: int, columns: int) -> FloatArray:
    from PIL import Image

    try:
        with Image.open(io.BytesIO(content), formats=["PNG"]) as picture:
            return np.array(picture, dtype=np.float64).reshape(rows, columns)
    except Exception as error:  # whatever the decoder makes of damaged data
        raise refusal(
            file, read=say("reader.read.data-damaged", kind="PNG"), fix=say("reader.fix.copy-again")
        ) from error
