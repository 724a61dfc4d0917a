"""The record: every decision of an investigation, in the order it was made.

`record/<kind>.json` inside the site folder. The last entry of a step counts; earlier ones stay.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from filelock import FileLock, Timeout
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from thermalkit import __version__
from thermalkit.diagnosis.decisions import Step
from thermalkit.diagnosis.run import Answer, Answering, Proposing
from thermalkit.errors import Problem, ReadingError, WritingError, printable
from thermalkit.language import Words, say
from thermalkit.record.fingerprint import fingerprint
from thermalkit.record.whole import write_whole
from thermalkit.site.earlier import EARLIER

SCHEMA = 1
LARGEST_BYTES = 20_000_000
MOST_ENTRIES = 100_000
LONGEST_TEXT = 2000


class Entry(BaseModel):
    """One decision: what was decided, what had been proposed, why, by whom and when."""

    model_config = ConfigDict(frozen=True, extra="forbid", ser_json_inf_nan="constants")

    step: str = Field(max_length=100)
    value: Any
    proposed: Any = None
    reason: str = Field(default="", max_length=LONGEST_TEXT)
    by: str = Field(default="", max_length=LONGEST_TEXT)
    at: AwareDatetime
    inputs: str = Field(pattern=r"^sha256:[0-9a-f]{64}$")
    thermalkit: str = Field(max_length=50)


class _RecordFile(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    schema_: Literal[1] = Field(alias="schema")
    kind: str
    entries: tuple[Entry, ...] = Field(max_length=MOST_ENTRIES)


class RecordChanged(WritingError):
    """Somebody else wrote the record since it was read here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Decisions as read from disk; `digest` is that of the bytes they were read from, None if absent.

    `earlier` holds the decisions of the earlier visit; None where there is none, or where its record has
    `earlier_problems`.
    """

    path: Path
    kind: str
    entries: tuple[Entry, ...] = ()
    digest: str | None = None
    earlier: Record | None = None
    earlier_problems: tuple[Problem, ...] = ()

    def last(self, step: str) -> Entry | None:
        """The entry that counts."""
        return next((entry for entry in reversed(self.entries) if entry.step == step), None)


def read_record(folder: Path, kind: str) -> Record:
    """The record of a site, with that of the earlier visit inside it; empty where none was written yet.

    Raises
    ------
    ReadingError
        It is not a record of this kind and schema. Nothing is rewritten.
    """
    record = _read(Path(folder), kind)
    inner = Path(folder) / EARLIER
    if inner.is_symlink() or not inner.is_dir():
        return record
    try:
        return replace(record, earlier=_read(inner, kind))
    except ReadingError as error:
        problems = tuple(replace(problem, file=f"{EARLIER}/{problem.file}") for problem in error.problems)
        return replace(record, earlier_problems=problems)


def _read(folder: Path, kind: str) -> Record:
    return read_record_file(folder / "record" / f"{kind}.json", kind)


def read_record_file(path: Path, kind: str) -> Record:
    """A record wherever its file lies, such as one that was handed in; empty where there is no file.

    Raises
    ------
    ReadingError
        It is not a record of this kind and schema.
    """
    data = _bytes(path)
    if data is None:
        return Record(path=path, kind=kind)
    try:
        content = json.loads(data, parse_constant=_refuse_constant)
        if isinstance(content, dict) and content.get("schema") != SCHEMA:
            raise _unreadable(
                path,
                f"schema = {content.get('schema')!r:.40}",
                f"schema = {SCHEMA}",
                say("record.fix.other-version"),
            )
        read = _RecordFile.model_validate(content)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise _unreadable(path, f"{place}: {first['msg']}"[:300], say("record.allowed.entries")) from error
    except (ValueError, RecursionError) as error:
        raise _unreadable(
            path, say("record.read.not-json", reason=type(error).__name__), say("record.allowed.json")
        ) from error
    if read.kind != kind:
        raise _unreadable(path, f"kind = {read.kind!r:.40}", repr(kind))
    return Record(path=path, kind=kind, entries=read.entries, digest=_digest(data))


def with_decision(
    record: Record,
    step: Step,
    value: Any,
    *,
    proposed: Any,
    inputs: Any,
    by: str,
    at: AwareDatetime,
    reason: str = "",
) -> Record:
    """The record with one more entry; nothing is written.

    Raises
    ------
    WritingError
        The reason or the name is too long, or no text.
    """
    try:
        entry = Entry(
            step=step.name,
            value=value,
            proposed=proposed,
            reason=reason,
            by=by,
            at=at,
            inputs=fingerprint(inputs),
            thermalkit=__version__,
        )
    except ValidationError as error:
        place, message = error.errors()[0]["loc"][0], error.errors()[0]["msg"]
        raise WritingError(say("record.no-entry", place=str(place), message=printable(message))) from error
    return replace(record, entries=(*record.entries, entry))


def save_record(record: Record) -> Record:
    """Write the record, provided that nobody else wrote it since it was read.

    Raises
    ------
    RecordChanged
        The file on disk is not the one that was read; nothing is merged.
    WritingError
        The folder is full, read-only or gone; what was there stays.
    """
    data, path = record_bytes(record), printable(str(record.path))
    if not record.path.parent.parent.is_dir():
        raise WritingError(say("record.folder-gone", folder=printable(str(record.path.parent.parent))))
    try:
        record.path.parent.mkdir(exist_ok=True)
        with _locked(record):
            on_disk = _bytes(record.path)
            if (None if on_disk is None else _digest(on_disk)) != record.digest:
                raise RecordChanged(say("record.changed", path=path))
            write_whole(record.path, data)
    except Timeout as error:
        raise WritingError(say("record.busy", path=path)) from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise WritingError(say("record.not-written", path=path, reason=reason)) from error
    return replace(record, digest=_digest(data))


def record_bytes(record: Record) -> bytes:
    """The record as it stands in its file.

    Raises
    ------
    WritingError
        It could not be read again: too large, or it holds what is no text or number of a record.
    """
    try:
        entries = [entry.model_dump(mode="json") for entry in record.entries]
        content = {"schema": SCHEMA, "kind": record.kind, "entries": entries}
        data = (json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
    except ValueError as error:
        raise WritingError(say("record.no-such-value", kind=record.kind)) from error
    if len(data) > LARGEST_BYTES or len(record.entries) > MOST_ENTRIES:
        raise WritingError(
            say("record.too-large", kind=record.kind, count=LARGEST_BYTES, entries=MOST_ENTRIES)
        )
    return data


@contextmanager
def _locked(record: Record) -> Iterator[None]:
    """Keep other writers out; the lock is taken away while it is still held, so nothing is left behind."""
    lock = record.path.with_name(f".{record.kind}.lock")
    with FileLock(lock, timeout=5):
        try:
            yield
        finally:
            with suppress(OSError):  # a system that keeps open files: it stays, empty
                lock.unlink()


def replay(record: Record) -> Answering:
    """Answer each step from the record; where it has no valid entry, with the proposal."""

    def answer(step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
        entry = record.last(step.name)
        if entry is None:
            return Answer(value=propose(), state="missing")
        if entry.inputs != fingerprint(inputs):
            return Answer(value=propose(), state="stale")
        return Answer(value=entry.value, state="decided")

    return answer


def recall(record: Record) -> Answering:
    """Answer each step of the earlier visit as it was decided then.

    A decision whose inputs have changed since still tells what was meant, and nobody can decide it again:
    it is kept where it still is an answer, but counts as confirmed by nobody.
    """
    earlier = record.earlier

    def answer(step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
        entry = earlier.last(step.name) if earlier is not None else None
        if entry is None:
            return Answer(value=propose(), state="missing")
        fits = entry.inputs == fingerprint(inputs)
        return Answer(value=entry.value, state="decided" if fits else "stale")

    return answer


def _bytes(path: Path) -> bytes | None:
    """The bytes of a regular file of bounded size; None where there is none."""
    if path.is_symlink() or path.parent.is_symlink():
        raise _unreadable(path, say("record.read.link"), say("record.allowed.own-file"))
    if not path.exists():
        return None
    if not path.is_file():
        raise _unreadable(path, say("record.read.no-file"), say("record.allowed.file"))
    if path.stat().st_size > LARGEST_BYTES:
        raise _unreadable(
            path,
            say("record.read.bytes", count=path.stat().st_size),
            say("record.allowed.bytes", count=LARGEST_BYTES),
        )
    try:
        return path.read_bytes()
    except OSError as error:
        raise _unreadable(
            path, error.strerror or type(error).__name__, say("record.allowed.readable")
        ) from error


def _refuse_constant(name: str) -> None:
    raise ValueError(f"{name} is no number of a record")


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _unreadable(path: Path, read: Words, allowed: Words, fix: Words = "") -> ReadingError:
    return ReadingError(str(path), [Problem(file=f"record/{path.name}", read=read, allowed=allowed, fix=fix)])
