"""Site folders of invented buildings, with their truth beside them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from thermalkit.errors import WritingError
from thermalkit.imaging.mark import Mark
from thermalkit.language import say
from thermalkit.measured import FloatArray
from thermalkit.scenes.drawing import drawn_photo
from thermalkit.scenes.picture import Seen, truth_at
from thermalkit.scenes.scene import (
    AIR_ACCURACY_K,
    CAMERA_ACCURACY_K,
    CAMERA_ACCURACY_PERCENT,
    CONTACT_ACCURACY_K,
    HUMIDITY_ACCURACY,
    OUTDOOR_ACCURACY_K,
)
from thermalkit.scenes.toml_text import toml_text
from thermalkit.scenes.walls import LIMIT_FILM_M2K_W

SCALE, OFFSET = 0.01, -273.15
MIDNIGHT = datetime(2026, 1, 21, tzinfo=UTC)
_README = """\
# Invented site

Building, people, readings and frames of this folder are invented: calculated from a physical model of a
wall and of a camera. The photos are drawings. `truth.toml` holds what is true; no diagnosis reads it.
"""
ROLES = ("suspect", "sound")
_HEAD = "# Invented: calculated from a model, nobody's home.\n\n"
_ORDER = ("format", "site", "surveyor", "report", "limits", "climate", "weather", "instruments", "rooms")


def write_site(
    folder: Path,
    pictures: Sequence[Seen],
    *,
    about: Mapping[str, Any] | None = None,
    marks: Iterable[str] = ROLES,
    readings: Sequence[Mapping[str, Any]] = (),
    files: Mapping[str, bytes] | None = None,
    truth: Mapping[str, Any] | None = None,
    readme: str = _README,
    midnight: datetime = MIDNIGHT,
) -> None:
    """Write one site folder.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of the same names are replaced.
    pictures : sequence of Seen
        Frames of one room on one visit; climate and readings of the room are those of the first.
    about : mapping, optional
        Tables of `site.toml` laid over those that follow from the pictures, key by key; a list replaces
        a list, entry by entry where both hold tables.
    marks : iterable of str
        Roles of the marks written down: suspect, sound, both or neither. A contact reading names the
        sound mark, which is then always written.
    readings : sequence of mappings
        Rows of `readings.csv`; no file without them.
    files : mapping of str to bytes, optional
        More files by their path in the folder, such as those of loggers.
    truth : mapping, optional
        Tables of `truth.toml` laid over those that follow from the pictures.
    readme : str
        Text of `README.md`; says that the site is invented.
    midnight : datetime
        Start of the day of the visit, with its offset.

    Raises
    ------
    WritingError
        The folder cannot be written.
    """
    tables = laid_over(site_tables(pictures, tuple(marks), midnight), about or {})
    contents: dict[str, bytes] = {
        "site.toml": (_HEAD + toml_text(_in_order(tables))).encode(),
        "truth.toml": toml_text(laid_over(truth_tables(pictures), truth or {})).encode(),
        "README.md": readme.encode(),
        **(files or {}),
    }
    for picture in pictures:
        contents[f"thermal/{picture.frame}.tiff"] = stored_tiff(picture.apparent_degc)
        contents[f"photos/{picture.frame}.jpg"] = drawn_photo(picture)
    if readings:
        contents["readings.csv"] = _readings_csv(readings)
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


def stored_tiff(apparent_degc: FloatArray) -> bytes:
    """Hundredths of a kelvin as 16-bit whole numbers, deflated; see SCALE and OFFSET."""
    import tifffile

    stored = np.rint((apparent_degc - OFFSET) / SCALE).astype(np.uint16)
    stream = io.BytesIO()
    tifffile.imwrite(stream, stored, compression="zlib", metadata=None, software=False)
    return stream.getvalue()


def site_tables(pictures: Sequence[Seen], marks: tuple[str, ...], midnight: datetime) -> dict[str, Any]:
    """What the surveyor wrote down, as the tables of `site.toml`."""
    first = pictures[0]
    written, climate = first.written, first.scene.climate
    taken_at = midnight + timedelta(minutes=round(60.0 * climate.hour))
    return {
        "format": 1,
        "site": {"name": "Invented house", "surveyed_at": taken_at - timedelta(minutes=10)},
        "limits": {"set": "general"},
        "weather": {
            "air_temperature_degc": written.outdoor_degc,
            "mean_24h_air_temperature_degc": written.daily_mean_degc,
            "sky": climate.sky,
            "hours_since_sun": 24.0,
            "hours_steady": 48.0,
            "instrument": "outdoor",
        },
        "instruments": _instruments(first),
        "rooms": [
            {
                "id": "room",
                "air_temperature_degc": written.air_temperature_degc,
                "relative_humidity_percent": written.relative_humidity_percent,
                "instrument": "hygro",
                "open_flued_appliance": "no",
            }
        ],
        "frames": [_frame(picture, taken_at) for picture in pictures],
        "references": [
            _reference(picture) for picture in pictures if picture.written.contact_degc is not None
        ],
        "marks": [mark.as_json() for picture in pictures for mark in _marks(picture, marks)],
    }


def truth_tables(pictures: Sequence[Seen]) -> dict[str, Any]:
    """What is true: parameters of the scenes, and what each mark stands for."""
    is_condensing = any(truth_at(picture, picture.suspect).humidity >= 1.0 for picture in pictures)
    return {
        "invented": True,
        "source_of_water": "condensation from room air" if is_condensing else "none",
        "limit_film_m2k_w": LIMIT_FILM_M2K_W,
        "climate": _rounded(asdict(pictures[0].scene.climate)),
        "errors": _rounded(asdict(pictures[0].scene.errors)),
        "frames": [_true_frame(picture) for picture in pictures],
        "marks": [
            {"frame": mark.frame, "id": mark.id, **_rounded(asdict(truth_at(picture, mark)))}
            for picture in pictures
            for mark in (picture.suspect, picture.sound)
        ],
    }


def laid_over(below: Any, above: Any) -> Any:
    """Nested tables with those above winning, lists of tables entry by entry."""
    if isinstance(below, Mapping) and isinstance(above, Mapping):
        shared = {key: laid_over(below[key], above[key]) for key in below if key in above}
        return {**below, **above, **shared}
    if _are_tables(below) and _are_tables(above):
        pairs = [laid_over(one, other) for one, other in zip(below, above, strict=False)]
        return [*pairs, *below[len(pairs) :], *above[len(pairs) :]]
    return above


def _in_order(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Tables as a surveyor would write them down, the rest after them as they came."""
    first = [name for name in _ORDER if name in tables]
    return {name: tables[name] for name in (*first, *(n for n in tables if n not in first))}


def _are_tables(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(item, Mapping) for item in value)


def _instruments(picture: Seen) -> dict[str, Any]:
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
            "band_um": list(camera.band_um),
        },
        "hygro": {
            "kind": "thermohygrometer",
            "accuracy_k": AIR_ACCURACY_K,
            "accuracy_percent_rh": 100.0 * HUMIDITY_ACCURACY,
        },
        "outdoor": {"kind": "thermohygrometer", "accuracy_k": OUTDOOR_ACCURACY_K},
        "probe": {"kind": "contact_thermometer", "accuracy_k": CONTACT_ACCURACY_K},
    }


def _frame(picture: Seen, taken_at: datetime) -> dict[str, Any]:
    return {
        "id": picture.frame,
        "file": f"thermal/{picture.frame}.tiff",
        "instrument": "cam",
        "room": "room",
        "subject": "wall",
        "values": "apparent",
        "taken_at": taken_at,
        "scale": SCALE,
        "offset": OFFSET,
        "emissivity": picture.written.emissivity,
        "reflected_temperature_degc": picture.written.reflected_degc,
        "distance_m": round(picture.scene.distance_m, 1),
        "photo": f"photos/{picture.frame}.jpg",
    }


def _reference(picture: Seen) -> dict[str, Any]:
    return {
        "frame": picture.frame,
        "mark": picture.sound.id,
        "kind": "contact",
        "temperature_degc": picture.written.contact_degc,
        "instrument": "probe",
    }


def _marks(picture: Seen, roles: tuple[str, ...]) -> list[Mark]:
    touched = picture.written.contact_degc is not None
    return [
        mark
        for mark in (picture.suspect, picture.sound)
        if mark.role in roles or (touched and mark is picture.sound)
    ]


def _true_frame(picture: Seen) -> dict[str, Any]:
    scene = picture.scene
    return {
        "id": picture.frame,
        "cause": scene.wall.cause,
        **{name: _rounded(getattr(scene, name)) for name in ("emissivity", "reflected_degc", "origin")},
        "things": [thing.name for thing in picture.things],
        "camera": _rounded(asdict(scene.camera)),
        "wall": _rounded(asdict(scene.wall)),
        "stains": [_rounded(asdict(stain)) for stain in scene.stains] or None,
        "heats": [_rounded(asdict(heat)) for heat in scene.heats] or None,
    }


def _rounded(value: Any) -> Any:
    """Plain data to five decimals, for text that is the same on every machine."""
    if isinstance(value, Mapping):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(item) for item in value]
    return round(float(value), 5) if isinstance(value, float) else value


def _readings_csv(readings: Sequence[Mapping[str, Any]]) -> bytes:
    names = ("place", "taken_at", "quantity", "value", "unit", "instrument", "depth_mm", "height_mm")
    stream = io.StringIO(newline="")
    writer = csv.DictWriter(stream, names, lineterminator="\n")
    writer.writeheader()
    writer.writerows(readings)
    return stream.getvalue().encode()
