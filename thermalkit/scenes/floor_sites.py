"""Site folders of invented heated floors, their truth beside them."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.scenes.floor_paths import Box
from thermalkit.scenes.floors import FloorScene, FloorSeen, in_frame
from thermalkit.scenes.scene import AIR_ACCURACY_K, CAMERA_ACCURACY_K, CAMERA_ACCURACY_PERCENT
from thermalkit.scenes.toml_text import toml_text
from thermalkit.scenes.write import MIDNIGHT, OFFSET, SCALE, laid_over, stored_tiff

_README = """\
# Invented heated floor

House, people, readings and frames of this folder are invented: calculated from a physical model of pipes in
screed and of a camera. The photo is a drawing. `truth.toml` holds what is true; no diagnosis reads it.
"""
_HEAD = "# Invented: calculated from a model, nobody's home.\n\n"
_PHOTO_PX = 480
_TRUTH_STEP = 20
FLOOR = "floor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixing:
    """A planned hole."""

    id: str
    x_mm: float
    y_mm: float
    diameter_mm: float = 8.0
    depth_mm: float | None = None
    purpose: str = ""


def write_floor(
    folder: Path,
    series: Sequence[FloorSeen],
    *,
    fixings: Sequence[Fixing] = (),
    about: Mapping[str, Any] | None = None,
    marks: bool = False,
    readme: str = _README,
    hour: float = 9.0,
    midnight: datetime = MIDNIGHT,
) -> None:
    """Write one site folder.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of the same names are replaced.
    series : sequence of FloorSeen
        One floor from one tripod; the reference points are those of the first picture.
    fixings : sequence of Fixing
        Planned holes.
    about : mapping, optional
        Tables of `site.toml` laid over those that follow from the pictures.
    marks : bool
        Whether outlines of what covers the floor are written down.
    readme : str
        Text of `README.md`; says that the site is invented.
    hour : float
        When warm water entered.
    midnight : datetime
        Start of the day of the visit, with its offset.

    Raises
    ------
    WritingError
        The folder cannot be written.
    """
    start = midnight + timedelta(hours=hour)
    tables = laid_over(floor_tables(series, fixings, start, marks=marks), about or {})
    contents: dict[str, bytes] = {
        "site.toml": (_HEAD + toml_text(tables)).encode(),
        "truth.toml": toml_text(_truth(series[0].scene)).encode(),
        "README.md": readme.encode(),
        "photos/floor.jpg": _photo(series[0]),
    }
    for name, picture in zip(_names(series), series, strict=True):
        contents[f"thermal/{name}.tiff"] = stored_tiff(picture.apparent_degc)
    try:
        for name, content in contents.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            part = path.with_name(f"{path.name}.part")
            part.write_bytes(content)
            part.replace(path)
    except OSError as error:
        raise WritingError(
            say("error.not-written", path=str(folder), reason=error.strerror or str(error))
        ) from error


def floor_tables(
    series: Sequence[FloorSeen], fixings: Sequence[Fixing], start: datetime, *, marks: bool = False
) -> dict[str, Any]:
    """What the surveyor wrote down, as the tables of `site.toml`."""
    scene = series[0].scene
    names = _names(series)
    return {
        "format": 1,
        "site": {"name": "Invented house", "surveyed_at": start},
        "instruments": {
            "cam": {
                "kind": "thermal_camera",
                "columns": scene.camera.columns,
                "rows": scene.camera.rows,
                "field_of_view_deg": [round(angle, 1) for angle in scene.camera.field_of_view_deg],
                "accuracy_k": CAMERA_ACCURACY_K,
                "accuracy_percent": CAMERA_ACCURACY_PERCENT,
                "noise_k": round(scene.camera.noise_k, 2),
            },
            "hygro": {"kind": "thermohygrometer", "accuracy_k": AIR_ACCURACY_K},
        },
        "rooms": [{"id": "room", "air_temperature_degc": round(scene.room_degc, 1), "instrument": "hygro"}],
        "frames": [
            {
                "id": name,
                "file": f"thermal/{name}.tiff",
                "instrument": "cam",
                "room": "room",
                "subject": "floor",
                "values": "apparent",
                "taken_at": start + timedelta(seconds=round(60.0 * picture.scene.minutes)),
                "scale": SCALE,
                "offset": OFFSET,
                "emissivity": 0.94,
                "reflected_temperature_degc": round(scene.room_degc + 0.5, 1),
                "distance_m": round(float(scene.distance_m), 2),
                "photo": "photos/floor.jpg",
            }
            for name, picture in zip(names, series, strict=True)
        ],
        "plans": [
            {
                "frame": names[0],
                "points": [
                    [round(float(row), 1), round(float(column), 1), float(round(x)), float(round(y))]
                    for row, column, x, y in series[0].points
                ],
            }
        ],
        "floor_loops": [
            {
                "id": FLOOR,
                "frame": names[0],
                "same_view": "yes" if len(series) > 1 else "no",
                "water_entered_at": start,
                "covering": "tile" if scene.is_tiled else "parquet",
                "diameter_mm": 16.0,
                "every_loop_warm": "yes" if scene.every_pipe_is_warm else "no",
                "passing_pipes": _passing(scene),
            }
        ],
        "fixings": [
            {
                key: value
                for key, value in (
                    ("id", one.id),
                    ("frame", names[0]),
                    ("x_mm", one.x_mm),
                    ("y_mm", one.y_mm),
                    ("diameter_mm", one.diameter_mm),
                    ("depth_mm", one.depth_mm),
                    ("purpose", one.purpose),
                )
                if value not in (None, "")
            }
            for one in fixings
        ],
        "marks": covered_marks(scene, names[0]) if marks else [],
    }


def _names(series: Sequence[FloorSeen]) -> list[str]:
    return [f"floor-{round(picture.scene.minutes):03d}" for picture in series]


def _passing(scene: FloorScene) -> str:
    feeds = [pipe for pipe in scene.pipes if pipe.role == "feed"]
    if not feeds:
        return "none"
    return "all warm" if all(pipe.is_warm for pipe in feeds) else "some cold"


def covered_marks(scene: FloorScene, frame: str) -> list[dict[str, Any]]:
    """Outlines of furniture, rugs and thresholds, as far as the picture shows them."""
    from skimage.draw import polygon2mask
    from skimage.measure import approximate_polygon, find_contours

    marks = []
    shape = scene.camera.rows, scene.camera.columns
    kinds = [("furniture", scene.furniture), ("rug", scene.rugs), ("threshold", scene.special)]
    for word, boxes in kinds:
        for number, box in enumerate(boxes, start=1):
            inside = polygon2mask(shape, in_frame(scene, _corners(box)))
            contours = find_contours(np.pad(inside.astype(float), 1), 0.5)
            if not contours or inside.sum() < 20:
                continue
            outline = np.clip(max(contours, key=len) - 1.0, 0.0, np.subtract(shape, 1.0))
            points = approximate_polygon(outline, 0.8)[:-1]
            marks.append(
                {
                    "frame": frame,
                    "id": f"{word} {number}",
                    "shape": "patch",
                    "points": [[round(float(r), 1), round(float(c), 1)] for r, c in points],
                    "role": "covered",
                }
            )
    return marks


def _corners(box: Box) -> np.ndarray[Any, np.dtype[np.float64]]:
    left, low, right, high = box
    return np.array([(left, low), (right, low), (right, high), (left, high)])


def _truth(scene: FloorScene) -> dict[str, Any]:
    """What is true: pipes as points in mm, and what lies round them."""
    return {
        "invented": True,
        "spacing_mm": scene.spacing_mm,
        "screed_mm": round(1000.0 * scene.slab.thickness_m, 1),
        "pipe_axis_above_underside_mm": round(1000.0 * scene.slab.pipe_height_m, 1),
        "flow_above_room_k": round(scene.flow_excess_k, 1),
        "drop_k": round(scene.drop_k, 1),
        "room_degc": round(scene.room_degc, 2),
        "camera_offset_k": round(scene.camera.offset_k, 2),
        "pipes": [
            {
                "role": pipe.role,
                "share": pipe.share,
                "line_mm": [[float(round(x)), float(round(y))] for x, y in pipe.line_mm[::_TRUTH_STEP]],
            }
            for pipe in scene.pipes
        ],
    }


def _photo(picture: FloorSeen) -> bytes:
    """JPEG of the same view in plain colours, captioned as a drawing."""
    from PIL import Image, ImageDraw

    scene = picture.scene
    scale = _PHOTO_PX / scene.camera.columns
    image = Image.new("RGB", (_PHOTO_PX, round(scene.camera.rows * scale)), (226, 219, 204))
    pen = ImageDraw.Draw(image)

    def drawn(box: Box, fill: tuple[int, int, int]) -> None:
        pen.polygon([(c * scale, r * scale) for r, c in in_frame(scene, _corners(box))], fill=fill)

    drawn((0.0, 0.0, *scene.room_mm), (201, 190, 172))
    tile = 600.0
    for axis in (0, 1):
        for at in np.arange(tile, scene.room_mm[axis], tile):
            ends = np.zeros((2, 2))
            ends[:, axis] = at
            ends[1, 1 - axis] = scene.room_mm[1 - axis]
            pen.line([(c * scale, r * scale) for r, c in in_frame(scene, ends)], fill=(178, 168, 150))
    for box in scene.special:
        drawn(box, (170, 178, 184))
    for box in scene.rugs:
        drawn(box, (150, 92, 84))
    for box in scene.furniture:
        drawn(box, (122, 96, 70))
    for number, (row, column) in enumerate(picture.points[:, :2], start=1):
        x, y = column * scale, row * scale
        pen.line((x - 5, y, x + 5, y), fill=(20, 60, 160))
        pen.line((x, y - 5, x, y + 5), fill=(20, 60, 160))
        pen.text((x + 6, y - 12), str(number), fill=(20, 60, 160))
    pen.rectangle((0, 0, _PHOTO_PX, 14), fill=(250, 250, 250))
    pen.text((4, 1), "DRAWING - invented, not a photo", fill=(70, 70, 70))
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=75)
    return stream.getvalue()
