"""Site folders of invented houses with radiators, their truth beside them."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.measured import FloatArray
from thermalkit.scenes.drawing import draw_thing
from thermalkit.scenes.radiators import PIPE_ACCURACY_K, RadiatorSeen, panel_places
from thermalkit.scenes.scene import AIR_ACCURACY_K, CAMERA_ACCURACY_K, CAMERA_ACCURACY_PERCENT
from thermalkit.scenes.toml_text import toml_text
from thermalkit.scenes.write import MIDNIGHT, OFFSET, SCALE, laid_over, stored_tiff

_README = """\
# Invented radiators

House, people, readings and frames of this folder are invented: calculated from a physical model of radiators
and of a camera. The photos are drawings. `truth.toml` holds what is true; no diagnosis reads it.
"""
_HEAD = "# Invented: calculated from a model, nobody's home.\n\n"
_FINISHES = {"paint": "paint", "metallic-paint": "metallic paint", "chrome": "chrome"}
_PHOTO_PX = 480
_NONE = ("", "unknown")


def write_radiators(
    folder: Path,
    pictures: Sequence[RadiatorSeen],
    *,
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
    pictures : sequence of RadiatorSeen
        One radiator each, in a room of its own that is called as the frame.
    about : mapping, optional
        Tables of `site.toml` laid over those that follow from the pictures.
    marks : bool
        Whether outlines and what hides them are written down.
    readme : str
        Text of `README.md`; says that the site is invented.
    hour : float
        Of the first picture.
    midnight : datetime
        Start of the day of the visit, with its offset.

    Raises
    ------
    WritingError
        The folder cannot be written.
    """
    tables = laid_over(radiator_tables(pictures, marks, midnight + timedelta(hours=hour)), about or {})
    contents: dict[str, bytes] = {
        "site.toml": (_HEAD + toml_text(tables)).encode(),
        "truth.toml": toml_text(radiator_truth(pictures)).encode(),
        "README.md": readme.encode(),
    }
    for picture in pictures:
        contents[f"thermal/{picture.frame}.tiff"] = stored_tiff(picture.apparent_degc)
        contents[f"photos/{picture.frame}.jpg"] = radiator_photo(picture)
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


def radiator_tables(pictures: Sequence[RadiatorSeen], marks: bool, start: datetime) -> dict[str, Any]:
    """What the surveyor wrote down, as the tables of `site.toml`."""
    first = pictures[0].scene
    times = [start + timedelta(minutes=4 * number) for number in range(len(pictures))]
    drawn = [mark for picture in pictures for mark in (picture.outline, *picture.hidden)] if marks else []
    return {
        "format": 1,
        "site": {"name": "Invented house", "surveyed_at": start - timedelta(minutes=10)},
        "weather": {"air_temperature_degc": round(first.outdoor_degc, 1), "instrument": "hygro"},
        "instruments": _instruments(pictures[0]),
        "rooms": [
            {"id": p.frame, "air_temperature_degc": p.notes.room_degc, "instrument": "hygro"}
            for p in pictures
        ],
        "frames": [_frame(picture, at) for picture, at in zip(pictures, times, strict=True)],
        "radiators": [_radiator(picture) for picture in pictures],
        "marks": [mark.as_json() for mark in drawn],
    }


def radiator_truth(pictures: Sequence[RadiatorSeen]) -> dict[str, Any]:
    """What is true: parameters of the scenes, and what each radiator gives."""
    return {
        "invented": True,
        "source_of_water": "none",
        "radiators": [
            {
                "id": picture.outline.id,
                "frame": picture.frame,
                "fault": picture.scene.fault,
                "flow_degc": round(picture.scene.flow_degc, 2),
                "return_degc": round(picture.state.return_degc, 2),
                "room_degc": round(picture.scene.room_degc, 2),
                "rated_w": round(picture.scene.panel.rated_w, 1),
                "output_w": round(picture.state.output_w, 1),
                "water_kg_h": round(3600.0 * picture.state.flow_kg_s, 1),
                "emissivity": round(picture.scene.finish.emissivity, 3),
                "camera_offset_k": round(picture.scene.camera.offset_k, 2),
                "warm_share": round(warm_share(picture), 4),
            }
            for picture in pictures
        ],
    }


def true_zones(picture: RadiatorSeen) -> dict[str, float]:
    """Excess of the upper and lower quarter, without their rims, over that of the warmest part."""
    excess, along, down = front_excess_k(picture)
    inside = (along > 0.04) & (along < 0.96) & (down > 0.05) & (down < 0.95)
    warmest = float(np.quantile(excess[inside], 0.9))
    top, bottom = (down > 1.0 / 12.0) & (down < 0.25), (down > 0.75) & (down < 11.0 / 12.0)
    return {
        "top": float(excess[inside & top].mean()) / warmest,
        "bottom": float(excess[inside & bottom].mean()) / warmest,
    }


def front_excess_k(picture: RadiatorSeen) -> tuple[FloatArray, FloatArray, FloatArray]:
    """True excess of the surface, and places on the front, of the pixels that nothing hides."""
    scene = picture.scene
    along, down = panel_places(scene)
    seen = (along >= 0.0) & (along <= 1.0) & (down >= 0.0) & (down <= 1.0)
    if scene.furniture is not None:
        top, below, left, right = scene.furniture
        seen[top:below, left:right] = False
    return picture.true_surface_degc[seen] - scene.room_degc, along[seen], down[seen]


def warm_share(picture: RadiatorSeen) -> float:
    """Output over that of a front as warm everywhere as the water that enters."""
    scene = picture.scene
    even = scene.panel.rated_w * (max(scene.flow_degc - scene.room_degc, 1.0) / 50.0) ** scene.panel.exponent
    return float(picture.state.output_w / even)


def radiator_photo(
    picture: RadiatorSeen,
    caption: str = "DRAWING - invented, not a photo",
    names: Mapping[str, str] = MappingProxyType({}),
    front: tuple[int, int, int] = (246, 246, 244),
) -> bytes:
    """JPEG of the same view in plain colours, captioned as a drawing; `names` translates those of things."""
    from PIL import Image, ImageDraw

    rows, columns = picture.scene.shape
    scale = _PHOTO_PX / columns
    image = Image.new("RGB", (_PHOTO_PX, round(rows * scale)), (226, 219, 204))
    pen = ImageDraw.Draw(image)
    corners = [(column * scale, row * scale) for row, column in picture.scene.corners]
    pen.polygon(corners, fill=front, outline=(110, 110, 110))
    upper_left, upper_right, lower_right, lower_left = (np.array(corner) for corner in corners)
    for step in np.linspace(0.0, 1.0, picture.scene.channels + 1)[1:-1]:
        top = upper_left + step * (upper_right - upper_left)
        foot = lower_left + step * (lower_right - lower_left)
        inner = 0.04 * (foot - top)
        pen.line((*(top + inner), *(foot - inner)), fill=(214, 214, 212))
    if picture.scene.furniture is not None:
        top_px, below, left, right = (side * scale for side in picture.scene.furniture)
        pen.rectangle((left, top_px, right, below), fill=(139, 103, 71), outline=(70, 70, 70))
    for thing in picture.scene.things:
        draw_thing(pen, thing, scale, names)
    pen.rectangle((0, 0, _PHOTO_PX, 16), fill=(250, 250, 250))
    pen.text((4, 2), caption, fill=(70, 70, 70))
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=80)
    return stream.getvalue()


def _instruments(picture: RadiatorSeen) -> dict[str, Any]:
    camera = picture.scene.camera
    return {
        "cam": {
            "kind": "thermal_camera",
            "columns": camera.columns,
            "rows": camera.rows,
            "field_of_view_deg": [round(angle, 1) for angle in camera.field_of_view_deg],
            "accuracy_k": CAMERA_ACCURACY_K,
            "accuracy_percent": CAMERA_ACCURACY_PERCENT,
            "noise_k": round(camera.noise_k, 2),
        },
        "hygro": {"kind": "thermohygrometer", "accuracy_k": AIR_ACCURACY_K},
        "clamp": {"kind": "contact_thermometer", "accuracy_k": PIPE_ACCURACY_K / 2.0},
    }


def _frame(picture: RadiatorSeen, taken_at: datetime) -> dict[str, Any]:
    notes = picture.notes
    frame = {
        "id": picture.frame,
        "file": f"thermal/{picture.frame}.tiff",
        "instrument": "cam",
        "room": picture.frame,
        "subject": "radiator",
        "values": "apparent",
        "taken_at": taken_at,
        "scale": SCALE,
        "offset": OFFSET,
        "emissivity": notes.emissivity,
        "reflected_temperature_degc": notes.reflected_degc,
        "photo": f"photos/{picture.frame}.jpg",
    }
    return {key: value for key, value in frame.items() if value is not None}


def _radiator(picture: RadiatorSeen) -> dict[str, Any]:
    scene, notes = picture.scene, picture.notes
    entry = {
        "id": picture.outline.id,
        "room": picture.frame,
        "frame": picture.frame,
        "type": scene.type,
        "height_mm": float(round(1000.0 * scene.panel.height_m)),
        "length_mm": float(round(1000.0 * scene.panel.length_m)),
        "head": notes.head,
        "warmer_than_set": notes.warmer_than_set,
        "minutes_steady": notes.minutes_steady,
        "flow_degc": notes.flow_degc,
        "return_degc": notes.return_degc,
        "instrument": "clamp" if notes.flow_degc is not None else None,
        "finish": _FINISHES[scene.finish.name],
        "connection": notes.connection,
    }
    return {key: value for key, value in entry.items() if value is not None and value not in _NONE}
