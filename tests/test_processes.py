"""Processes that share out work do not outlive the one that started them."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from thermalkit.processes import processes

SCRIPT = """
import os, time
from thermalkit.processes import processes

if __name__ == "__main__":
    with processes(1) as pool:
        print(pool.submit(os.getpid).result(), flush=True)
        time.sleep(600)
"""


@pytest.mark.slow
def test_processes_end_with_a_parent_that_is_killed(tmp_path):
    """Its output stays open for as long as one of them lives."""
    (tmp_path / "run.py").write_text(SCRIPT, "utf-8")
    parent = subprocess.Popen([sys.executable, tmp_path / "run.py"], stdout=subprocess.PIPE, text=True)
    worker = int(parent.stdout.readline())
    parent.kill()
    try:
        assert parent.communicate(timeout=60)[0] == ""
    except subprocess.TimeoutExpired:
        os.kill(worker, 9)
        raise


@pytest.mark.slow
def test_each_has_one_thread_and_its_parent_as_many_as_before(monkeypatch):
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    with processes(1) as pool:
        assert pool.submit(os.getenv, "OMP_NUM_THREADS").result() == "1"
    assert "OMP_NUM_THREADS" not in os.environ
