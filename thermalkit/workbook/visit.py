"""The visit as a form holds it: answers as text, what changed, and the way back into the folder."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.record.whole import write_whole
from thermalkit.site.asking import NAMED, READINGS, AskedTable, asked_tables
from thermalkit.site.editing import edited
from thermalkit.site.files import LARGEST_SITE_FILE, file_bytes
from thermalkit.site.filling import text_of
from thermalkit.site.found import first_moment, proposed, readings_rows
from thermalkit.site.model import ReadingRow
from thermalkit.site.readings import READINGS_FILE
from thermalkit.site.references import SITE_FILE
from thermalkit.site.sections import in_spreadsheets
from thermalkit.site.spreadsheets import spreadsheet
from thermalkit.site.toml_text import tables_in

if TYPE_CHECKING:
    from thermalkit.workbook.visit_changes import Checked

Answers = dict[str, str]
ORIGIN = "#"  # number of the entry in the file; a new one has none
PROPOSED = "?"  # marks an entry that a file proposes


@dataclass(slots=True)
class Visit:
    """What a folder says, as answers.

    `single` holds the answers of each table, `lists` those of each entry of a repeated one; `digest`
    tells whether the file was changed meanwhile.
    """

    folder: Path
    tables: dict[str, Any]
    single: dict[str, Answers] = field(default_factory=dict)
    lists: dict[str, list[Answers]] = field(default_factory=dict)
    digest: str = ""

    def answers(self) -> dict[str, Any]:
        """All answers, to be sent to a screen."""
        return {**self.single, **self.lists}


def read_visit(folder: Path) -> Visit:
    """The visit as it is written down, with an entry for each file that is not named yet.

    Raises
    ------
    ReadingError
        `site.toml` is missing or no TOML; a form cannot mend that.
    """
    content = file_bytes(folder, SITE_FILE, LARGEST_SITE_FILE)
    visit = Visit(folder=folder, tables=tables_in(content), digest=hashlib.sha256(content).hexdigest())
    suggested = proposed(folder, visit.tables)
    for table in _shown(folder):
        written = visit.tables.get(table.table)
        if not table.repeated:
            visit.single[table.table] = _answers(table, written if isinstance(written, Mapping) else {})
            continue
        entries = _written(folder, table, written)
        new = [{**_answers(table, item), PROPOSED: "1"} for item in suggested.get(table.table, [])]
        visit.lists[table.table] = entries + new
    _fill_in_the_start(visit)
    return visit


def _shown(folder: Path) -> list[AskedTable]:
    """Tables that can be shown; those kept in a spreadsheet, and readings of another make, are left to it."""
    elsewhere = {table for table in in_spreadsheets() if (folder / spreadsheet(table)).exists()}
    elsewhere |= set() if readings_rows(folder) is not None else {READINGS}
    return [table for table in asked_tables() if table.table not in elsewhere]


def _written(folder: Path, table: AskedTable, written: Any) -> list[Answers]:
    if table.table == READINGS:
        items: list[Any] = list(readings_rows(folder) or [])
    elif table.named:
        items = (
            [{**item, "id": name} for name, item in written.items()] if isinstance(written, Mapping) else []
        )
    else:
        items = written if isinstance(written, list) else []
    return [
        {**_answers(table, item), ORIGIN: str(i)} for i, item in enumerate(items) if isinstance(item, Mapping)
    ]


def _answers(table: AskedTable, item: Mapping[str, Any]) -> Answers:
    named = {"id": str(item.get("id", ""))} if table.named else {}
    return named | {asked.key: text_of(item[asked.key]) for asked in table.fields if asked.key in item}


def _fill_in_the_start(visit: Visit) -> None:
    """The visit began when the first picture was taken, unless something else is written."""
    site = visit.single.get("site", {})
    first = first_moment(visit.folder)
    if not site.get("surveyed_at") and first is not None:
        site.update({"surveyed_at": text_of(first), PROPOSED: "surveyed_at"})


def save(found: Checked, before: Visit) -> None:
    """Write what may be written into `site.toml` and `readings.csv`.

    Raises
    ------
    WritingError
        The file was changed by somebody else, or cannot be written; what was there stays.
    """
    content = file_bytes(before.folder, SITE_FILE, LARGEST_SITE_FILE)
    if hashlib.sha256(content).hexdigest() != before.digest:
        raise WritingError(say("workbook.visit-changed"))
    if found.changes:
        text = edited(content.decode("utf-8-sig").replace("\r\n", "\n"), found.changes)
        write_whole(before.folder / SITE_FILE, text.encode())
    rows = [plain_row(row) for row in before.lists.get(READINGS, [])]
    if READINGS in found.written and found.rows != [row for row in rows if row]:
        write_whole(before.folder / READINGS_FILE, _csv(found.rows))


def carried(answers: Mapping[str, Any], found: Checked, after: Visit) -> dict[str, Any]:
    """Answers as they were typed, beside what the files hold since they were saved.

    So what was not written stays on the screen, and each entry knows its new place in the file.
    """
    known: dict[str, Any] = after.answers()
    for name, value in answers.items():
        if isinstance(value, Mapping):
            known[name] = dict(value)
        elif name in found.written:
            numbers = found.written[name]
            if name == NAMED:
                ids = [item["id"] for item in after.lists[name]]
                numbers = [
                    None if n is None else ids.index(e["id"]) for n, e in zip(numbers, value, strict=True)
                ]
            known[name] = [_at_origin(entry, n) for entry, n in zip(value, numbers, strict=True)]
    return known


def _at_origin(entry: Answers, number: int | None) -> Answers:
    plain = {key: text for key, text in entry.items() if key != ORIGIN}
    if number is None:
        return plain
    return {key: text for key, text in plain.items() if key != PROPOSED} | {ORIGIN: str(number)}


def _csv(rows: list[Answers]) -> bytes:
    """Rows as a table with a comma between columns."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, list(ReadingRow.model_fields), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


def plain_row(row: Mapping[str, str]) -> Answers:
    """A row of readings without what only the form knows."""
    return {key: text.strip() for key, text in row.items() if key not in (ORIGIN, PROPOSED) and text.strip()}
