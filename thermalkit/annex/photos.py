"""Photos for the annex: small, upright, and without what a camera writes about its owner."""

from __future__ import annotations

import base64
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.imaging import homography
from thermalkit.imaging.alignment import Alignment, corners_of
from thermalkit.site.photos import read_photo

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST_SIDE_PX = 1200
LAID_OVER_PX = 800
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
    photo = read_photo(path, LONGEST_SIDE_PX)
    return None if photo is None else _jpeg(photo.picture)


def photo_uri(path: Path) -> str | None:
    """The photo as a data URI, None where the file holds no picture."""
    data = photo_bytes(path)
    return None if data is None else _uri(data)


def laid_over_uri(path: Path, alignment: Alignment, shape: tuple[int, int]) -> str | None:
    """The photo as the frame sees its plane, as a data URI; None where the file holds no picture.

    Parameters
    ----------
    path : Path
        A JPEG or PNG file.
    alignment : Alignment
        From pixels of the frame to pixels of the photo's file, held upright.
    shape : (rows, columns)
        Size of the frame; the picture covers it exactly, white where the photo does not reach.
    """
    from PIL import Image as Images

    photo = read_photo(path, 2 * LAID_OVER_PX)
    if photo is None:
        return None
    finer = LAID_OVER_PX / max(shape)
    size = (round(shape[1] * finer), round(shape[0] * finer))
    corner = corners_of(shape)
    images = alignment.mapped(corner)
    # Pillow counts from the corner of the first pixel, across before down.
    out = (corner[:, ::-1] + 0.5) * (size[0] / shape[1], size[1] / shape[0])
    taken = (images[:, ::-1] + 0.5) / photo.reduction
    laid = photo.picture.transform(
        size,
        Images.Transform.PERSPECTIVE,
        tuple(homography.through_four(out, taken)),
        Images.Resampling.BICUBIC,
        fillcolor="white",
    )
    return _uri(_jpeg(laid)) if np.isfinite(images).all() else None


def _jpeg(picture: Image) -> bytes:
    stream = BytesIO()
    picture.save(stream, "JPEG", quality=QUALITY, optimize=True)
    return stream.getvalue()


def _uri(data: bytes) -> str:
    return "data:image/jpeg;base64," + base64.b64encode(data).decode("ascii")
