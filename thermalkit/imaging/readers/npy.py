"""NumPy array files (.npy, format versions 1 and 2)."""

from __future__ import annotations

import io
import math

import numpy as np

from thermalkit.imaging.readers.bounds import Stored, refusal, require_size
from thermalkit.language import say

MAGIC = b"\x93NUMPY"
MAX_HEADER_CHARACTERS = 4096


def stored_npy(file: str, content: bytes) -> Stored:
    """Numbers of a 2-D real array; the header is checked before the data are touched.

    Raises
    ------
    ReadingError
        The header is damaged, or declares anything but a 2-D real array that fills the file exactly.
    """
    stream = io.BytesIO(content)
    try:
        version = np.lib.format.read_magic(stream)
        header = {
            (1, 0): np.lib.format.read_array_header_1_0,
            (2, 0): np.lib.format.read_array_header_2_0,
        }[version]
        shape, column_major, dtype = header(stream, max_header_size=MAX_HEADER_CHARACTERS)
    except Exception as error:  # the parser evaluates text: anything may come out of a damaged one
        raise refusal(file, read=say("reader.read.npy-header"), fix=say("reader.fix.npy")) from error
    if dtype.kind not in "iuf" or dtype.itemsize > 8:
        raise refusal(
            file, read=say("reader.read.number-type", type=str(dtype)), allowed=say("reader.allowed.real")
        )
    if len(shape) != 2:
        raise refusal(
            file, read=say("reader.read.array", shape=str(shape)), allowed=say("reader.allowed.one-frame")
        )
    rows, columns = shape
    require_size(file, rows, columns)
    expected = math.prod(shape) * dtype.itemsize
    present = len(content) - stream.tell()
    if present != expected:
        raise refusal(
            file,
            read=say("reader.read.data-bytes", count=present),
            allowed=say(
                "reader.allowed.data-bytes", count=expected, rows=rows, columns=columns, type=str(dtype)
            ),
            fix=say("reader.fix.cut-short"),
        )
    flat = np.frombuffer(content, dtype=dtype, offset=stream.tell())
    values = flat.reshape(shape, order="F" if column_major else "C")
    return Stored(values=np.array(values, dtype=np.float64, order="C"))
