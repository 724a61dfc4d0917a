"""A further visit to the same building: what stays is taken over, what was measured is not."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from thermalkit.site.asking import asked_tables
from thermalkit.site.csv_table import CsvTable, csv_table
from thermalkit.site.editing import Place, edited, written
from thermalkit.site.files import LARGEST_SITE_FILE, file_bytes
from thermalkit.site.references import SITE_FILE
from thermalkit.site.sections import in_spreadsheets, staying_keys
from thermalkit.site.spreadsheets import spreadsheet
from thermalkit.site.toml_text import tables_in

_WHOLE = ("surveyor", "report", "limits", "climate", "costs")
_KEPT = {
    "site": ("name", "reference", "country", "question", "climate_mode"),
    "rooms": ("id", "name", "use", "climate_mode", "floor_area_m2", "volume_m3", "open_flued_appliance"),
    "frames": (
        "id",
        "file",
        "subject",
        "values",
        "instrument",
        "room",
        "orientation",
        "far_side",
        "emissivity",
        "distance_m",
    ),
}


def text_again(template: str, old: Path) -> str:
    """The template of a site file with what a further visit has in common with an earlier one.

    Rooms, instruments, elements, cabinets with their circuits, and how the report is written are taken
    over. Frames, with the marks on them, stand commented out as what is to be taken again, under the same
    names, so that both visits can be set side by side. Readings, weather and samples are not taken over.

    Parameters
    ----------
    template : str
        A new site file.
    old : path
        Folder of the earlier visit.

    Raises
    ------
    ReadingError
        Its site file is missing or no TOML.
    WritingError
        It is written in a way that cannot be taken over for sure.
    """
    tables = tables_in(file_bytes(Path(old), SITE_FILE, LARGEST_SITE_FILE))
    changes = dict(_taken_over(tables))
    return edited(template, changes).rstrip("\n") + "\n" + "".join(_to_do(tables))


def spreadsheets_again(old: Path) -> dict[str, str]:
    """The spreadsheets of an earlier visit by name, the cells of what is read anew left empty.

    One that is no table is left out.

    Raises
    ------
    ReadingError
        A file cannot be read.
    """
    texts = {}
    for table in in_spreadsheets():
        name = spreadsheet(table)
        if not (old / name).is_file():
            continue
        asked = next(item for item in asked_tables() if item.table == table)
        keys = [field.key for field in asked.fields]
        found = csv_table(file_bytes(old, name, LARGEST_SITE_FILE), name, keys, ())
        if not found.problems:
            texts[name] = _emptied(found, staying_keys()[table])
    return texts


def _emptied(found: CsvTable, kept: tuple[str, ...]) -> str:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, found.headings, delimiter=found.delimiter, lineterminator="\n")
    writer.writeheader()
    writer.writerows({key: cell for key, cell in row.items() if key in kept} for row in found.rows.values())
    return text.getvalue()


def _taken_over(tables: Mapping[str, Any]) -> Iterator[tuple[Place, Any]]:
    for table in ("site", *_WHOLE):
        for key, value in _table(tables, table).items():
            if table in _WHOLE or key in _KEPT[table]:
                yield (table, key), value
    for name, instrument in _table(tables, "instruments").items():
        yield ("instruments", name), instrument
    for table in ("rooms", "elements", *staying_keys()):
        for i, item in enumerate(_items(tables, table)):
            yield (table, i), _part(table, item)


def _table(tables: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = tables.get(name)
    return found if isinstance(found, Mapping) else {}


def _items(tables: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    found = tables.get(name)
    return [item for item in found if isinstance(item, Mapping)] if isinstance(found, list) else []


def _part(table: str, item: Mapping[str, Any]) -> dict[str, Any]:
    kept = _KEPT.get(table) or staying_keys().get(table) or item
    return {key: value for key, value in item.items() if key in kept}


def _to_do(tables: Mapping[str, Any]) -> Iterator[str]:
    """Frames to be taken again with their marks, every line commented out."""
    frames = _items(tables, "frames")
    if frames:
        yield "\n# ---------------------------------------------------------------- to be taken again\n"
        yield "# From the same place, under the same name. Take the # away once the frame is there.\n"
    for frame in frames:
        yield _commented("frames", _part("frames", frame))
        for mark in _items(tables, "marks"):
            if mark.get("frame") == frame.get("id"):
                yield _commented("marks", mark)


def _commented(table: str, item: Mapping[str, Any]) -> str:
    lines = f"[[{table}]]\n{written(item)}".splitlines()
    return "".join(f"#{line}\n" for line in lines) + "\n"
