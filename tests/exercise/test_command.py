"""`thermalkit class` as a teacher calls it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from thermalkit.exercise.plan import read_plan

ROOT = Path(__file__).parents[2]


def command(*words):
    return subprocess.run(
        [sys.executable, "-m", "thermalkit.cli", "class", *map(str, words)],
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_sample_plan_is_a_plan():
    if not (ROOT / "sample_sites").is_dir():
        pytest.skip("needs the source tree")
    assert read_plan(ROOT / "sample_sites" / "class-plan.toml").number == 30


def test_a_class_is_made_and_marked_by_command(made, hands_in, simulated, key, tmp_path):
    learner = key.learners[0]
    hands_in.write(tmp_path, learner.name, simulated(learner.truth).answers())
    done = command("mark", tmp_path, "--key", made.key, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert (
        f"{len(key.learners)} learners, {len(key.learners) - 1} of them could not be marked." in done.stdout
    )
    assert (tmp_path / "out" / "grades.csv").is_file()


def test_a_plan_that_is_none_and_a_weak_seed_end_with_their_reason(tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text('[class]\nname = "x"\nnumber = 0\n', encoding="utf-8")
    refused = command("make", plan, "--out", tmp_path / "out")
    assert (refused.returncode, "class.number" in refused.stderr) == (1, True)
    plan.write_text('[class]\nname = "x"\nnumber = 1\n', encoding="utf-8")
    weak = command("make", plan, "--out", tmp_path / "out", "--seed", "1234")
    assert (weak.returncode, "128 bits" in weak.stderr) == (1, True)
    assert not (tmp_path / "out").exists()


def test_what_is_no_folder_is_named(made, tmp_path):
    done = command("mark", tmp_path / "nowhere", "--key", made.key, "--out", tmp_path / "out")
    assert (done.returncode, "is no folder" in done.stderr) == (1, True)
