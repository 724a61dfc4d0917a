"""Small still pictures for page one, in the colours of the large ones."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping, Sequence
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from thermalkit.annex.packing import PICTURE_SCRIPT
from thermalkit.measured import FloatArray

if TYPE_CHECKING:
    from PIL.Image import Image

WIDTH_PX, HEIGHT_PX = 240, 180
_LINE_PX = 3


def thumbnail_uri(surface_degc: FloatArray, mark: Mapping[str, Any]) -> str:
    """A frame with one place outlined, as a data URI of a PNG.

    Parameters
    ----------
    surface_degc : ndarray, shape (rows, columns)
        Surface temperatures in degC, NaN where masked.
    mark : mapping
        With ``shape`` and ``points``, [row, column].

    Returns
    -------
    str
        The same for the same frame and mark.
    """
    from PIL import Image, ImageDraw

    rows, columns = surface_degc.shape
    factor = min(WIDTH_PX / columns, HEIGHT_PX / rows)
    size = (max(round(columns * factor), 1), max(round(rows * factor), 1))
    picture = Image.fromarray(_levels(surface_degc), "L").resize(size, Image.Resampling.BILINEAR)
    # Two of the 256 colours are given to the outline, black beside white, which shows on any ground.
    picture = picture.point(lambda level: min(max(level, 1), 254))
    points = [((column + 0.5) * factor, (row + 0.5) * factor) for row, column in mark["points"]]
    draw = ImageDraw.Draw(picture)
    for width, level in ((_LINE_PX + 3, 0), (_LINE_PX, 255)):
        _outline(draw, mark["shape"], points, width, level)
    picture = picture.convert("P", dither=Image.Dither.NONE)
    picture.putpalette(bytes(3) + _cividis()[3:-3] + b"\xff\xff\xff")
    stream = BytesIO()
    picture.save(stream, "PNG", optimize=True)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode("ascii")


def coloured(surface_degc: FloatArray) -> Image:
    """A frame in the same colours, pixel for pixel."""
    from PIL import Image as Images

    picture = Images.fromarray(_levels(surface_degc), "L").convert("P", dither=Images.Dither.NONE)
    picture.putpalette(_cividis())
    return picture


def _levels(surface_degc: FloatArray) -> Any:
    low, high = float(np.nanmin(surface_degc)), float(np.nanmax(surface_degc))
    share = (np.nan_to_num(surface_degc, nan=low) - low) / ((high - low) or 1.0)
    return np.rint(255.0 * share).astype(np.uint8)


def _outline(draw: Any, shape: str, points: Sequence[tuple[float, float]], width: int, level: int) -> None:
    if shape == "pin":
        (x, y), reach = points[0], 4 + width
        draw.ellipse((x - reach, y - reach, x + reach, y + reach), outline=level, width=width)
    else:
        draw.line([*points, *points[: 2 if shape == "patch" else 0]], fill=level, width=width, joint="curve")


@cache
def _cividis() -> bytes:
    """The 256 colours of the picture component, from its own text."""
    block = re.search(r"const CIVIDIS =\s*(.*?);", PICTURE_SCRIPT.read_text("utf-8"), re.DOTALL)
    return bytes.fromhex("".join(re.findall(r'"([0-9a-f]+)"', block[1]))) if block else bytes(768)
