"""TIFF with one number per pixel: the first page, uncompressed or deflated.

The directory of the first page is walked here, within the bytes of the file, before a decoder sees
it: a decoder believes declared sizes, and a file of a hundred bytes may declare a terabyte.
"""

from __future__ import annotations

import io
import logging
import struct
import zlib
from dataclasses import dataclass

import numpy as np

from thermalkit.imaging.readers.bounds import Stored, refusal, require_size
from thermalkit.language import say
from thermalkit.measured import FloatArray

MAGICS = (b"II*\x00", b"MM\x00*")
BIG_MAGICS = (b"II+\x00", b"MM\x00+")
MAX_TAGS = 512
MAX_PIECES = 65536  # strips or tiles

# TIFF 6.0, section 2: bytes per value and struct letter of the whole-number types
_TYPE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
_WHOLE = {1: "B", 3: "H", 4: "I"}
_WIDTH, _LENGTH, _BITS, _COMPRESSION, _PHOTOMETRIC = 256, 257, 258, 259, 262
_STRIP_OFFSETS, _SAMPLES, _STRIP_ROWS, _STRIP_BYTES = 273, 277, 278, 279
_TILE_WIDTH, _TILE_LENGTH, _TILE_OFFSETS, _TILE_BYTES, _FORMAT = 322, 323, 324, 325, 339
_DEPTHS = (32997, 32998)  # planes of a frame, of a tile
_READ = {
    *(
        _WIDTH,
        _LENGTH,
        _BITS,
        _COMPRESSION,
        _PHOTOMETRIC,
        _STRIP_OFFSETS,
        _SAMPLES,
        _STRIP_ROWS,
        _STRIP_BYTES,
    ),
    *(_TILE_WIDTH, _TILE_LENGTH, _TILE_OFFSETS, _TILE_BYTES, _FORMAT, *_DEPTHS),
}
_DEFLATED = (8, 32946)
_LAYOUTS = {(1, 8), (1, 16), (1, 32), (2, 8), (2, 16), (2, 32), (3, 32), (3, 64)}  # sample format, bits


@dataclass(frozen=True, slots=True, kw_only=True)
class _Directory:
    """Whole-number tags of the first page."""

    tags: dict[int, tuple[int, ...]]

    def one(self, tag: int, default: int) -> int:
        return self.tags.get(tag, (default,))[0]


def stored_tiff(file: str, content: bytes) -> Stored:
    """Numbers of the first page.

    Raises
    ------
    ReadingError
        Damaged, coloured, of an unsupported number type or compression, or larger than declared.
    """
    if content[:4] in BIG_MAGICS:
        raise refusal(
            file,
            read=say("reader.read.big-tiff"),
            allowed=say("reader.allowed.tiff"),
            fix=say("reader.fix.tiff"),
        )
    try:
        directory = _first_directory(content)
    except (struct.error, ValueError, IndexError) as error:
        raise refusal(
            file, read=say("reader.read.tiff-directory"), fix=say("reader.fix.copy-again")
        ) from error
    rows, columns = directory.one(_LENGTH, 0), directory.one(_WIDTH, 0)
    require_size(file, rows, columns)
    _require_numbers(file, directory)
    _require_honest_data(file, directory, content)
    return Stored(values=_decoded(file, content, rows, columns))


def _first_directory(content: bytes) -> _Directory:
    order = "<" if content[:2] == b"II" else ">"
    (start,) = struct.unpack_from(order + "I", content, 4)
    (count,) = struct.unpack_from(order + "H", content, start)
    if not 0 < count <= MAX_TAGS:
        raise ValueError("number of tags")
    tags: dict[int, tuple[int, ...]] = {}
    for entry in range(start + 2, start + 2 + 12 * count, 12):
        tag, kind, number = struct.unpack_from(order + "HHI", content, entry)
        size = _TYPE_BYTES.get(kind, 1) * number
        (place,) = (entry + 8,) if size <= 4 else struct.unpack_from(order + "I", content, entry + 8)
        if place + size > len(content):
            raise ValueError("tag beyond the end")
        if kind in _WHOLE and 0 < number <= MAX_PIECES and tag in _READ:
            tags[tag] = struct.unpack_from(f"{order}{number}{_WHOLE[kind]}", content, place)
    return _Directory(tags=tags)


def _require_numbers(file: str, directory: _Directory) -> None:
    """One plain number per pixel, in a form that needs no further library."""
    samples, photometric = directory.one(_SAMPLES, 1), directory.one(_PHOTOMETRIC, 1)
    if samples != 1 or photometric not in (0, 1):
        raise refusal(
            file,
            read=say("reader.read.coloured"),
            allowed=say("reader.allowed.one-number"),
            fix=say("reader.fix.coloured-tiff"),
        )
    if any(directory.one(tag, 1) != 1 for tag in _DEPTHS):
        raise refusal(file, read=say("reader.read.planes"), allowed=say("reader.allowed.one-frame"))
    layout = (directory.one(_FORMAT, 1), directory.one(_BITS, 1))
    if layout not in _LAYOUTS:
        raise refusal(
            file,
            read=say("reader.read.sample-format", format=layout[0], bits=layout[1]),
            allowed=say("reader.allowed.sample-format"),
        )
    compression = directory.one(_COMPRESSION, 1)
    if compression not in (1, *_DEFLATED):
        raise refusal(
            file,
            read=say("reader.read.compression", number=compression),
            allowed=say("reader.allowed.compression"),
            fix=say("reader.fix.uncompressed"),
        )


def _require_honest_data(file: str, directory: _Directory, content: bytes) -> None:
    """Every strip or tile lies in the file and holds no more than its share of the frame."""
    tiled = _TILE_WIDTH in directory.tags
    rows, columns = directory.one(_LENGTH, 0), directory.one(_WIDTH, 0)
    height = directory.one(_TILE_LENGTH, 0) if tiled else min(directory.one(_STRIP_ROWS, rows), rows)
    width = directory.one(_TILE_WIDTH, 0) if tiled else columns
    require_size(file, max(height, 8), max(width, 8))
    pieces = -(-rows // height) * -(-columns // width) if height and width else 0
    offsets = directory.tags.get(_TILE_OFFSETS if tiled else _STRIP_OFFSETS, ())
    sizes = directory.tags.get(_TILE_BYTES if tiled else _STRIP_BYTES, ())
    share = height * width * directory.one(_BITS, 1) // 8
    damaged = refusal(file, read=say("reader.read.tiff-misfit"), fix=say("reader.fix.copy-again"))
    if not pieces or len(offsets) != pieces or len(sizes) != pieces:
        raise damaged
    # The last strip may end with the frame; a decoder would fill what is missing with zeros.
    last = share if tiled else share // height * (rows - (pieces - 1) * height)
    for number, (offset, size) in enumerate(zip(offsets, sizes, strict=True), start=1):
        data = content[offset : offset + size]
        held = _inflated_size(data, share) if directory.one(_COMPRESSION, 1) in _DEFLATED else len(data)
        if len(data) != size or not (last if number == pieces else share) <= held <= share:
            raise damaged


def _inflated_size(data: bytes, share: int) -> int:
    """Bytes that deflated data hold, counted to one more than `share`; -1 where they are damaged."""
    try:
        return len(zlib.decompressobj().decompress(data, share + 1))
    except zlib.error:
        return -1


def _decoded(file: str, content: bytes, rows: int, columns: int) -> FloatArray:
    import tifffile

    talk = logging.getLogger("tifffile")
    before = talk.level
    talk.setLevel(logging.CRITICAL + 1)  # its remarks on damaged tags would reach the surveyor's terminal
    try:
        with tifffile.TiffFile(io.BytesIO(content)) as stored:
            return np.array(stored.pages[0].asarray(), dtype=np.float64).reshape(rows, columns)
    except Exception as error:  # whatever the decoder makes of damaged data
        raise refusal(
            file, read=say("reader.read.data-damaged", kind="TIFF"), fix=say("reader.fix.copy-again")
        ) from error
    finally:
        talk.setLevel(before)
