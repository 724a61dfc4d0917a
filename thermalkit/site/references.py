"""Ids that must exist, entries that must fit each other.

Every check works on single entries, so that one broken entry does not hide what is wrong with the next.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from thermalkit.errors import Problem
from thermalkit.language import Sentence, Words, say
from thermalkit.site.fields import FileInFolder, Keys, RefersTo
from thermalkit.site.model import MOST_ENTRIES, FrameKeys, InstrumentKeys, MarkKeys, ReferenceKeys
from thermalkit.site.problems import MISSING, choice_of, composed, key_path, listed, meant, shown, table_model

SITE_FILE = "site.toml"
Location = tuple[int | str, ...]
_POINTS = {"pin": (1, 1), "patch": (3, 2000), "trace": (2, 2000)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One table of the file as far as it can be understood, with what was written there.

    `row` is that of a spreadsheet, where it stands in one.
    """

    location: Location
    keys: Keys
    raw: Mapping[str, Any]
    file: str = SITE_FILE
    row: int | None = None

    def problem(
        self, whole: object, key: str | Location, read: Words, allowed: Words = "", fix: Words = ""
    ) -> Problem:
        """A problem of one key of this entry."""
        inner = (key,) if isinstance(key, str) else key
        place: Words = key_path((*self.location, *inner), whole)
        if self.row is not None:
            place = say("site.place.cell", number=self.row, column=key_path(inner))
        return Problem(file=self.file, place=place, read=read, allowed=allowed, fix=fix)


def entries(model: type[Keys], raw: Mapping[str, Any]) -> list[Entry]:
    """Every table of the file, without the keys in it that were refused."""
    found = []
    for name, field in model.model_fields.items():
        table = table_model(field.annotation)
        value = raw.get(name)
        if table is None or value is None:
            continue
        most = next((m.max_length for m in field.metadata if hasattr(m, "max_length")), 1)
        pairs: list[tuple[Location, Any]]
        if isinstance(value, list):
            pairs = [((name, i), item) for i, item in enumerate(value[:most])]
        elif name == "instruments" and isinstance(value, Mapping):
            pairs = [((name, key), item) for key, item in list(value.items())[:most]]
        else:
            pairs = [((name,), value)]
        for location, item in pairs:
            keys = _understood(table, item) if isinstance(item, Mapping) else None
            if keys is not None:
                found.append(Entry(location=location, keys=keys, raw=item))
    return found


def _understood(table: type[Keys], raw: Mapping[str, Any]) -> Keys | None:
    try:
        return table.model_validate(raw)
    except ValidationError as error:
        refused = {detail["loc"][0] for detail in error.errors(include_url=False) if detail["loc"]}
    try:
        return table.model_validate({key: value for key, value in raw.items() if key not in refused})
    except ValidationError:
        return None


def reference_problems(found: list[Entry], raw: Mapping[str, Any]) -> Iterator[Problem]:
    """Ids that are not listed, given twice, or of an instrument of the wrong kind."""
    yield from _repeated(found, raw)
    known: dict[str, dict[str, None]] = {}
    drawn = drawn_marks(raw)
    kinds = {e.location[1]: e.keys.kind for e in found if isinstance(e.keys, InstrumentKeys)}
    for entry in found:
        for key, value, marker in marked_fields(entry.keys, RefersTo):
            if marker.table not in known:
                known[marker.table] = _ids(raw, marker.table)
            ids = known[marker.table]
            if value in marker.words:
                continue
            if value not in ids:
                fix = not_listed(_head(marker), (*marker.words, *ids), value)
                yield entry.problem(raw, key, shown(value), fix=fix)
            elif marker.kinds and kinds.get(value, marker.kinds[0]) not in marker.kinds:
                yield entry.problem(raw, key, of_kind(value, kinds[value]), choice_of(marker.kinds))
    for entry in found:
        if isinstance(entry.keys, InstrumentKeys) and entry.keys.band_um:
            low, high = entry.keys.band_um
            if not low < high:
                yield entry.problem(raw, "band_um", f"[{low:g}, {high:g}]", say("site.allowed.rising"))
        elif isinstance(entry.keys, FrameKeys):
            yield from _frame_problems(entry, entry.keys, raw)
        elif isinstance(entry.keys, MarkKeys):
            yield from _mark_problems(entry, entry.keys, raw)
        elif isinstance(entry.keys, ReferenceKeys):
            yield from _contact_problems(entry, entry.keys, kinds, drawn, raw)


def not_listed(table: str | Sentence, ids: Iterable[str], named: str = "") -> Words:
    """What is listed, where something else was named."""
    ids = list(ids)
    if alike := next((id for id in ids if composed(id) == composed(named)), None):
        return say("site.fix.accents", name=shown(alike))
    names = listed(ids)
    if not names:
        return say("site.fix.none-listed", table=table)
    return say("site.fix.listed", table=table, names=names)


def of_kind(instrument: object, kind: str | None) -> Words:
    """An instrument and what it is."""
    return say("site.read.of-kind", instrument=shown(instrument), kind=str(kind))


def _head(marker: RefersTo) -> str:
    return "[instruments]" if marker.table == "instruments" else f"[[{marker.table}]]"


def marked_fields(keys: Keys, kind: type[Any]) -> Iterator[tuple[Location, Any, Any]]:
    """(path of keys, value, marker) of the fields of `keys` that carry a marker of `kind` and are given."""
    for name, field in type(keys).model_fields.items():
        value = getattr(keys, name)
        marker = _marker(field.annotation, kind) or next(
            (m for m in field.metadata if isinstance(m, kind)), None
        )
        if isinstance(value, str) and marker is not None:
            yield (name,), value, marker
        elif isinstance(value, tuple):
            for i, item in enumerate(value):
                if isinstance(item, Keys):
                    for key, inner, found in marked_fields(item, kind):
                        yield (name, i, *key), inner, found


def _marker(annotation: Any, kind: type[Any]) -> Any:
    for part in (*getattr(annotation, "__metadata__", ()), *getattr(annotation, "__args__", ())):
        if isinstance(part, kind):
            return part
        inner = _marker(part, kind)
        if inner is not None:
            return inner
    return None


def _ids(raw: Mapping[str, Any], table: str) -> dict[str, None]:
    """Ids of a table in the order of the file, broken entries included."""
    value = raw.get(table)
    if table == "instruments":
        return dict.fromkeys(value) if isinstance(value, Mapping) else {}
    items = value if isinstance(value, list) else [value]
    ids = [i["id"] for i in items if isinstance(i, Mapping) and isinstance(i.get("id"), str)]
    return dict.fromkeys(ids)


def _repeated(found: list[Entry], raw: Mapping[str, Any]) -> Iterator[Problem]:
    known = {entry.location: entry for entry in found}
    for table, items in raw.items():
        seen: dict[tuple[object, ...], int] = {}
        for i, item in enumerate(items if isinstance(items, list) else []):
            if not isinstance(item, Mapping) or not isinstance(item.get("id"), str):
                continue
            name = (str(item.get("frame")) if table == "marks" else None, composed(item["id"]))
            if name in seen:
                first = known.get((table, seen[name]))
                row = None if first is None else first.row
                entry = f"{table}[{seen[name]}]" if row is None else say("site.place.row", number=row)
                fix = say("site.fix.used-already", entry=entry)
                here = known.get((table, i)) or Entry(location=(table, i), keys=Keys(), raw=item)
                yield here.problem(raw, "id", shown(item["id"]), fix=fix)
            seen.setdefault(name, i)


def _frame_problems(entry: Entry, keys: FrameKeys, raw: object) -> Iterator[Problem]:
    if keys.values == "camera-corrected":
        for key in ("camera_emissivity", "camera_reflected_temperature_degc"):
            if key not in entry.raw:
                fix = say("site.fix.camera-was-set")
                yield entry.problem(raw, key, MISSING, fix=fix)
    if keys.taken_at and keys.uncovered_at and keys.uncovered_at > keys.taken_at:
        yield entry.problem(
            raw, "uncovered_at", shown(keys.uncovered_at), say("site.allowed.not-after", key="taken_at")
        )
    if keys.scale == 0:
        yield entry.problem(raw, "scale", "0", say("site.allowed.not-zero"))


def _mark_problems(entry: Entry, keys: MarkKeys, raw: object) -> Iterator[Problem]:
    fewest, most = _POINTS[keys.shape]
    if not fewest <= len(keys.points) <= most:
        id = "site.allowed.one-point" if most == 1 else "site.allowed.points"
        allowed = say(id, count=fewest, shape=keys.shape)
        yield entry.problem(raw, "points", say("site.read.points", count=len(keys.points)), allowed)


def _contact_problems(
    entry: Entry,
    keys: ReferenceKeys,
    kinds: Mapping[Any, str],
    drawn: Mapping[str, list[str]],
    raw: Mapping[str, Any],
) -> Iterator[Problem]:
    if keys.kind == "contact" and kinds.get(keys.instrument) == "thermal_camera":
        read = of_kind(keys.instrument, "thermal_camera")
        yield entry.problem(raw, "instrument", read, say("site.allowed.touching"))
    marks = drawn.get(keys.frame, [])
    if keys.mark and keys.mark not in marks and (likely := meant(keys.mark, marks)):
        fix = say("site.fix.not-listed", table="[[marks]]", fix=likely)
        yield entry.problem(raw, "mark", shown(keys.mark), fix=fix)


def drawn_marks(raw: Mapping[str, Any]) -> dict[str, list[str]]:
    """Ids of the marks written in the file, by frame."""
    items = raw.get("marks")
    drawn: dict[str, list[str]] = {}
    for mark in (items if isinstance(items, list) else [])[:MOST_ENTRIES]:
        if isinstance(mark, Mapping) and isinstance(mark.get("id"), str):
            drawn.setdefault(str(mark.get("frame")), []).append(mark["id"])
    return drawn


def named_files(found: list[Entry]) -> Iterator[tuple[Entry, Location, str, FileInFolder]]:
    """(entry, path of keys, file, marker) of every file that the site file names."""
    for entry in found:
        for key, value, marker in marked_fields(entry.keys, FileInFolder):
            yield entry, key, value, marker
