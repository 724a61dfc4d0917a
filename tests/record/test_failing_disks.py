"""Disks that are full, read-only or gone: one sentence, and what was there stays."""

from __future__ import annotations

import errno
import multiprocessing
import os
import subprocess
from dataclasses import replace

import pytest

import thermalkit.record.whole as whole
from thermalkit.errors import WritingError
from thermalkit.record.store import LARGEST_BYTES, MOST_ENTRIES, RecordChanged, read_record, save_record


@pytest.fixture
def small_disk(tmp_path):
    """A mounted disk of 64 kB to fill or to make read-only."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    try:
        mounted = subprocess.run(command, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        mounted = False
    if not mounted:
        pytest.skip("disks can be mounted by an administrator only")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_full_disk_keeps_the_record(small_disk, decide, saved):
    """The save that no longer fits is refused in one sentence; the one before stands, nothing beside it."""
    record = saved(small_disk)
    before = contents(small_disk / "record")
    with pytest.raises(WritingError, match="No space left on device") as refused:
        save_record(decide(record, "x" * 100_000))
    assert "\n" not in str(refused.value)
    assert contents(small_disk / "record") == before == {"damp.json": before["damp.json"]}
    assert save_record(decide(record, "fits again")).last("remark").value == "fits again"


def test_a_read_only_disk_keeps_the_record(small_disk, decide, saved):
    """A folder that became read-only is refused in one sentence."""
    record = saved(small_disk)
    before = contents(small_disk / "record")
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(WritingError, match="Read-only file system") as refused:
        save_record(decide(record))
    assert "\n" not in str(refused.value)
    assert contents(small_disk / "record") == before


@pytest.mark.parametrize("call", ["mkstemp", "fsync"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EIO, errno.EDQUOT])
def test_every_failure_of_a_disk_keeps_the_record(tmp_path, decide, saved, monkeypatch, call, number):
    """Whatever the system answers, at the start or at the end of writing."""
    record = saved(tmp_path)
    before = contents(tmp_path / "record")

    def failing(*_, **__):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(whole.tempfile if call == "mkstemp" else whole.os, call, failing)
    with pytest.raises(WritingError, match=os.strerror(number)):
        save_record(decide(record))
    assert contents(tmp_path / "record") == before


def test_a_folder_that_cannot_be_synced_is_no_failure(tmp_path, decide, saved, monkeypatch):
    """Once renamed the new record stands there, and the session must know it."""
    record = saved(tmp_path)

    def refused(_):
        raise OSError(errno.EINVAL, "Invalid argument")

    monkeypatch.setattr(whole, "_sync_folder", refused)
    record = save_record(decide(record, "second"))
    assert save_record(decide(record, "third")).last("remark").value == "third"


def test_a_renamed_folder_is_one_sentence_and_untouched(tmp_path, decide, saved):
    """A folder renamed under a running session is not made anew."""
    (tmp_path / "site").mkdir()
    record = saved(tmp_path / "site")
    (tmp_path / "site").rename(tmp_path / "moved")
    with pytest.raises(WritingError, match=r"site is gone\. Nothing was written\."):
        save_record(decide(record))
    assert not (tmp_path / "site").exists()
    assert read_record(tmp_path / "moved", "damp").entries == record.entries


def test_a_record_taken_away_is_told(tmp_path, decide, saved):
    """A record that vanished is not written anew without a word."""
    record = saved(tmp_path)
    record.path.unlink()
    with pytest.raises(RecordChanged):
        save_record(decide(record))
    assert not record.path.exists()


def test_a_file_in_place_of_the_folder_is_told(tmp_path, decide):
    (tmp_path / "record").write_text("in the way")
    with pytest.raises(WritingError, match="could not be written"):
        save_record(decide(read_record(tmp_path, "damp")))


@pytest.mark.parametrize("value", ["\ud800", {"a": float("nan")}, {"a": ["\udfff"]}, {"\ud800": 1}])
def test_what_no_file_can_hold_is_refused(tmp_path, decide, saved, value):
    """A lone surrogate or NaN in a decision is one sentence; the record before stands."""
    record = saved(tmp_path)
    before = record.path.read_bytes()
    with pytest.raises(WritingError, match="no file can hold"):
        save_record(decide(record, value))
    assert record.path.read_bytes() == before


@pytest.mark.parametrize("more", [{"reason": "x" * 2001}, {"by": "x" * 2001}, {"reason": "\ud800"}])
def test_what_is_too_long_for_an_entry_is_refused(tmp_path, decide, more):
    with pytest.raises(WritingError, match=rf"^{next(iter(more))}: "):
        decide(read_record(tmp_path, "damp"), **more)


def test_a_record_that_could_not_be_read_again_is_not_written(tmp_path, decide, saved):
    """What reading would refuse is refused in writing, while the decision is still on the screen."""
    record = saved(tmp_path)
    before = record.path.read_bytes()
    with pytest.raises(WritingError, match="would grow beyond"):
        save_record(decide(record, "x" * LARGEST_BYTES))
    with pytest.raises(WritingError, match="would grow beyond"):
        save_record(replace(record, entries=record.entries * (MOST_ENTRIES + 1)))
    assert record.path.read_bytes() == before


def test_two_writers_at_once_lose_nothing(tmp_path, saved):
    """Of two processes that save again and again, each save that was not refused stands in the record."""
    context = multiprocessing.get_context("fork")
    with context.Pool(2) as pool:
        finished = pool.starmap(_saves, [(tmp_path, "one"), (tmp_path, "other")])
    kept = [entry.value for entry in read_record(tmp_path, "damp").entries]
    assert sorted(kept) == sorted(finished[0] + finished[1])
    assert [path.name for path in (tmp_path / "record").iterdir()] == ["damp.json"]


def _saves(folder, name):
    from datetime import UTC, datetime

    from thermalkit.diagnosis.decisions import Step, Words
    from thermalkit.record.store import with_decision

    step = Step(name="remark", kind="damp", control=Words(), propose=lambda case: "")
    done = []
    for count in range(25):
        try:
            record = read_record(folder, "damp")
            value = f"{name} {count}"
            when = datetime(2026, 1, 21, tzinfo=UTC)
            save_record(with_decision(record, step, value, proposed="", inputs={}, by="", at=when))
            done.append(value)
        except RecordChanged:
            continue
    return done
