"""The record on disk."""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime

import pytest

from thermalkit.diagnosis.decisions import Step, Words
from thermalkit.errors import ReadingError, WritingError
from thermalkit.record.fingerprint import fingerprint
from thermalkit.record.store import RecordChanged, read_record, replay, save_record, with_decision
from thermalkit.record.whole import write_whole

AT = datetime(2026, 1, 21, 10, 5, tzinfo=UTC)
STEP = Step(name="remark", kind="damp", control=Words(), propose=lambda case: "")


def decided(record, value, inputs=None, reason=""):
    return with_decision(
        record, STEP, value, proposed="", inputs=inputs or {}, by="surveyor", at=AT, reason=reason
    )


def test_a_record_comes_back_as_it_was_written(tmp_path):
    saved = save_record(decided(read_record(tmp_path, "damp"), "dry ✓", reason="looked twice"))
    again = read_record(tmp_path, "damp")
    assert again == saved
    assert again.last("remark").reason == "looked twice"
    assert again.last("remark").at == AT


def test_the_file_follows_the_contract(tmp_path):
    save_record(decided(read_record(tmp_path, "damp"), "x"))
    content = json.loads((tmp_path / "record" / "damp.json").read_text())
    assert (content["schema"], content["kind"]) == (1, "damp")
    assert set(content["entries"][0]) == {
        "step", "value", "proposed", "reason", "by", "at", "inputs", "thermalkit",
    }  # fmt: skip


def test_the_last_entry_counts_and_earlier_ones_stay(tmp_path):
    record = decided(decided(read_record(tmp_path, "damp"), "first"), "second")
    assert record.last("remark").value == "second"
    assert [entry.value for entry in record.entries] == ["first", "second"]


def test_replay_tells_decided_stale_and_missing(tmp_path):
    record = decided(read_record(tmp_path, "damp"), "kept", inputs={"air": 20.0})
    answer = replay(record)
    assert answer(STEP, lambda: "proposal", {"air": 20.0}).value == "kept"
    assert answer(STEP, lambda: "proposal", {"air": 20.0}).state == "decided"
    assert answer(STEP, lambda: "proposal", {"air": 21.0}).state == "stale"
    assert answer(STEP, lambda: "proposal", {"air": 21.0}).value == "proposal"
    assert replay(read_record(tmp_path, "damp"))(STEP, lambda: "proposal", {}).state == "missing"


def test_a_decision_that_stands_needs_no_proposal(tmp_path):
    """A proposal may cost a second, such as edges of two pictures."""
    record = decided(read_record(tmp_path, "damp"), "kept", inputs={"air": 20.0})
    proposed = []
    replay(record)(STEP, lambda: proposed.append("worked out"), {"air": 20.0})
    assert proposed == []


def test_a_second_window_is_told_and_nothing_is_merged(tmp_path):
    one, other = read_record(tmp_path, "damp"), read_record(tmp_path, "damp")
    save_record(decided(one, "from the first window"))
    with pytest.raises(RecordChanged, match="changed by another window") as caught:
        save_record(decided(other, "from the second window"))
    assert "von einem anderen Fenster oder Programm geändert" in caught.value.told("de")
    assert read_record(tmp_path, "damp").last("remark").value == "from the first window"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"schema": 2, "kind": "damp", "entries": []}', "schema = 2"),
        ('{"schema": 1, "kind": "heating", "entries": []}', "kind = 'heating'"),
        ('{"schema": 1, "kind": "damp", "entries": [{"step": "x"}]}', "entries.0"),
        ('{"schema": 1, "kind": "damp", "entries": [', "not JSON"),
        ('{"schema": 1, "kind": "damp", "entries": NaN}', "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("\xff\xfe", "not JSON"),
    ],
)
def test_what_is_no_record_is_refused_and_left_alone(tmp_path, text, message):
    path = tmp_path / "record" / "damp.json"
    path.parent.mkdir()
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(ReadingError, match=message):
        read_record(tmp_path, "damp")
    assert path.read_bytes() == text.encode("latin-1")


def test_links_and_devices_are_refused(tmp_path):
    (tmp_path / "record").mkdir()
    (tmp_path / "record" / "damp.json").symlink_to("/etc/hostname")
    with pytest.raises(ReadingError, match="a link"):
        read_record(tmp_path, "damp")
    os.mkfifo(tmp_path / "record" / "panel.json")
    with pytest.raises(ReadingError, match="not a regular file"):
        read_record(tmp_path, "panel")


def test_a_folder_that_is_gone_is_one_sentence(tmp_path):
    record = decided(read_record(tmp_path / "site", "damp"), "x")
    with pytest.raises(WritingError, match=r"gone\. Nothing was written"):
        save_record(record)
    assert not (tmp_path / "site").exists()


def test_write_whole_syncs_renames_and_syncs_the_folder(tmp_path, monkeypatch):
    """The order of the calls; that it survives a power cut is not shown by it."""
    calls = []
    fsync, replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda fd: (calls.append("sync"), fsync(fd))[1])
    monkeypatch.setattr(
        type(tmp_path), "replace", lambda self, to: (calls.append("rename"), replace(self, to))[1]
    )
    write_whole(tmp_path / "a.json", b"new")
    assert calls == ["sync", "rename", "sync"]


def test_write_whole_keeps_the_old_file_when_the_disk_fails(tmp_path, monkeypatch):
    path = tmp_path / "a.json"
    path.write_bytes(b"old")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WritingError, match="No space left"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_fingerprint_depends_on_values_not_on_order():
    """SHA-256 of canonical JSON; the digest of {} is that of the two bytes (known value of SHA-256)."""
    assert fingerprint({"a": 1, "b": [1.5, None]}) == fingerprint({"b": [1.5, None], "a": 1})
    assert fingerprint({"a": 1}) != fingerprint({"a": 2})
    assert fingerprint({}) == "sha256:44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


def test_a_record_that_cannot_be_read_is_explained_in_german(tmp_path):
    path = tmp_path / "record" / "damp.json"
    path.parent.mkdir()
    path.write_text('{"schema": 2, "kind": "damp", "entries": []}')
    with pytest.raises(ReadingError) as caught:
        read_record(tmp_path, "damp")
    assert "Erlaubt: schema = 1. Eine andere Version hat die Datei geschrieben" in caught.value.told("de")
