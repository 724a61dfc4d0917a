"""The door: one folder on disk, checked once, becomes one frozen `Site`."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from thermalkit.errors import OutOfDomain, Problem, ReadingError
from thermalkit.imaging.frame import mask_dead_pixels
from thermalkit.imaging.readers import read_frame
from thermalkit.language import Sentence, say
from thermalkit.site import files
from thermalkit.site.earlier import read_earlier
from thermalkit.site.fields import FileInFolder
from thermalkit.site.frames import (
    frame_notes,
    on_time,
    scale_and_note,
    strip_of,
    strip_scale,
    without_camera_correction,
    without_outlines,
)
from thermalkit.site.hazard_classes import (
    HAZARD_FILE,
    LARGEST_HAZARD_FILE,
    HazardRow,
    hazard_rows_in,
)
from thermalkit.site.loggers import LoggerSeries, read_logger
from thermalkit.site.model import (
    FrameKeys,
    InstrumentKeys,
    LoggerKeys,
    MarkKeys,
    ReadingRow,
    ReferenceKeys,
    RoomKeys,
    SiteKeys,
)
from thermalkit.site.problems import problems_of, shown
from thermalkit.site.readings import READINGS_FILE, readings_in
from thermalkit.site.references import (
    SITE_FILE,
    Entry,
    Location,
    drawn_marks,
    entries,
    named_files,
    reference_problems,
)
from thermalkit.site.sections import in_spreadsheets, site_model
from thermalkit.site.sections.clocks import ClockKeys
from thermalkit.site.spreadsheets import entries_in, spreadsheet, with_rows
from thermalkit.site.survey import Site, SurveyFrame
from thermalkit.site.toml_text import tables_in

MOST_PIXELS = 200_000_000  # of all frames together
MOST_LOGGED_ROWS = 5_000_000  # of all loggers together
MOST_PROBLEMS = 200


@dataclass(slots=True)
class _Reading:
    """What was found in a folder so far."""

    folder: Path
    raw: dict[str, Any] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    hashes: dict[str, str] = field(default_factory=dict)
    notes: list[Sentence] = field(default_factory=list)
    frames: dict[str, SurveyFrame] = field(default_factory=dict)
    sizes: dict[str, tuple[int, int]] = field(default_factory=dict)
    loggers: dict[str, LoggerSeries] = field(default_factory=dict)


def read_site(folder: Path | str) -> Site:
    """Everything in a site folder, checked, with the earlier visit inside it.

    Parameters
    ----------
    folder : path
        The folder that holds `site.toml`.

    Raises
    ------
    ReadingError
        Carries every problem of the folder at once; those of the earlier visit stand in the site
        instead, if this visit can be judged without it.
    """
    folder = Path(folder)
    try:
        site = read_visit(folder)
    except ReadingError as error:
        if not _is_folder(folder):
            raise
        more = read_earlier(folder, None).problems
        raise ReadingError(error.where, [*error.problems, *more]) from None
    found = read_earlier(folder, site.keys.site.surveyed_at)
    return replace(
        site,
        files=MappingProxyType({**site.files, **found.files}),
        notes=(*site.notes, *found.notes),
        earlier=found.site,
        earlier_problems=found.problems,
    )


def read_visit(folder: Path | str) -> Site:
    """A site folder without the earlier visit inside it; raises `ReadingError` with every problem."""
    reading = _Reading(Path(folder))
    if not _is_folder(reading.folder):
        problem = Problem(
            file=shown(str(folder))[1:-1], read=say("site.read.not-a-folder"), fix=say("site.fix.check-path")
        )
        raise ReadingError(str(folder), [problem])
    keys = _read_keys(reading)
    found = entries(site_model(), reading.raw)
    rows = _read_spreadsheets(reading)
    found += rows
    reading.problems += reference_problems(found, reading.raw)
    sound = _check_files(reading, found)
    for entry in found:
        if isinstance(entry.keys, FrameKeys) and (*entry.location, "file") in sound:
            _read_frame(reading, entry, entry.keys, found)
        elif isinstance(entry.keys, LoggerKeys) and (*entry.location, "file") in sound:
            _read_logger(reading, entry, entry.keys)
    _check_marks(reading, found)
    readings = _read_readings(reading, found)
    hazard_classes = _read_hazard_classes(reading)
    if reading.problems or keys is None:
        raise ReadingError(str(folder), _unique(reading.problems))
    return Site(
        folder=reading.folder,
        keys=with_rows(keys, rows),
        frames=MappingProxyType(reading.frames),
        readings=readings,
        loggers=MappingProxyType(reading.loggers),
        files=MappingProxyType(dict(sorted(reading.hashes.items()))),
        notes=tuple(reading.notes),
        hazard_classes=hazard_classes,
    )


def _is_folder(path: Path) -> bool:
    """Whether a folder is there and may be looked at; a name that no system takes is none."""
    try:
        return path.is_dir()
    except OSError:
        return False


def _unique(problems: list[Problem]) -> list[Problem]:
    unique = list({problem.told(): problem for problem in problems}.values())
    if len(unique) <= MOST_PROBLEMS:
        return unique
    rest = len(unique) - MOST_PROBLEMS
    return [
        *unique[:MOST_PROBLEMS],
        Problem(file=SITE_FILE, read=say("site.read.more", count=rest), fix=say("site.fix.these-first")),
    ]


def _read_keys(reading: _Reading) -> SiteKeys | None:
    """Parse and check `site.toml`; None where it has problems."""
    try:
        content = files.file_bytes(reading.folder, SITE_FILE, files.LARGEST_SITE_FILE)
    except ReadingError as error:
        reading.problems += [replace(p, file=SITE_FILE) for p in error.problems]
        return None
    reading.hashes[SITE_FILE] = hashlib.sha256(content).hexdigest()
    try:
        reading.raw = tables_in(content)
        return site_model().model_validate(reading.raw)
    except ValidationError as error:
        reading.problems += problems_of(error, site_model(), SITE_FILE, reading.raw)
    except ReadingError as error:
        reading.problems += error.problems
    return None


def _check_files(reading: _Reading, found: list[Entry]) -> set[Location]:
    """Check and fingerprint every file named; the places of those that can be read."""
    sound: set[Location] = set()
    for entry, key, path, marker in named_files(found):
        try:
            _check_file(reading, path, marker)
            sound.add((*entry.location, *key))
        except ReadingError as error:
            for problem in error.problems:
                read = say("site.read.file-is", file=shown(path), read=problem.read)
                reading.problems.append(entry.problem(reading.raw, key, read, problem.allowed, problem.fix))
    return sound


def _check_file(reading: _Reading, path: str, marker: FileInFolder) -> None:
    if not path.lower().endswith(marker.endings):
        allowed = say("site.allowed.endings", endings=", ".join(marker.endings))
        read = say(f"site.read.not-a-{marker.use}")
        raise ReadingError(path, [Problem(file=path, read=read, allowed=allowed)])
    if path not in reading.hashes:
        reading.hashes[path] = files.file_sha256(reading.folder, path, files.LARGEST[marker.use])
    if marker.use == "photo":
        files.require_photo(reading.folder, path)


def _read_frame(reading: _Reading, entry: Entry, keys: FrameKeys, found: list[Entry]) -> None:
    """Read one frame and undo what the camera corrected."""
    if keys.scale == 0:
        return
    path = files.inner_file(reading.folder, keys.file, files.LARGEST_FRAME)
    try:
        result = read_frame(path, scale=keys.scale, offset=keys.offset, file=keys.file, strip=strip_of(keys))
    except ReadingError as error:
        reading.problems += error.problems
        return
    reading.notes += [say("site.note.of-file", file=keys.file, note=words) for words in result.assumed]
    values, dead = mask_dead_pixels(result.temperature_degc)
    if dead:
        reading.notes.append(
            say("site.note.dead-pixels" if dead > 1 else "site.note.dead-pixel", file=keys.file, count=dead)
        )
    rows, columns = values.shape
    reading.sizes[keys.id] = (rows, columns)
    if sum(r * c for r, c in reading.sizes.values()) > MOST_PIXELS:
        reading.problems.append(entry.problem(reading.raw, "file", say("site.read.too-many-pixels")))
        return
    camera = next((e.keys for e in found if e.location == ("instruments", keys.instrument)), None)
    camera = camera if isinstance(camera, InstrumentKeys) else None
    room = next((e.keys for e in found if isinstance(e.keys, RoomKeys) and e.keys.id == keys.room), None)
    try:
        scale, note = scale_and_note(keys, values, camera, result.strip)
        values = without_outlines(keys, values, scale, result.strip)
        apparent = without_camera_correction(keys, values, camera)
        strip = None if result.strip is None else strip_scale(keys, result.strip, camera)
    except OutOfDomain as error:
        reading.problems.append(
            entry.problem(
                reading.raw, "file", say("site.note.of-file", file=shown(keys.file), note=error.said)
            )
        )
        return
    except ReadingError as error:
        reading.problems += error.problems
        return
    keys, late = on_time(keys, [entry.keys for entry in found if isinstance(entry.keys, ClockKeys)])
    notes = frame_notes(keys, scale, values, result.strip)
    reading.notes += [*notes, *(text for text in (note, late) if text)]
    apparent.setflags(write=False)
    reading.frames[keys.id] = SurveyFrame(
        keys=keys,
        camera=camera,
        room=room if isinstance(room, RoomKeys) else None,
        apparent_degc=apparent,
        pixel_scale=scale,
        path=keys.file,
        photo=keys.photo,
        strip=strip,
    )


def _read_logger(reading: _Reading, entry: Entry, keys: LoggerKeys) -> None:
    """Read one time series."""
    path = files.inner_file(reading.folder, keys.file, files.LARGEST_LOGGER)
    try:
        series = read_logger(path, keys)
    except ReadingError as error:
        reading.problems += error.problems
        return
    reading.notes += [say("site.note.of-file", file=keys.file, note=words) for words in series.assumed]
    reading.loggers[keys.id] = series
    if sum(len(s.table) for s in reading.loggers.values()) > MOST_LOGGED_ROWS:
        reading.problems.append(entry.problem(reading.raw, "file", say("site.read.too-many-logged")))


def _check_marks(reading: _Reading, found: list[Entry]) -> None:
    """Marks lie on their frame; a reference may name a mark that is still to be drawn."""
    drawn = drawn_marks(reading.raw)
    for entry in found:
        if isinstance(entry.keys, MarkKeys) and entry.keys.frame in reading.sizes:
            rows, columns = reading.sizes[entry.keys.frame]
            for i, (row, column) in enumerate(entry.keys.points):
                if not (row <= rows - 0.5 and column <= columns - 0.5):
                    allowed = say("site.allowed.on-frame", rows=rows - 1, columns=columns - 1)
                    read = say("site.read.off-frame", point=f"[{row:g}, {column:g}]")
                    reading.problems.append(entry.problem(reading.raw, ("points", i), read, allowed))
        elif isinstance(entry.keys, ReferenceKeys) and entry.keys.mark:
            mark, frame = entry.keys.mark, entry.keys.frame
            if mark not in drawn.get(frame, []):
                words = say("site.note.to-be-drawn", mark=shown(mark), frame=shown(frame))
                reading.notes.append(words)


def _read_readings(reading: _Reading, found: list[Entry]) -> tuple[ReadingRow, ...]:
    """Rows of `readings.csv`, none where there is no such file."""
    content = _beside(reading, READINGS_FILE, files.LARGEST_READINGS)
    if content is None:
        return ()
    listed = reading.raw.get("instruments")
    kinds: dict[str, str | None] = dict.fromkeys(listed) if isinstance(listed, dict) else {}
    kinds.update({str(e.location[1]): e.keys.kind for e in found if isinstance(e.keys, InstrumentKeys)})
    rows, problems = readings_in(content, kinds if reading.raw else None)
    reading.problems += problems
    return rows


def _read_spreadsheets(reading: _Reading) -> list[Entry]:
    """Entries that stand in spreadsheets, and their part in what the site file says."""
    rows: list[Entry] = []
    for table in in_spreadsheets():
        content = _beside(reading, spreadsheet(table), files.LARGEST_SITE_FILE)
        written = reading.raw.get(table, [])
        if content is None or not isinstance(written, list):
            continue
        found, problems = entries_in(content, table, len(written))
        reading.problems += problems
        if reading.raw:  # without a site file, nothing can be said of what its rows name
            reading.raw = {**reading.raw, table: [*written, *(entry.raw for entry in found)]}
            rows += found
    return rows


def _read_hazard_classes(reading: _Reading) -> tuple[HazardRow, ...]:
    """Rows of `hazard_classes.csv`, none where there is no such file."""
    content = _beside(reading, HAZARD_FILE, LARGEST_HAZARD_FILE)
    if content is None:
        return ()
    rows, problems = hazard_rows_in(content)
    reading.problems += problems
    return rows


def _beside(reading: _Reading, name: str, largest: int) -> bytes | None:
    """A table that may stand beside the site file; None where it does not, or cannot be read."""
    path = reading.folder / name
    if not path.exists() and not path.is_symlink():
        return None
    try:
        content = files.file_bytes(reading.folder, name, largest)
    except ReadingError as error:
        reading.problems += error.problems
        return None
    reading.hashes[name] = hashlib.sha256(content).hexdigest()
    return content
