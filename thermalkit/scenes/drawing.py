"""A drawing that stands in for the photo of an invented wall."""

from __future__ import annotations

import io
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.scenes.picture import Seen
from thermalkit.scenes.scene import plane_m
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import OuterCorner

if TYPE_CHECKING:
    from PIL import ImageDraw

_WIDTH_PX = 480
_WALL = (226, 219, 204)
_SHADED_WALL = (208, 200, 184)
_PAPER = (250, 250, 250)
_INK = (70, 70, 70)
_STAIN = (131, 108, 74)
_STAIN_DEPTH = 120  # of 255
_FILLS = {
    "skirting": (245, 243, 238),
    "radiator": (240, 240, 240),
    "furniture": (139, 103, 71),
    "lamp": (248, 226, 140),
    "metal plate": (165, 172, 178),
    "rust mark": (168, 104, 62),
}


def draw_thing(pen: ImageDraw.ImageDraw, thing: Thing, scale: float, names: Mapping[str, str]) -> None:
    """A box of a thing with its name, `scale` drawn pixels for one of the frame."""
    top, below, left, right = (np.array(thing.box) * scale).tolist()
    pen.rectangle((left, top, right, below), fill=_FILLS.get(thing.name, _WALL), outline=_INK)
    pen.text((left + 4, top + 2), names.get(thing.name, thing.name), fill=_INK)


def drawn_photo(
    picture: Seen,
    caption: str = "DRAWING - invented, not a photo",
    names: Mapping[str, str] = MappingProxyType({}),
) -> bytes:
    """JPEG of the same view in plain colours, captioned as a drawing; `names` translates those of things."""
    from PIL import Image, ImageDraw

    rows, columns = picture.scene.shape
    scale = _WIDTH_PX / columns
    size = (_WIDTH_PX, round(rows * scale))
    image = Image.new("RGB", size, _WALL)
    pen = ImageDraw.Draw(image)
    if isinstance(picture.scene.wall, OuterCorner):
        corner_px = picture.scene.origin * columns * scale
        pen.rectangle((corner_px, 0, *size), fill=_SHADED_WALL)
        pen.line((corner_px, 0, corner_px, size[1]), fill=_INK, width=2)
    for stain in picture.scene.stains:
        share = np.broadcast_to(stain.shape.share(*plane_m(picture.scene)), picture.scene.shape)
        veil = Image.fromarray(np.rint(_STAIN_DEPTH * share).astype(np.uint8)).resize(size)
        image.paste(_STAIN, (0, 0), veil)
    for thing in picture.things:
        if thing.hides:
            draw_thing(pen, thing, scale, names)
    pen.rectangle((0, 0, size[0], 16), fill=_PAPER)
    pen.text((4, 2), caption, fill=_INK)
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=80)
    return stream.getvalue()
