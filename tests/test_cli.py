"""The command: exit codes and what it says."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest


def thermalkit(*arguments, cwd=None):
    command = [sys.executable, "-m", "thermalkit.cli", *map(str, arguments)]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)


def test_help_names_every_command():
    done = thermalkit("--help")
    assert done.returncode == 0
    for name in ("new", "check", "annex", "work"):
        assert name in done.stdout


@pytest.mark.parametrize(
    "arguments",
    [("annex",), ("annex", "damp"), ("nonsense",), ("annex", "loft", "."), ("check", ".", "--nonsense")],
)
def test_wrong_usage_is_2(arguments):
    done = thermalkit(*arguments)
    assert done.returncode == 2
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_an_unknown_kind_names_those_there_are():
    assert ", damp, " in thermalkit("annex", "loft", ".").stderr


def test_a_folder_that_is_none_is_1(tmp_path):
    done = thermalkit("check", tmp_path / "nowhere")
    assert done.returncode == 1
    assert "Traceback" not in done.stderr


def test_hostile_names_cannot_write_to_the_terminal(tmp_path):
    done = thermalkit("check", tmp_path / "a\x1b[31mb")
    assert done.returncode == 1
    assert "\x1b" not in done.stderr


def test_a_new_folder_can_be_checked(tmp_path):
    done = thermalkit("new", tmp_path / "site")
    assert done.returncode == 0, done.stderr
    assert thermalkit("check", tmp_path / "site").returncode in (0, 1)
    assert thermalkit("new", tmp_path / "site").returncode == 1


@pytest.mark.slow
def test_annex_without_decisions_names_every_open_step(open_site):
    done = thermalkit("annex", "damp", open_site)
    assert done.returncode == 3
    for step in ("frames", "limit", "suspect", "sound", "remark"):
        assert step in done.stderr
    assert not (open_site / "annex").exists()


@pytest.mark.slow
def test_unattended_takes_the_proposals_and_leaves_the_record_alone(open_site, tmp_path):
    out = tmp_path / "out" / "annex.html"
    done = thermalkit("annex", "damp", open_site, "--unattended", "--out", out)
    assert done.returncode == 0, done.stderr
    findings = json.loads(out.with_suffix(".json").read_text())
    assert findings["findings"]
    assert not any(f["confirmed"] for f in findings["findings"] if f["rests_on"])
    assert not (open_site / "record").exists()
    assert out.with_suffix(".csv").exists()


@pytest.mark.slow
def test_output_that_cannot_be_written_is_1(open_site, tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = thermalkit("annex", "damp", open_site, "--unattended", "--out", tmp_path / "file" / "annex.html")
    assert done.returncode == 1
    assert "could not be written" in done.stderr


def test_an_internal_error_is_one_line_and_a_log(monkeypatch, capsys):
    """A fault of the program ends with 4; the traceback is in the file it names."""
    import thermalkit.cli as cli

    def broken(**_):
        raise RuntimeError("boom")

    monkeypatch.setattr(cli, "app", broken)
    with pytest.raises(SystemExit) as done:
        cli.main()
    message = capsys.readouterr().err
    assert done.value.code == 4
    log = message.rsplit(" ", 1)[1].strip()
    assert "boom" in open(log).read()  # noqa: PTH123, SIM115
    os.remove(log)  # noqa: PTH107


@pytest.mark.slow
def test_a_plan_is_written_for_a_new_site(tmp_path):
    """Before the visit nothing but the folder is there."""
    thermalkit("new", tmp_path / "site")
    done = thermalkit("plan", tmp_path / "site")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "site" / "annex" / "plan.html").exists()
    assert thermalkit("plan", tmp_path / "site", "--forecast", tmp_path / "none.csv").returncode == 1
    assert thermalkit("plan", tmp_path / "site", "--clock", "Mars").returncode == 2


@pytest.mark.slow
def test_problems_of_an_earlier_visit_are_1_and_the_annex_is_written_all_the_same(sample_site):
    folder = sample_site("repaired-corner")
    (folder / "earlier" / "thermal" / "corner.tiff").unlink()
    done = thermalkit("check", folder)
    assert done.returncode == 1
    assert "earlier/site.toml" in done.stderr
    assert thermalkit("annex", "damp", folder, "--unattended").returncode == 0
