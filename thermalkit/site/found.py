"""What the files in a folder say by themselves: entries to be checked by the surveyor, never taken unseen."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Any

from thermalkit.errors import ReadingError
from thermalkit.imaging.readers import read_frame
from thermalkit.site.asking import asked_tables
from thermalkit.site.csv_table import delimiter_of
from thermalkit.site.files import LARGEST_READINGS, file_bytes
from thermalkit.site.hazard_classes import HAZARD_FILE
from thermalkit.site.loggers import read_logger
from thermalkit.site.model import QUANTITIES, LoggerKeys
from thermalkit.site.readings import READINGS_FILE
from thermalkit.site.spreadsheets import spreadsheets

MOST_FILES = 2000
_HOMES = {"frame": "thermal", "photo": "photos", "logger": "loggers"}
_NOT_OURS = {"record", "annex"}
# Stored numbers to °C, tried in this order where the file does not hold °C already.
_SCALES = ((1.0, -273.15), (0.01, -273.15), (0.1, -273.15), (0.01, 0.0), (0.1, 0.0))
_OUTDOORS = ("outdoor", "outside", "aussen", "außen", "draussen", "draußen")
Entries = dict[str, list[dict[str, Any]]]


def files_found(folder: Path) -> dict[str, list[str]]:
    """Files of the folder by use, as they may be written into the site file."""
    paths = sorted(path.as_posix() for path in _walked(folder))
    return {use: [p for p in paths if _fits(p, use, endings)] for use, endings in _endings().items()}


def _endings() -> dict[str, tuple[str, ...]]:
    fields = [field for table in asked_tables() for field in table.fields if field.form == "file"]
    return {field.options[0]: field.options[1:] for field in fields}


def _walked(folder: Path) -> Iterator[Path]:
    """Relative paths of files in the folder and one level below, a bounded number of them."""
    count, tables = 0, {READINGS_FILE, HAZARD_FILE, *spreadsheets()}
    for path in [*folder.glob("*"), *folder.glob("*/*")]:
        inner = path.relative_to(folder)
        hidden = any(part.startswith(".") for part in inner.parts)
        if hidden or inner.parts[0] in _NOT_OURS or inner.name in tables or not path.is_file():
            continue
        count += 1
        if count > MOST_FILES:
            return
        yield inner


def _fits(path: str, use: str, endings: tuple[str, ...]) -> bool:
    """A fitting name, and not in the folder that is meant for another use."""
    home = PurePosixPath(path).parts[0]
    return path.lower().endswith(endings) and home not in {h for u, h in _HOMES.items() if u != use}


def proposed(folder: Path, tables: Mapping[str, Any]) -> Entries:
    """Entries for files that the site file does not name yet, and for what `readings.csv` mentions.

    Parameters
    ----------
    folder : path
        The site folder.
    tables : mapping
        What `site.toml` holds, valid or not.

    Returns
    -------
    dict
        Lists of entries by table; those of instruments carry their name as `id`.
    """
    rows = readings_rows(folder) or []
    listed = {table: _entries(tables, table) for table in ("rooms", "frames", "loggers", "instruments")}
    found = files_found(folder)
    new: Entries = {"instruments": [], "rooms": [], "frames": [], "loggers": []}
    loggers = [p for p in found["logger"] if _is_new(p, listed["loggers"]) and _is_logger(folder, p)]
    frames = [p for p in found["frame"] if _is_new(p, listed["frames"]) and p not in loggers]
    new["instruments"] = list(_instruments(rows, listed["instruments"], cameras_wanted=bool(frames)))
    new["rooms"] = list(_rooms(rows, listed))
    cameras = [
        str(item["id"])
        for item in listed["instruments"] + new["instruments"]
        if item.get("kind") == "thermal_camera"
    ]
    rooms = [str(item["id"]) for item in listed["rooms"] + new["rooms"] if "id" in item]
    only_room = {"room": rooms[0]} if len(rooms) == 1 else {}
    only_camera = {"instrument": cameras[0]} if len(cameras) == 1 else {}
    for path in frames:
        new["frames"].append({**_frame(folder, path, found["photo"]), **only_room, **only_camera})
    for path in loggers:
        outdoors = any(word in path.lower() for word in _OUTDOORS)
        new["loggers"].append(
            {
                "id": PurePosixPath(path).stem,
                "file": path,
                **({"place": "outdoor"} if outdoors else only_room),
            }
        )
    return new


def first_moment(folder: Path) -> datetime | None:
    """When the first photo or frame was taken, as far as the files tell."""
    found = files_found(folder)
    return min((_moment(folder, path) for path in found["photo"] + found["frame"]), default=None)


def readings_rows(folder: Path) -> list[dict[str, str]] | None:
    """Rows of `readings.csv` as they stand there; None where it is no table that a form can show."""
    path = folder / READINGS_FILE
    if not path.exists():
        return []
    try:
        text = file_bytes(folder, READINGS_FILE, LARGEST_READINGS).decode("utf-8-sig")
        lines = text.splitlines()
        first = lines[0] if lines else ""
        table = csv.reader(lines, delimiter=delimiter_of(first))
        heads = [cell.strip() for cell in next(table, [])]
        rows = [[cell.strip() for cell in row] for row in table if any(cell.strip() for cell in row)]
    except (ReadingError, UnicodeDecodeError, csv.Error):
        return None
    known = {field.key for item in asked_tables() if item.table == "readings" for field in item.fields}
    if not set(heads) <= known or len(set(heads)) != len(heads) or any(len(r) != len(heads) for r in rows):
        return None
    return [dict(zip(heads, row, strict=True)) for row in rows]


def _entries(tables: Mapping[str, Any], table: str) -> list[dict[str, Any]]:
    written = tables.get(table)
    if table == "instruments" and isinstance(written, Mapping):
        return [{**item, "id": name} for name, item in written.items() if isinstance(item, Mapping)]
    return [dict(item) for item in written if isinstance(item, Mapping)] if isinstance(written, list) else []


def _is_new(path: str, entries: list[dict[str, Any]]) -> bool:
    return all(item.get("file") != path for item in entries)


def _is_logger(folder: Path, path: str) -> bool:
    """In its own folder, or a table over time; what is no such table may be a frame as text."""
    if PurePosixPath(path).parts[0] == _HOMES["logger"]:
        return True
    try:
        read_logger(folder / path, LoggerKeys(id="found", file=path, place="room"))
    except (ReadingError, ValueError):
        return False
    return True


def _instruments(
    rows: list[dict[str, str]], listed: list[dict[str, Any]], *, cameras_wanted: bool
) -> Iterator[dict[str, Any]]:
    if cameras_wanted and not any(item.get("kind") == "thermal_camera" for item in listed):
        yield {"id": "cam", "kind": "thermal_camera"}
    known = {item["id"] for item in listed}
    for row in rows:
        name, quantity = row.get("instrument", ""), QUANTITIES.get(row.get("quantity", ""))
        if name and name not in known and quantity and quantity.kinds:
            known.add(name)
            yield {"id": name, "kind": quantity.kinds[0]}


def _rooms(
    rows: list[dict[str, str]], listed: Mapping[str, list[dict[str, Any]]]
) -> Iterator[dict[str, Any]]:
    """Places at which the air was read, with the last reading of each."""
    known = {item.get("id") for table in ("rooms", "frames") for item in listed[table]}
    rooms: dict[str, dict[str, Any]] = {}
    for row in rows:
        key = {
            "air temperature": "air_temperature_degc",
            "relative humidity": "relative_humidity_percent",
        }.get(row.get("quantity", ""))
        if key and row.get("place") and row["place"] not in known:
            room = rooms.setdefault(row["place"], {"id": row["place"]})
            room[key] = row.get("value", "")
            room["instrument"] = row.get("instrument", "")
    yield from rooms.values()


def _frame(folder: Path, path: str, photos: list[str]) -> dict[str, Any]:
    stem = PurePosixPath(path).stem
    photo = next((p for p in photos if PurePosixPath(p).stem == stem), None)
    taken = min(_moment(folder, p) for p in (path, photo) if p)
    entry = {"id": stem, "file": path, "subject": "wall", "taken_at": taken, **_scale(folder, path)}
    return {**entry, "photo": photo} if photo else entry


def _scale(folder: Path, path: str) -> dict[str, float]:
    """Scale and offset that turn the stored numbers into what a building shows."""
    for scale, offset in ((1.0, 0.0), *_SCALES):
        try:
            read_frame(folder / path, scale=scale, offset=offset)
        except ReadingError:
            continue
        return {} if (scale, offset) == (1.0, 0.0) else {"scale": scale, "offset": offset}
    return {}


def _moment(folder: Path, path: str) -> datetime:
    """When a file was taken: from the photo's own note, else when it was last written."""
    written = datetime.fromtimestamp((folder / path).stat().st_mtime).astimezone().replace(microsecond=0)
    return _noted(folder / path) or written


def _noted(path: Path) -> datetime | None:
    if path.suffix.lower() not in (".jpg", ".jpeg"):
        return None
    from PIL import ExifTags, Image

    try:
        with Image.open(path, formats=("JPEG",)) as picture:
            noted = picture.getexif().get_ifd(ExifTags.IFD.Exif)
        moment = datetime.strptime(str(noted[ExifTags.Base.DateTimeOriginal]), "%Y:%m:%d %H:%M:%S")
        offset = str(noted.get(ExifTags.Base.OffsetTimeOriginal, ""))
        return datetime.fromisoformat(moment.isoformat() + offset) if offset else moment.astimezone()
    except (OSError, KeyError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
