"""Saves that are killed: the record is whole and current afterwards.

A killed process leaves behind what it handed to the system, so this says nothing about a power cut; the
order of sync and rename, on which that rests, is in `test_store.py`.
"""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time

import pytest

from thermalkit.record.store import read_record

KILLS = 200
# One start serves all kills: for each line of input a writer is forked that saves until it is killed.
SAVER = """
import os, sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from thermalkit.diagnosis.decisions import Step, Words
from thermalkit.record.store import read_record, save_record, with_decision

STEP = Step(name="remark", kind="damp", control=Words(), propose=lambda case: "")

def decided(record, count):
    return with_decision(record, STEP, f"{count} " + "x" * 5000, proposed="", inputs={}, by="surveyor",
                         at=datetime(2026, 1, 21, tzinfo=UTC))

for _ in sys.stdin:
    writer = os.fork()
    if writer == 0:
        record = read_record(Path(sys.argv[1]), "damp")
        count = int(record.last("remark").value.split()[0]) if record.entries else 0
        os.write(1, b"writer %d\\n" % os.getpid())
        while True:
            count += 1
            record = save_record(decided(replace(record, entries=record.entries[-20:]), count))
            os.write(1, b"saved %d\\n" % count)
    os.waitpid(writer, 0)
    os.write(1, b"ended 0\\n")
"""


def killed(saver, after_s):
    """Let one writer save for a while and kill it; the number of the last save it finished."""
    saver.stdin.write("go\n")
    saver.stdin.flush()
    writer = int(saver.stdout.readline().split()[1])
    time.sleep(after_s)
    os.kill(writer, signal.SIGKILL)
    finished = 0
    while (line := saver.stdout.readline().split())[0] != "ended":
        finished = int(line[1])
    return finished


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills need a system with fork")
def test_every_kill_leaves_the_record_whole_and_current(tmp_path, saved):
    """What is read after a kill is the last finished save, or the one that was about to be announced."""
    moments = random.Random(20260121)
    (tmp_path / "record").mkdir()
    saver = subprocess.Popen(
        [sys.executable, "-c", SAVER, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    known, cut_short, before = 0, 0, set()
    with saver:
        for _ in range(KILLS):
            finished = killed(saver, moments.uniform(0.0, 0.04))
            record = read_record(tmp_path, "damp")
            read = int(record.last("remark").value.split()[0]) if record.entries else 0
            assert read in (max(finished, known), max(finished, known) + 1)
            known = read
            parts = {path.name for path in (tmp_path / "record").glob(".damp.json.*.part")}
            cut_short += bool(parts - before)
            before = parts
        saver.stdin.close()
    assert saver.returncode == 0
    assert cut_short > 0
    saved(tmp_path)
    assert [path.name for path in (tmp_path / "record").iterdir()] == ["damp.json"]


def test_the_next_save_removes_what_a_killed_one_left(tmp_path, saved):
    """Parts and lock of a killed save are gone after the next; files of others stay."""
    folder = tmp_path / "record"
    folder.mkdir()
    for name in (
        ".damp.json.abcd1234.part",
        ".damp.lock",
        ".damp.json.mine.part",
        ".other.json.abcd1234.part",
    ):
        (folder / name).write_bytes(b"left")
    saved(tmp_path)
    assert sorted(p.name for p in folder.iterdir()) == [
        ".damp.json.mine.part",
        ".other.json.abcd1234.part",
        "damp.json",
    ]
    assert json.loads((folder / "damp.json").read_text())["kind"] == "damp"
