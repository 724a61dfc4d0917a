"""NumPy array files (.npy, format versions 1 and 2)."""

from __future__ import annotations

import io
import math

import numpy as np

from thermalkit.imaging.readers.bounds import Stored, refusal, require_size

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
        raise refusal(
            file, read="the NPY header cannot be read", fix="Save it again with numpy.save."
        ) from error
    if dtype.kind not in "iuf" or dtype.itemsize > 8:
        raise refusal(file, read=f"numbers of type {dtype}", allowed="real numbers of at most 64 bits")
    if len(shape) != 2:
        raise refusal(file, read=f"an array of shape {shape}", allowed="rows and columns of one frame")
    rows, columns = shape
    require_size(file, rows, columns)
    expected = math.prod(shape) * dtype.itemsize
    present = len(content) - stream.tell()
    if present != expected:
        raise refusal(
            file,
            read=f"{present} bytes of data",
            allowed=f"{expected} bytes for {rows} x {columns} numbers of type {dtype}",
            fix="The copy is damaged or cut short; copy the file again.",
        )
    flat = np.frombuffer(content, dtype=dtype, offset=stream.tell())
    values = flat.reshape(shape, order="F" if column_major else "C")
    return Stored(values=np.array(values, dtype=np.float64, order="C"))
