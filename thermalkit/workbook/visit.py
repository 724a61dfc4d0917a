"""The visit as a form holds it: answers as text, what changed, and the way back into the folder."""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from thermalkit.errors import WritingError, printable
from thermalkit.record.whole import write_whole
from thermalkit.site.asking import READINGS, AskedTable, asked_tables
from thermalkit.site.editing import Place, edited
from thermalkit.site.files import LARGEST_SITE_FILE, file_bytes
from thermalkit.site.filling import text_of, understood
from thermalkit.site.found import first_moment, proposed, readings_rows
from thermalkit.site.readings import READINGS_FILE
from thermalkit.site.references import SITE_FILE
from thermalkit.site.toml_text import tables_in

Answers = dict[str, str]
ORIGIN = "#"  # number of the entry in the file; a new one has none
PROPOSED = "?"  # marks an entry that a file proposes
_PLACE = re.compile(
    r"(?P<table>\w+)(?:\[(?P<number>\d+)\])?(?:\.(?P<name>\"[^\"]*\"|[\w-]+))?(?:\.(?P<key>\w+))?"
)


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
    """Tables that can be shown; readings of another make are left to a spreadsheet."""
    readable = readings_rows(folder) is not None
    return [table for table in asked_tables() if table.table != READINGS or readable]


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


def checked(answers: Mapping[str, Any], before: Visit) -> tuple[dict[Place, Any], list[list[Any]]]:
    """What changed, as values that may be written; and messages as (table, number, key, text).

    A single table has number -1. What has a message is no change, so that it never reaches the file.
    """
    clock = _clock(answers, before)
    changes: dict[Place, Any] = {}
    messages: list[list[Any]] = []
    for table in asked_tables():
        if table.table not in answers or table.table == READINGS:
            continue
        if not table.repeated:
            values, wrong = understood(table, answers[table.table], clock)
            is_untouched = not values and not any(answers[table.table].values()) and table.table != "site"
            messages += [] if is_untouched else [[table.table, -1, key, text] for key, text in wrong.items()]
            changes |= _single_changes(table, answers[table.table], values, wrong, before)
        else:
            found, wrong_ones = _list_changes(table, answers[table.table], before, clock)
            changes |= found
            messages += wrong_ones
    for number, row in enumerate(answers.get(READINGS, [])):
        _, wrong = understood(_table(READINGS), row, clock)
        messages += [[READINGS, number, key, text] for key, text in wrong.items() if not _is_empty(row)]
    return changes, messages


def _clock(answers: Mapping[str, Any], before: Visit) -> Any:
    """The clock of the walk: that of its start, else this computer's."""
    text = str(answers.get("site", {}).get("surveyed_at", ""))
    try:
        start = datetime.fromisoformat(text)
    except ValueError:
        start = datetime.now()
    return start.tzinfo or start.astimezone().tzinfo


def _table(name: str) -> AskedTable:
    return next(table for table in asked_tables() if table.table == name)


def _is_empty(entry: Mapping[str, str]) -> bool:
    return not any(text.strip() for key, text in entry.items() if key not in (ORIGIN, PROPOSED))


def _single_changes(
    table: AskedTable, answers: Answers, values: Mapping[str, Any], wrong: Mapping[str, str], before: Visit
) -> dict[Place, Any]:
    written = before.tables.get(table.table)
    written = written if isinstance(written, Mapping) else {}
    left = {key: value for key, value in written.items() if key not in {a.key for a in table.fields}}
    if written and not left and _is_empty(answers) and table.table != "site":
        return {(table.table,): None}
    return _key_changes((table.table,), table, answers, values, wrong, written)


def _key_changes(
    place: Place,
    table: AskedTable,
    answers: Answers,
    values: Mapping[str, Any],
    wrong: Mapping[str, str],
    written: Mapping[str, Any],
) -> dict[Place, Any]:
    """Keys of a table whose answer is another than what is written."""
    changes: dict[Place, Any] = {}
    for asked in table.fields:
        now, was = answers.get(asked.key, "").strip(), text_of(written.get(asked.key))
        if now == was:
            continue
        if not now:
            changes[(*place, asked.key)] = None
        elif asked.key not in wrong:
            changes[(*place, asked.key)] = values[asked.key]
    return changes


def _list_changes(
    table: AskedTable, entries: list[Answers], before: Visit, clock: Any
) -> tuple[dict[Place, Any], list[list[Any]]]:
    changes: dict[Place, Any] = {}
    messages: list[list[Any]] = []
    written = before.tables.get(table.table) or ({} if table.named else [])
    places: list[Any] = list(written) if isinstance(written, Mapping) else list(range(len(written)))
    following = len(places)
    kept = set()
    for number, entry in enumerate(entries):
        values, wrong = understood(table, entry, clock)
        if table.named and not entry.get("id", "").strip():
            wrong = {**wrong, "id": "Needed."}
        if entry.get(ORIGIN):
            origin = places[int(entry[ORIGIN])]
            kept.add(origin)
            changes |= _key_changes((table.table, origin), table, entry, values, wrong, written[origin])
        elif not _is_empty(entry) and "id" not in wrong:
            place: Any = entry["id"].strip() if table.named else following
            following += 1
            changes[(table.table, place)] = values
        if not _is_empty(entry):
            messages += [[table.table, number, key, text] for key, text in wrong.items()]
    changes |= {(table.table, origin): None for origin in places if origin not in kept}
    return changes, messages


def save(answers: Mapping[str, Any], before: Visit) -> int:
    """Write what changed into `site.toml` and `readings.csv`; how many answers could not be written.

    Raises
    ------
    WritingError
        The file was changed by somebody else, or cannot be written; what was there stays.
    """
    content = file_bytes(before.folder, SITE_FILE, LARGEST_SITE_FILE)
    if hashlib.sha256(content).hexdigest() != before.digest:
        raise WritingError(
            "site.toml was changed by another window or program. Run this cell again to see it as it is now; "
            "nothing was written."
        )
    changes, messages = checked(answers, before)
    if changes:
        text = edited(content.decode("utf-8-sig").replace("\r\n", "\n"), changes)
        write_whole(before.folder / SITE_FILE, text.encode())
    if READINGS in answers and _rows(answers[READINGS]) != _rows(before.lists.get(READINGS, [])):
        write_whole(before.folder / READINGS_FILE, _csv(answers[READINGS]))
    needed = [message for message in messages if not str(message[3]).startswith("Needed.")]
    return len([message for message in needed if message[0] != READINGS])


def _rows(entries: list[Answers]) -> list[Answers]:
    """Rows without what only the form knows."""
    plain = (
        {key: text for key, text in e.items() if key not in (ORIGIN, PROPOSED) and text} for e in entries
    )
    return [row for row in plain if row]


def _csv(entries: list[Answers]) -> bytes:
    """Rows as a table with a comma between columns and decimal points."""
    table = _table(READINGS)
    text = io.StringIO(newline="")
    keys = list(table.model.model_fields)
    numbers = {asked.key for asked in table.fields if asked.form == "number"}
    writer = csv.DictWriter(text, keys, lineterminator="\n")
    writer.writeheader()
    for row in _rows(entries):
        writer.writerow(
            {
                key: value.replace(",", ".")
                if key in numbers
                else value.replace(" ", "T", 1)
                if key == "taken_at"
                else value
                for key, value in row.items()
            }
        )
    return text.getvalue().encode()


def located(places: Mapping[str, str]) -> Iterator[list[Any]]:
    """Problems of the folder as messages beside fields, where their place names one."""
    for place, text in places.items():
        found = _PLACE.match(place)
        if found and found["number"] is not None and found["name"]:
            yield [found["table"], int(found["number"]), found["name"], text]
        elif found and found["name"] and not found["key"]:
            yield [found["table"], -1, found["name"], printable(text)]
