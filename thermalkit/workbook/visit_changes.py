"""From answers to what may be written: values of the site file, rows of readings, and what is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any

from thermalkit.errors import Problem
from thermalkit.site.asking import READINGS, AskedTable, asked_tables
from thermalkit.site.editing import Place, tables_after
from thermalkit.site.filling import text_of, understood, value_of
from thermalkit.site.problems import MISSING
from thermalkit.site.readings import row_problems
from thermalkit.site.references import SITE_FILE, entries, reference_problems
from thermalkit.site.sections import site_model
from thermalkit.workbook.visit import ORIGIN, PROPOSED, Answers, Visit, plain_row

_PLACE = re.compile(
    r"(?P<table>\w+)(?:\[(?P<number>\d+)\])?(?:\.(?P<name>\"[^\"]*\"|[\w-]+))?(?:\.(?P<key>\w+))?"
)
Reading = Callable[[AskedTable, Mapping[str, str]], tuple[dict[str, Any], dict[str, Problem]]]
Field = tuple[str, int, str]  # table, number of its entry in the form (-1 where there is one), key


@dataclass(slots=True)
class Checked:
    """What may be written of the answers, and what is wrong with the rest.

    `written` holds for each list the number in the file that each entry of the form will have, None
    where it is not written.
    """

    changes: dict[Place, Any] = field(default_factory=dict)
    rows: list[Answers] = field(default_factory=list)
    wrong: dict[Field, Problem] = field(default_factory=dict)
    written: dict[str, list[int | None]] = field(default_factory=dict)

    @property
    def left_out(self) -> int:
        """How many answers are wrong; what is only still empty does not count."""
        return sum(problem.read != MISSING for problem in self.wrong.values())


def checked(answers: Mapping[str, Any], before: Visit) -> Checked:
    """What changed, as values that may be written; what is wrong never reaches a file."""
    misfits: dict[Field, Problem] = {}
    while True:
        found = _checked_singly(answers, before, misfits)
        more = {at: problem for at, problem in _misfits(found, answers, before) if at not in misfits}
        if not more:
            return found
        misfits |= more


def _checked_singly(answers: Mapping[str, Any], before: Visit, misfits: Mapping[Field, Problem]) -> Checked:
    """Each answer by itself, `misfits` being wrong for reasons of their own."""
    read = _reading(answers)
    found = Checked()
    for table in asked_tables():
        if table.table not in answers:
            continue
        if table.table == READINGS:
            _check_readings(found, table, answers, before, read)
        elif table.repeated:
            _check_list(found, table, answers[table.table], before, read, misfits)
        else:
            _check_single(found, table, answers[table.table], before, read)
    return found


def _reading(answers: Mapping[str, Any]) -> Reading:
    """How answers are read: times by the clock of the walk, else this computer's, and on its day if known."""
    fields = next(table.fields for table in asked_tables() if table.table == "site")
    asked = next(item for item in fields if item.key == "surveyed_at")
    start = value_of(asked, str(answers.get("site", {}).get("surveyed_at", "")))
    if isinstance(start, datetime):
        return partial(understood, clock=start.tzinfo or start.astimezone().tzinfo, day=start.date())
    return partial(understood, clock=datetime.now().astimezone().tzinfo)


def is_empty(entry: Mapping[str, str]) -> bool:
    """Whether nothing was typed."""
    return not any(text.strip() for key, text in entry.items() if key not in (ORIGIN, PROPOSED))


def _check_single(found: Checked, table: AskedTable, answers: Answers, before: Visit, read: Reading) -> None:
    name = table.table
    written = before.tables.get(name)
    written = written if isinstance(written, Mapping) else {}
    if is_empty(answers) and name != "site":
        asked = {item.key for item in table.fields}
        if written and written.keys() <= asked:
            found.changes[(name,)] = None
            return
        if not written:
            return
    values, wrong = read(table, answers)
    found.wrong |= {(name, -1, key): problem for key, problem in wrong.items()}
    found.changes |= _key_changes((name,), table, answers, values, wrong, written)


def _key_changes(
    place: Place,
    table: AskedTable,
    answers: Answers,
    values: Mapping[str, Any],
    wrong: Mapping[str, Problem],
    written: Mapping[str, Any],
) -> dict[Place, Any]:
    """Keys of a table whose answer is another than what is written, unless it is wrong."""
    changes: dict[Place, Any] = {}
    for asked in table.fields:
        now, was = answers.get(asked.key, "").strip(), text_of(written.get(asked.key))
        if now != was and asked.key not in wrong:
            changes[(*place, asked.key)] = values[asked.key] if now else None
    return changes


def _check_list(
    found: Checked,
    table: AskedTable,
    listed: list[Answers],
    before: Visit,
    read: Reading,
    misfits: Mapping[Field, Problem],
) -> None:
    name = table.table
    earlier = before.tables.get(name) or ({} if table.named else [])
    places: list[Any] = list(earlier) if isinstance(earlier, Mapping) else list(range(len(earlier)))
    kept = [int(entry[ORIGIN]) for entry in listed if entry.get(ORIGIN)]
    following = len(kept)
    numbers: list[int | None] = []
    for number, entry in enumerate(listed):
        values, wrong = read(table, entry)
        if table.named and not entry.get("id", "").strip():
            wrong = {**wrong, "id": Problem(file=SITE_FILE, read=MISSING)}
        wrong = wrong | {at[2]: problem for at, problem in misfits.items() if at[:2] == (name, number)}
        if not is_empty(entry):
            found.wrong |= {(name, number, key): problem for key, problem in wrong.items()}
        if entry.get(ORIGIN):
            origin = places[int(entry[ORIGIN])]
            numbers.append(kept.index(int(entry[ORIGIN])))
            found.changes |= _key_changes((name, origin), table, entry, values, wrong, earlier[origin])
        elif is_empty(entry) or "id" in wrong:
            numbers.append(None)
        else:
            place: Any = entry["id"].strip() if table.named else len(places) + following - len(kept)
            numbers.append(following)
            following += 1
            found.changes[(name, place)] = {key: v for key, v in values.items() if key not in wrong}
    found.changes |= {(name, origin): None for i, origin in enumerate(places) if i not in kept}
    found.written[name] = numbers


def _check_readings(
    found: Checked, table: AskedTable, answers: Mapping[str, Any], before: Visit, read: Reading
) -> None:
    """Rows that may be written: a row with anything wrong in it stays as it was, a new one waits."""
    named = [entry for entry in answers.get("instruments", []) if entry.get("id", "").strip()]
    instruments = {entry["id"].strip(): entry.get("kind") or None for entry in named}
    numbers: list[int | None] = []
    for number, row in enumerate(answers[READINGS]):
        values, wrong = read(table, row)
        for problem in row_problems(values, instruments):
            wrong.setdefault(str(problem.place), problem)
        earlier = before.lists[READINGS][int(row[ORIGIN])] if row.get(ORIGIN) else None
        plain = plain_row(row)
        if not plain:
            numbers.append(None)
            continue
        if wrong:
            found.wrong |= {(READINGS, number, key): problem for key, problem in wrong.items()}
            plain = plain_row(earlier or {})
        elif earlier is None or plain != plain_row(earlier):
            plain = {key: _cell(value) for key, value in values.items()}
        numbers.append(len(found.rows) if plain else None)
        found.rows += [plain] if plain else []
    found.written[READINGS] = numbers


def _cell(value: Any) -> str:
    """A value as a table with a comma between columns has it."""
    return value.isoformat() if isinstance(value, datetime) else text_of(value)


def _misfits(found: Checked, answers: Mapping[str, Any], before: Visit) -> Iterator[tuple[Field, Problem]]:
    """Changed fields that do not fit the rest of the file, such as a name given twice."""
    after = tables_after(before.tables, found.changes)
    for problem in reference_problems(entries(site_model(), after), after):
        at = located_at(str(problem.place))
        if at is None or at[0] not in found.written:
            continue
        table, written, key = at
        number = found.written[table].index(written)
        origin = answers[table][number].get(ORIGIN)
        if not origin or (table, int(origin), key) in found.changes:
            yield (table, number, key), problem


def located_at(place: str) -> Field | None:
    """The field that the place of a problem names; an entry's number is that in the file.

    Examples
    --------
    >>> located_at('frames[1].scale ("corner")'), located_at("weather.sky"), located_at("row 3")
    (('frames', 1, 'scale'), ('weather', -1, 'sky'), None)
    """
    found = _PLACE.match(place)
    if found is None or not found["name"]:
        return None
    if found["number"] is not None:
        return found["table"], int(found["number"]), found["name"]
    return None if found["key"] else (found["table"], -1, found["name"])
