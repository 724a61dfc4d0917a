"""The picture as text data: a frame packed small, and the page parts that draw it.

The data of one picture is a plain dict, the same for the page and for the notebook. Only `frame` is
required; everything else has a default in `picture.js`.

=====================  ==========================================================================
key                    value
=====================  ==========================================================================
``frame``              surface temperatures in degC (differences in K), from `packed_frame`
``interval``           ``[below_k, above_k]``, or rows ``[temperature, low, high]`` in degC, rising,
                       between which the page interpolates; absent: no interval is shown
``bar``                ``{"low": 8.0, "high": 21.0}``, the limits of the colours
``difference``         true: K, a diverging map, bar centred on zero
``unit``               what the values are in, where that is neither °C nor K
``lines``              ``[{"temperature_degc": 9.3, "label": "dew point"}]``, drawn as isotherms
``photo``              data URI of a PNG, JPEG or WebP picture
``photo_aligned``      true: the photo covers the frame exactly and is faded behind it by a slider
``marks``              ``[{"id", "name", "number", "shape", "points", "role", "numbers"}]``; shape, points
                       ([row, column], pixel centres) and role as in a site file; ``numbers`` is a
                       list of texts for the table
``suggestions``        like ``marks``; drawn dotted until accepted or dismissed
``context``            like ``marks``; drawn and listed, never changed; ``note`` says what they are
``numbers``            ``{mark id: [text or [name, number], ...]}``; wins over ``numbers`` of a mark
``details``            ``{mark id: {"coldest", "warmest", "profile"}}``, each of which may be absent: two
                       places, and ``{"distance", "temperature", "unit"}`` along a trace
``role``, ``roles``    role of new marks ("suspect"); choices ``[{"role", "label"}]`` offered for it
``metres_per_pixel``   draws a scale bar
``label``              one sentence read out in place of the picture
``labels``, ``locale`` words of the interface that differ from the English ones in `picture.js`;
                       language tag for numbers
``together``           ``{"group", "onto", "from"}``: pictures of one group in a page point together;
                       two 3 x 3 matrices, row by row, take (row, column, 1) of this picture onto what
                       they share, and back
``read_only``          true: nothing can be drawn (always so in a page)
=====================  ==========================================================================

A packed frame is ``{"rows", "columns", "step_k", "base_degc", "values"}``. Temperatures are rounded to
``step_k`` above ``base_degc``, the coldest; 65535 stands for a masked pixel. Row by row, each number is
replaced by its difference to the one before (the first one to 0, a row's first one to the last of the
row above) as little-endian int16 that wraps round, and the whole is compressed with zlib (RFC 1950).
In text, ``values`` is base64 of that.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.errors import OutOfDomain
from thermalkit.language import say

PICTURE_SCRIPT = Path(__file__).with_name("picture.js")
PICTURE_STYLE = Path(__file__).with_name("picture.css")

_MASKED = 65535
_BANDS = 8


def packed_frame(temperatures_degc: ArrayLike, *, step_k: float = 0.05) -> dict[str, Any]:
    """Pack a frame for the page.

    Parameters
    ----------
    temperatures_degc : array_like, shape (rows, columns)
        Surface temperatures, or differences in K. What is not finite counts as masked.
    step_k : float
        Temperatures are rounded to this; keep it well below the noise of the camera.

    Returns
    -------
    dict
        ``rows``, ``columns``, ``step_k``, ``base_degc``, and ``values`` as bytes (see above).

    Raises
    ------
    OutOfDomain
        Not a picture of at least 1 x 1 pixel, a step that is not above zero, or a range of more than
        65 534 steps.

    Examples
    --------
    >>> packed = packed_frame([[12.0, 12.52], [float("nan"), 13.0]], step_k=0.1)
    >>> unpacked_frame(packed).round(1)
    array([[12. , 12.5],
           [ nan, 13. ]])
    """
    temperatures = np.asarray(temperatures_degc, dtype=np.float64)
    if temperatures.ndim != 2 or temperatures.size == 0:
        raise OutOfDomain(say("annex.frame-shape", shape=str(temperatures.shape)))
    if not step_k > 0:
        raise OutOfDomain(say("annex.step-above-zero", step=f"{step_k:g}"))
    seen = np.isfinite(temperatures)
    base_degc = float(temperatures[seen].min()) if seen.any() else 0.0
    base_degc = round(base_degc / step_k) * step_k
    steps = np.rint((np.where(seen, temperatures, base_degc) - base_degc) / step_k)
    if steps.max() >= _MASKED:
        raise OutOfDomain(
            say("annex.frame-span", span=f"{steps.max() * step_k:g}", most=_MASKED - 1, step=f"{step_k:g}")
        )
    numbers = np.where(seen, steps, _MASKED).astype(np.uint16).ravel()
    differences = np.diff(numbers, prepend=np.uint16(0)).astype("<u2")
    rows, columns = temperatures.shape
    return {
        "rows": rows,
        "columns": columns,
        "step_k": step_k,
        "base_degc": round(base_degc, 6),
        "values": zlib.compress(differences.tobytes()),
    }


def unpacked_frame(packed: Mapping[str, Any]) -> NDArray[np.float64]:
    """Temperatures of a packed frame; NaN where masked.

    Parameters
    ----------
    packed : mapping
        What `packed_frame` gave, ``values`` as bytes or as base64 text.

    Returns
    -------
    ndarray of float64, shape (rows, columns)
    """
    values = packed["values"]
    raw = zlib.decompress(base64.b64decode(values) if isinstance(values, str) else values)
    numbers = np.cumsum(np.frombuffer(raw, dtype="<u2"), dtype=np.uint16)
    temperatures = packed["base_degc"] + numbers * float(packed["step_k"])
    shape = (packed["rows"], packed["columns"])
    return np.asarray(np.where(numbers == _MASKED, np.nan, temperatures), dtype=np.float64).reshape(shape)


def numbered(marks: Sequence[Mapping[str, Any]], rows: int) -> list[dict[str, Any]]:
    """Marks in reading order, with their ``number``.

    Top to bottom and, within an eighth of the height, left to right; places count by the mean of their
    points. The page numbers what is drawn by the same rule.

    Parameters
    ----------
    marks : sequence of mapping
        Each with ``points``, [row, column].
    rows : int
        Height of the frame.

    Returns
    -------
    list of dict

    Examples
    --------
    >>> marks = [{"id": "b", "points": [[3, 60]]}, {"id": "a", "points": [[5, 10]]}]
    >>> [(mark["id"], mark["number"]) for mark in numbered(marks, rows=80)]
    [('a', 1), ('b', 2)]
    """

    def place(mark: Mapping[str, Any]) -> tuple[int, float, float]:
        row, column = (sum(axis) / len(mark["points"]) for axis in zip(*mark["points"], strict=True))
        return int(row // (rows / _BANDS)), column, row

    return [{**mark, "number": number} for number, mark in enumerate(sorted(marks, key=place), start=1)]


def picture_figure(data: Mapping[str, Any], caption: str) -> str:
    """The HTML of one picture: data, then the caption, which is escaped.

    `page_script` finds it and draws it.
    """
    return (
        '<figure data-picture><script type="application/json">'
        f"{picture_json(data)}</script><figcaption>{escape(caption)}</figcaption></figure>"
    )


def picture_json(data: Mapping[str, Any]) -> str:
    r"""Data of a picture as JSON that may stand inside a script element; bytes become base64.

    Examples
    --------
    >>> picture_json({"label": "</script>", "values": b"abc"})
    '{"label":"\\u003c/script>","values":"YWJj"}'
    """
    text = json.dumps(data, default=_as_text, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def page_script() -> str:
    """Text of the one module script that a page with pictures needs."""
    return PICTURE_SCRIPT.read_text("utf-8") + "\nhydrate(document);\n"


def page_style() -> str:
    """Text of the style sheet that a page with pictures needs."""
    return PICTURE_STYLE.read_text("utf-8")


def _as_text(value: object) -> str:
    if isinstance(value, bytes):
        return base64.b64encode(value).decode("ascii")
    raise TypeError(f"{type(value).__name__} has no place in the data of a picture")
