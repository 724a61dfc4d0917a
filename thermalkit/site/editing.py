"""Changes to the text of `site.toml` that leave its comments and all else as they are.

A key that stands commented out in its table is put in that place, and a table of the template below
its example. Whatever the text looks like, the result is read again and must hold exactly what was
asked for.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Comment, Key, Table, Whitespace

from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.site.toml_text import tables_in

Place = tuple[str | int, ...]
_RULER = re.compile(r"^# -{5}.*$", re.MULTILINE)
_LISTS_SHORTER_THAN = 12


def edited(text: str, changes: Mapping[Place, Any]) -> str:
    r"""The text of a site file with other values in it.

    Parameters
    ----------
    text : str
        As it stands in the file.
    changes : mapping
        From a place, such as `("site", "name")`, `("rooms", 0, "name")` or `("instruments", "cam")`, to
        its new value; None takes a key or an entry away. The number just after the last entry of a
        table adds one, made of a mapping of its keys.

    Raises
    ------
    WritingError
        The text is written in a way that cannot be changed for sure.

    Examples
    --------
    >>> print(edited('[site]\n# shown to the client\n#name = "..."\n', {("site", "name"): "Row 14"}), end="")
    [site]
    # shown to the client
    name = "Row 14"
    """
    for place, value in _in_order(changes):
        wanted = _wanted(text, place, value)
        for way in () if wanted is None else (_below_its_example, _cut_out, _in_the_document):
            try:
                changed = way(text, place, value)
            except (TOMLKitError, KeyError, IndexError, TypeError, ValueError, AttributeError):
                continue
            if changed is not None and wanted is not None and _holds(changed, wanted):
                text = changed
                break
        else:
            where = ".".join(str(part) for part in place)
            raise WritingError(say("site.not-editable", where=where))
    return text


def tables_after(tables: Mapping[str, Any], changes: Mapping[Place, Any]) -> dict[str, Any]:
    """What the tables of a file hold once changes, as `edited` takes them, are made."""
    after = dict(tables)
    for place, value in _in_order(changes):
        after = _changed(after, place, value)
    return after


def _in_order(changes: Mapping[Place, Any]) -> Iterator[tuple[Place, Any]]:
    """Entries are taken away last, the later ones first, so that the numbers of the others hold."""
    gone = [p for p, value in changes.items() if value is None and len(p) > 1 and isinstance(p[-1], int)]
    yield from ((p, value) for p, value in changes.items() if p not in gone)
    yield from ((p, None) for p in sorted(gone, key=lambda p: (str(p[0]), p[-1]), reverse=True))


def _wanted(text: str, place: Place, value: Any) -> dict[str, Any] | None:
    """What the file should hold afterwards; None where there is no such place in it."""
    try:
        return _changed(tables_in(text.encode("utf-8", "replace")), place, value)
    except (TypeError, KeyError, IndexError, AttributeError):
        return None


def _holds(text: str, wanted: Mapping[str, Any]) -> bool:
    from thermalkit.errors import ReadingError

    try:
        return tables_in(text.encode("utf-8")) == wanted
    except ReadingError:
        return False


def _changed(tables: dict[str, Any], place: Place, value: Any) -> dict[str, Any]:
    """What the tables of the file should be afterwards."""
    tables = copy.deepcopy(tables)
    here: Any = tables
    for part, following in pairwise(place):
        if isinstance(part, str):
            here = here.setdefault(part, [] if isinstance(following, int) else {})
        else:
            here = here[part]
    last: Any = place[-1]
    if value is None:
        here.pop(last) if isinstance(here, list) else here.pop(last, None)
        if not here and isinstance(here, list):
            tables.pop(str(place[0]))
    elif isinstance(here, list) and last == len(here):
        here.append(value)
    else:
        here[last] = value
    return tables


def _below_its_example(text: str, place: Place, value: Any) -> str | None:
    """A new entry or table, written where the template has its example commented out."""
    if value is None or len(place) > 2:
        return None
    if not isinstance(value, Mapping):
        if len(place) < 2 or place[0] in tables_in(text.encode("utf-8", "replace")):
            return None
        place, value = place[:1], {str(place[1]): value}
    head = f"[[{place[0]}]]" if isinstance(place[-1], int) else f"[{_dotted(place)}]"
    example = re.search(rf"^#\[\[?{re.escape(str(place[0]))}(\.[\w-]+)?\]\]?\s*$", text, re.MULTILINE)
    if example is None:
        return None
    ruler = _RULER.search(text, example.end())
    at = ruler.start() if ruler else len(text)
    before, after = text[:at].rstrip("\n"), text[at:]
    return f"{before}\n\n{head}\n{written(value)}\n{after}".rstrip("\n") + "\n"


def _dotted(place: Sequence[str | int]) -> str:
    return ".".join(tomlkit.key(str(part)).as_string() for part in place)


def written(value: Mapping[str, Any]) -> str:
    """Keys and values as lines of a table."""
    return "".join(
        f"{tomlkit.key(key).as_string()} = {_item(inner).as_string()}\n" for key, inner in value.items()
    )


def _item(value: Any) -> Any:
    """A value as it is written; tables inside an entry stay on one line."""
    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        inline.update({key: _item(inner) for key, inner in value.items()})
        return inline
    if isinstance(value, (list, tuple)):
        array = tomlkit.array()
        array.extend(_item(inner) for inner in value)
        return array.multiline(len(value) > _LISTS_SHORTER_THAN)
    return tomlkit.datetime(value.isoformat()) if isinstance(value, datetime) else tomlkit.item(value)


def _cut_out(text: str, place: Place, value: Any) -> str | None:
    """Without one entry, but with the remarks that follow it, which belong to what comes next."""
    if value is not None:
        return None
    entry: Any = tomlkit.parse(text)
    for part in place:
        entry = entry[part]
    if not isinstance(entry, Table):
        return None
    number = place[-1] if isinstance(place[-1], int) else 0
    name = re.escape(f"[[{place[0]}]]" if isinstance(place[-1], int) else f"[{_dotted(place)}]")
    head = list(re.finditer(rf"^{name}.*\n", text, re.MULTILINE))[number]
    body = entry.as_string()
    if not text[head.end() :].startswith(body):
        return None
    last = max(i for i, (key, _) in enumerate(entry.value.body) if key is not None)
    rest = "".join(part.as_string() for _, part in entry.value.body[last + 1 :])
    return text[: head.start()] + rest.lstrip("\n") + text[head.end() + len(body) :]


def _in_the_document(text: str, place: Place, value: Any) -> str:
    """Any change; new tables stand at the end."""
    document = tomlkit.parse(text)
    here: Any = document
    for part, following in pairwise(place):
        if isinstance(part, str) and part not in here:
            here.append(
                part, tomlkit.aot() if isinstance(following, int) else tomlkit.table(part == "instruments")
            )
        here = here[part]
    last = place[-1]
    if value is None:
        del here[last]
        if isinstance(here, AoT) and not len(here):
            del document[str(place[0])]
    elif isinstance(value, Mapping):
        _put_table(here, last, value)
    elif last in here or not isinstance(here, Table):
        here[last] = _with_comment(here.get(last), _item(value))
    else:
        _put_key(here, str(last), _item(value))
    return tomlkit.dumps(document)


def _put_table(here: Any, last: str | int, value: Mapping[str, Any]) -> None:
    table = tomlkit.table()
    for key, inner in value.items():
        table.append(key, _item(inner))
    table.add(tomlkit.nl())
    here.append(table) if isinstance(here, AoT) else here.append(last, table)


def _with_comment(before: Any, item: Any) -> Any:
    """The remark at the end of a line stays."""
    trivia = getattr(before, "trivia", None)
    if trivia is not None:
        item.trivia.comment_ws, item.trivia.comment = trivia.comment_ws, trivia.comment
    return item


def _put_key(table: Table, key: str, item: Any) -> None:
    """In place of its commented-out line, else after the last key, with blank lines and remarks below."""
    body = list(table.value.body)
    commented = [i for i, (_, part) in enumerate(body) if _comments_out(part, key)]
    used = [i for i, (name, _) in enumerate(body) if name is not None]
    at = commented[0] if commented else (used[-1] + 1 if used else 0)
    parts: list[tuple[Key | None, Any]] = [
        *body[:at],
        (tomlkit.key(key), item),
        *body[at + bool(commented) :],
    ]
    for name, _ in body:
        if name is not None:
            table.remove(name)
    table.value.body.clear()
    for name, part in parts:
        if name is None and isinstance(part, (Comment, Whitespace)):
            table.value.body.append((None, part))
        else:
            table.append(name, part)


def _comments_out(part: Any, key: str) -> bool:
    return (
        isinstance(part, Comment) and re.match(rf"#\s?{re.escape(key)}\s*=", part.trivia.comment) is not None
    )
