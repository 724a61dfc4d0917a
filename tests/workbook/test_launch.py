"""The private folder in which a notebook is worked, and how JupyterLab is started."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from pytest import raises

from thermalkit.errors import ReadingError
from thermalkit.workbook import launch
from thermalkit.workbook.launch import desk, lab_command, private_folder, shipped_notebook, without_site, work


@pytest.fixture(autouse=True)
def _own_user_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path / "user"))


def edited(path: Path, edit) -> None:
    notebook = json.loads(path.read_text(encoding="utf-8"))
    edit(notebook)
    path.write_text(json.dumps(notebook), encoding="utf-8")


@pytest.fixture
def upgraded(tmp_path, monkeypatch):
    """A later version comes with one more cell."""

    def upgrade():
        newer = tmp_path / "newer" / "damp.ipynb"
        newer.parent.mkdir()
        newer.write_bytes(shipped_notebook("damp").read_bytes())
        edited(newer, lambda nb: nb["cells"].append({**nb["cells"][0], "source": "New in this version"}))
        monkeypatch.setattr(launch, "shipped_notebook", lambda kind: newer)

    return upgrade


def test_the_notebook_lies_in_a_private_folder_and_knows_its_site(site_folder):
    """Nothing is put into the client's folder; the parameter is the absolute path."""
    before = sorted(site_folder.rglob("*"))
    ready = desk("damp", site_folder)
    assert site_folder not in ready.notebook.parents
    sources = ["".join(cell["source"]) for cell in json.loads(ready.notebook.read_text("utf-8"))["cells"]]
    assert any(f"site_folder = {str(site_folder)!r}" in source for source in sources)
    assert sorted(site_folder.rglob("*")) == before


def test_two_sites_have_two_folders_and_one_site_has_one(site_folder, tmp_path):
    """The resolved path decides, not how it was written."""
    assert private_folder(site_folder) == private_folder(site_folder / ".." / site_folder.name)
    assert private_folder(site_folder) != private_folder(tmp_path)


def test_an_untouched_copy_is_renewed_after_an_upgrade(site_folder, upgraded):
    """Outputs and run counts are no changes of a person's."""
    ready = desk("damp", site_folder)
    edited(
        ready.notebook,
        lambda nb: nb["cells"][2].update(execution_count=3, outputs=[{"output_type": "stream"}]),
    )
    upgraded()
    again = desk("damp", site_folder)
    assert "New in this version" in again.notebook.read_text("utf-8")
    assert again.remark == ""


def test_own_cells_are_kept_and_told(site_folder, upgraded):
    """A consultant's cells outlive an upgrade, and the upgrade is not silent."""
    ready = desk("damp", site_folder)
    edited(ready.notebook, lambda nb: nb["cells"].append({**nb["cells"][0], "source": "My own"}))
    assert desk("damp", site_folder).remark == ""
    upgraded()
    again = desk("damp", site_folder)
    assert "My own" in again.notebook.read_text("utf-8")
    assert "cells of your own and was kept" in again.remark


@pytest.mark.parametrize("content", ["half a note", "[]", '{"cells": [3]}'])
def test_a_notebook_that_cannot_be_read_is_never_overwritten(site_folder, content):
    """Whatever it is, it is somebody's."""
    ready = desk("damp", site_folder)
    ready.notebook.write_text(content, encoding="utf-8")
    desk("damp", site_folder)
    assert ready.notebook.read_text(encoding="utf-8") == content


def test_a_demonstration_needs_no_site(tmp_path):
    """A teacher opens it by its name; it lies in a private folder as the others do."""
    assert without_site() == ("demonstrator", "details")
    ready = desk("demonstrator", None)
    assert ready.notebook.is_relative_to(tmp_path / "user")
    assert "site_folder" not in ready.notebook.read_text("utf-8")


def test_a_site_that_is_no_folder_is_named(tmp_path):
    """Before a server is started."""
    with raises(ReadingError, match="nowhere: not a folder"):
        desk("damp", tmp_path / "nowhere")


def test_a_kind_without_a_notebook_names_those_there_are(site_folder):
    """A new investigation still lacks its notebook."""
    with raises(ReadingError, match=r"attic\.ipynb: no such notebook\n +Allowed: .*damp"):
        desk("attic", site_folder)


def test_the_server_listens_on_this_machine_only_and_asks_for_its_token(site_folder):
    """Loopback, one document, own settings; the token is the server's own default."""
    command = " ".join(lab_command(desk("damp", site_folder), browser=False))
    assert "--ServerApp.ip=127.0.0.1" in command
    assert "--LabApp.default_url=/doc/tree/damp.ipynb" in command
    assert "--no-browser" in command
    for word in ("token", "password", "allow_remote_access", "allow_origin", "disable_check_xsrf", "0.0.0.0"):
        assert word not in command
    assert "--no-browser" not in lab_command(desk("damp", site_folder))


@pytest.mark.parametrize(("user", "allowed"), [(0, True), (1000, False)])
def test_root_is_allowed_only_where_the_user_is_root(site_folder, monkeypatch, user, allowed):
    """In a container the only user is root; elsewhere the server's own refusal stands."""
    monkeypatch.setattr(launch.os, "geteuid", lambda: user, raising=False)
    assert ("--allow-root" in lab_command(desk("damp", site_folder))) is allowed


def test_nothing_lying_in_the_site_folder_is_run(site_folder, monkeypatch):
    """A module of a program's name beside the evidence is not taken for the program."""
    ran = site_folder.parent / "ran"
    for name in ("jupyterlab", "jupyter_server", "json", "traitlets"):
        (site_folder / f"{name}.py").write_text(f"open({str(ran)!r}, 'w')", encoding="utf-8")
    monkeypatch.chdir(site_folder)
    started = []
    serve = launch.served

    def asked_for_its_version(command, environment, folder):
        started.append((command, folder))
        return serve([*command[: command.index("jupyterlab") + 1], "--version"], environment, folder)

    monkeypatch.setattr(launch, "served", asked_for_its_version)
    assert work("damp", Path()) == 0
    assert not ran.exists()
    assert Path(started[0][1]) == private_folder(site_folder)
    subprocess.run([*started[0][0][:-1], "--version"], capture_output=True, cwd=site_folder, check=True)
    assert not ran.exists()


def test_what_jupyterlab_is_told_to_load_exists():
    """The extension and the settings lie in the package and are valid."""
    package = json.loads((launch.LAB / "extensions/thermalkit-notebook/package.json").read_text("utf-8"))
    entry = launch.LAB / "extensions/thermalkit-notebook" / package["jupyterlab"]["_build"]["load"]
    assert package["name"] in entry.read_text("utf-8")
    overrides = json.loads((launch.LAB / "settings" / "overrides.json").read_text("utf-8"))
    assert overrides["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"


def test_work_starts_the_server_and_tells_what_was_kept(site_folder, upgraded, monkeypatch):
    """The exit code is that of JupyterLab; the remark goes to the surveyor."""
    started, told = [], []
    monkeypatch.setattr(launch, "served", lambda command, *_: started.append(command) or 5)
    ready = desk("damp", site_folder)
    edited(ready.notebook, lambda nb: nb["cells"].pop())
    upgraded()
    assert work("damp", site_folder, browser=False, tell=told.append) == 5
    assert started[0] == lab_command(ready, browser=False)
    assert "was kept" in told[0]


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_the_server_ends_with_the_command(tmp_path, by):
    """Ctrl+C or the end of a session; nothing is left running, and it is no error."""
    server = "import os, sys, time; print(os.getpid(), flush=True); time.sleep(300)"
    command = (
        "import sys; from pathlib import Path; from thermalkit.workbook.launch import served\n"
        f"sys.exit(served([sys.executable, '-c', {server!r}], {{}}, Path()))"
    )
    with subprocess.Popen([sys.executable, "-c", command], stdout=subprocess.PIPE, text=True) as process:
        server_id = int(process.stdout.readline())
        process.send_signal(by)
        assert process.wait(timeout=30) == 0
    with pytest.raises(ProcessLookupError):
        os.kill(server_id, 0)
