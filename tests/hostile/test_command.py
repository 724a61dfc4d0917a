"""Bad input through the command: exit 1 with file and place, nothing left behind, no control character."""

from __future__ import annotations

import json
import os
import shutil
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest

ESCAPES = "\x1b[31m\x1b]0;title\x07"
THERMALKIT = Path(sys.executable).with_name("thermalkit")


def refused(command, folder, *named):
    """`check` and `annex` both end with 1, name file and place and leave nothing behind."""
    before = folder.listing()
    for arguments in (("check", folder.path), ("annex", "damp", folder.path, "--unattended")):
        done = command(*arguments)
        assert done.code == 1, done
        for words in named:
            assert words in done.err
        assert done.out == ""
    assert folder.listing() == before


def test_the_folder_is_sound_until_it_is_spoilt(command, folder):
    """What the tests below spoil is read, and an annex is made of it."""
    assert command("check", folder.path).code == 0
    assert command("annex", "damp", folder.path, "--unattended").code == 0
    assert (folder.path / "annex" / "damp.html").exists()


FILES = ("site.toml", "thermal/corner.npy", "photos/corner.png", "loggers/cellar.csv", "readings.csv")


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("content", [b"", b"\x00" * 1000, b"\xff\xfe\x1b[31m", b"PK\x03\x04" + b"\x1b" * 99])
def test_a_file_of_another_kind(command, folder, name, content):
    """Empty, zeros, half a byte-order mark, an archive: named by its path."""
    (folder.path / name).write_bytes(content)
    refused(command, folder, name)


@pytest.mark.parametrize("name", FILES[1:4])
def test_a_truncated_file(command, folder, name):
    """Cut in the middle of a number or of the header."""
    content = (folder.path / name).read_bytes()
    cut = {"thermal/corner.npy": len(content) - 5, "photos/corner.png": 20, "loggers/cellar.csv": 12}[name]
    (folder.path / name).write_bytes(content[:cut])
    refused(command, folder, name)


@pytest.mark.parametrize("name", FILES)
def test_a_huge_file(command, folder, name):
    """A file of 300 GB, of which nothing is stored, is refused by its size."""
    with (folder.path / name).open("r+b") as stream:
        stream.truncate(300 * 10**9)
    refused(command, folder, name, "300000.0 MB" if name != "thermal/corner.npy" else "MB")


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("kind", ["fifo", "folder", "device", "loop", "outside", "dangling"])
def test_what_is_no_file_of_the_folder(command, folder, tmp_path, name, kind):
    """Pipes never make it wait, devices never fill the memory, links lead nowhere outside."""
    path = folder.path / name
    outside = tmp_path / path.name
    shutil.copy(path, outside)
    path.unlink()
    {
        "fifo": lambda: os.mkfifo(path),
        "folder": path.mkdir,
        "device": lambda: path.symlink_to("/dev/zero"),
        "loop": lambda: path.symlink_to(path),
        "outside": lambda: path.symlink_to(outside),
        "dangling": lambda: path.symlink_to("nowhere"),
    }[kind]()
    refused(command, folder, name)


@pytest.mark.parametrize(
    "path", ["../outside.npy", "/etc/passwd", "thermal/../../x.npy", "C:/x.npy", "thermal\\\\x.npy"]
)
def test_paths_out_of_the_folder(command, folder, path):
    folder.replace("thermal/corner.npy", path)
    refused(command, folder, "site.toml", "frames[0].file")


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("thermal/corner.csv", b"\x89PNG\r\n\x1a\n"),
        ("thermal/corner.png", b"II*\x00\x08\x00\x00\x00"),
        ("thermal/corner.tiff", b"1;2;3\n"),
        ("thermal/corner.tsv", b"\x93NUMPY\x01\x00"),
    ],
)
def test_a_frame_of_the_wrong_type_under_a_right_name(command, folder, name, content):
    (folder.path / name).write_bytes(content)
    folder.replace("thermal/corner.npy", name)
    refused(command, folder, name)


@pytest.mark.parametrize(
    "values",
    [
        np.full((32, 48), np.nan),
        np.full((32, 48), np.inf),
        np.full((32, 48), 1e308),
        np.full((32, 48), 300.0),
        np.full((32, 48), -273.15),
        np.zeros((2, 2)),
        np.zeros((4, 4, 3)),
        np.zeros((32, 48), dtype=complex),
        np.zeros((32, 48), dtype="U5"),
        np.zeros((32, 48), dtype=[("a", "f8")]),
        np.array([{"a": 1}] * 9, dtype=object),
    ],
    ids=str,
)
def test_numbers_that_are_no_temperatures(command, folder, values):
    """NaN, infinity, kelvin, absolute zero, too few, too many axes, no numbers at all."""
    np.save(folder.path / "thermal" / "corner.npy", values, allow_pickle=True)
    refused(command, folder, "thermal/corner.npy")


@pytest.mark.parametrize(
    "value", ["nan", "inf", "-inf", "1e999", "-300.0", "68.0e40", '"20 °C"', '"68 °F"', "true"]
)
def test_numbers_that_are_no_readings(command, folder, value):
    folder.replace("air_temperature_degc = 18.5", f"air_temperature_degc = {value}")
    refused(command, folder, "site.toml", "rooms[0].air_temperature_degc")


@pytest.mark.parametrize(
    "row",
    [
        "cellar,,relative humidity,nan,%,hygro,,",
        "cellar,,relative humidity,inf,%,hygro,,",
        "cellar,,relative humidity,0.5,%,hygro,,",
        "cellar,,air temperature,68,furlongs,hygro,,",
        "cellar,,air temperature,1e999,degC,hygro,,",
        "cellar,2026-01-21T08:45:00,relative humidity,50,%,hygro,,",
        "cellar,9999999999,relative humidity,50,%,hygro,,",
        f"{ESCAPES},,relative humidity,50,%,hygro,,",
        "cellar,,relative humidity,50,%,hygro",
    ],
)
def test_rows_that_are_no_readings(command, folder, row):
    (folder.path / "readings.csv").write_text(
        "place,taken_at,quantity,value,unit,instrument,depth_mm,height_mm\n" + row
    )
    refused(command, folder, "readings.csv", "row 2")


@pytest.mark.parametrize(
    "rows",
    [
        "2026-01-21 08:00,furlong,50\n",
        f"2026-01-21 08:00,{ESCAPES},50\n",
        "2026-01-21 08:00,1e308,50\n2026-01-21 09:00,1e308,50\n",
        "0001-01-01 00:00,18,50\n9999-12-31 23:59,18,50\n",
        "2026-02-30 08:00,18,50\n",
    ],
)
def test_a_logger_whose_clock_or_numbers_are_mad(command, folder, rows):
    """Words for numbers, days that do not exist."""
    (folder.path / "loggers" / "cellar.csv").write_text("Date/Time,Temperature (°C),RH (%)\n" + rows)
    refused(command, folder, "loggers/cellar.csv")


def test_a_clock_that_runs_backwards_is_said(command, folder):
    """Rows are put into the order of time, and the reader is told."""
    rows = "".join(f"{year}-01-21 08:00,18.5,50\n" for year in (2026, 2025, 2027, 2024))
    (folder.path / "loggers" / "cellar.csv").write_text("Date/Time,Temperature (°C),RH (%)\n" + rows)
    done = command("check", folder.path)
    assert done.code == 0
    assert "out of order" in done.out


def png(columns, rows, data=b""):
    def chunk(kind, content):
        body = kind + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "sides", [(60_000, 60_000), (2**31 - 1, 2**31 - 1), (1, 2**31 - 1), (0, 0), (11_000, 11_000)]
)
def test_a_photo_that_claims_to_be_huge(command, folder, sides):
    (folder.path / "photos" / "corner.png").write_bytes(png(*sides, zlib.compress(bytes(1000))))
    refused(command, folder, "photos/corner.png")


@pytest.mark.parametrize(
    "name", ['a"b', "a'b", "a\\nb", "\\u202eabc", "\\u001b[31m", "$(id)", "%s%n", "{0.__class__}", "-rf"]
)
def test_strange_names_of_files(command, folder, name):
    """A name from the site file is shown, never sent, never formatted."""
    escaped = name.replace('"', '\\"')
    folder.replace("photos/corner.png", f"photos/{escaped}.png")
    refused(command, folder, "site.toml", "frames[0].photo")


@pytest.mark.parametrize(
    "name", [f"a{ESCAPES}b", "a\nb", "\u202eabc", 'a"b', "-rf", "x" * 300, "x" * 5000, "\udcff", " "]
)
def test_strange_names_of_sites(command, tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    for arguments in (("check", "--", name), ("annex", "damp", "--unattended", "--", name)):
        done = command(*arguments)
        assert done.code == 1, done
        assert "problem" in done.err or "long" in done.err


RECORDS = [
    *(b"", b"[]", b"{", b"\xff", b"[" * 100_000, b"1" * 10_000, b'"\\ud800"', b'{"schema": 1}'),
    *(
        b'{"schema": %s, "kind": %s, "entries": %s}' % parts
        for parts in (
            (b'"\\u001b[31m"', b'"damp"', b"[]"),
            (b"1", b'"\\u001b[31m"', b"[]"),
            (b"1", b'"damp"', b"[1]"),
            (b"1", b'"damp"', b'{"\\u001b[31m": 1}'),
        )
    ),
]


@pytest.mark.parametrize("content", RECORDS)
def test_a_record_that_is_none(command, folder, content):
    """It is left as it is."""
    (folder.path / "record" / "damp.json").write_bytes(content)
    before = folder.listing()
    done = command("annex", "damp", folder.path, "--unattended")
    assert done.code == 1
    assert "record/damp.json" in done.err
    assert folder.listing() == before
    assert (folder.path / "record" / "damp.json").read_bytes() == content


NOTEBOOK = {"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
CELL = {"cell_type": "markdown", "id": "a", "metadata": {"tags": ["annex"]}, "source": "x"}
CODE = {**CELL, "cell_type": "code"}
STREAM = {"output_type": "stream", "text": 3}
SHOWN = {"output_type": "display_data", "data": {"text/html": [1]}}
CELLS = [
    3,
    [3],
    *([{**cell}] for cell in ({**CELL, "source": 3}, {**CELL, "metadata": 3}, {**CODE, "outputs": 3})),
]
CELLS += [[{**CODE, "outputs": [output]}] for output in (STREAM, SHOWN)]


@pytest.mark.parametrize(
    "content",
    [
        *(b"", b"\xff\xfe", b"[]", b"1", b'"x"', b"null", b"[" * 100_000, b"{" * 10),
        *(json.dumps({**NOTEBOOK, "nbformat": version}).encode() for version in (10**30, "\x1b[31m", None)),
        *(json.dumps({**NOTEBOOK, "cells": cells}).encode() for cells in CELLS),
    ],
)
def test_a_notebook_that_is_none(command, folder, tmp_path, content):
    path = tmp_path / f"a{ESCAPES}.ipynb"
    path.write_bytes(content)
    before = folder.listing()
    done = command("annex", "damp", folder.path, "--unattended", "--notebook", path)
    assert done.code == 1
    assert "a\\x1b[31m" in done.err
    assert folder.listing() == before


@pytest.mark.parametrize("kind", ["fifo", "/dev/zero", "folder", "missing", "huge"])
def test_a_notebook_that_is_no_file(command, folder, tmp_path, kind):
    """Nothing waits for a pipe, nothing reads a device to its end."""
    path = Path(kind) if kind.startswith("/") else tmp_path / "own.ipynb"
    if kind == "fifo":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    elif kind == "huge":
        with path.open("wb") as stream:
            stream.truncate(10**12)
    done = command("annex", "damp", folder.path, "--unattended", "--notebook", path)
    assert done.code == 1
    assert path.name in done.err
    assert not (folder.path / "annex").exists()


def test_a_notebook_with_strange_cells_is_quiet(command, folder, tmp_path):
    """Unknown kinds of cells are left out; no library talks to the terminal about them."""
    path = tmp_path / "own.ipynb"
    path.write_text(json.dumps({**NOTEBOOK, "cells": [{"cell_type": "\x1b[31m", "metadata": {"\x1b": 1}}]}))
    done = command("annex", "damp", folder.path, "--unattended", "--notebook", path)
    assert (done.code, done.err) == (0, "")


@pytest.mark.parametrize(
    "out",
    [
        "record/damp.html", "record/other.html", "readings.html", "thermal/corner.html", "loggers/new.html",
        "photos/x.htm", "annex/../readings.html", "annex/../record/damp.html",
    ],
)  # fmt: skip
def test_an_annex_never_takes_the_place_of_evidence(command, folder, out):
    """Beside FILE.html stand FILE.json and FILE.csv, which may be a record, readings or a frame."""
    (folder.path / "annex").mkdir()
    before = {path: path.read_bytes() for path in folder.path.rglob("*") if path.is_file()}
    done = command("annex", "damp", folder.path, "--unattended", "--out", folder.path / out)
    assert done.code == 1
    assert "evidence" in done.err
    assert {path: path.read_bytes() for path in folder.path.rglob("*") if path.is_file()} == before


def test_an_annex_reached_through_a_link_spares_evidence_too(command, folder, tmp_path):
    (folder.path / "record" / "damp.json").write_text('{"schema": 1, "kind": "damp", "entries": []}')
    (tmp_path / "link").symlink_to(folder.path / "record")
    done = command("annex", "damp", folder.path, "--unattended", "--out", tmp_path / "link" / "damp.html")
    assert done.code == 1
    assert json.loads((folder.path / "record" / "damp.json").read_text())["entries"] == []


@pytest.mark.parametrize(
    "out", ["", ".", "x.txt", "folder.html", f"a{ESCAPES}.txt", "file/x.html", "x" * 300 + ".html"]
)
def test_places_where_no_annex_can_be_written(command, folder, tmp_path, monkeypatch, out):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.html").mkdir()
    (tmp_path / "file").write_text("in the way")
    before = sorted(path.name for path in tmp_path.rglob("*"))
    done = command("annex", "damp", folder.path, "--unattended", "--out", out)
    assert done.code == 1
    assert done.err.count("\n") == 1
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def run(*arguments, **more):
    more = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **more}
    return subprocess.run([THERMALKIT, *map(str, arguments)], text=True, check=False, timeout=120, **more)


@pytest.mark.skipif(not THERMALKIT.exists(), reason="the command is not installed beside this Python")
class TestProcess:
    """What depends on the process: its streams, its environment, its folder."""

    def test_characters_that_the_terminal_lacks(self, folder):
        folder.replace("Invented cellar", "Keller ‰ мир")
        for environment in (
            {"PYTHONIOENCODING": "ascii"},
            {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        ):
            done = run("check", folder.path, env={**os.environ, **environment})
            assert done.returncode == 0, done.stderr
            assert "Keller" in done.stdout

    def test_an_empty_environment(self, folder, tmp_path):
        done = run("annex", "damp", folder.path, "--unattended", "--out", tmp_path / "a.html", env={})
        assert (done.returncode, done.stderr) == (0, "")

    def test_output_that_cannot_be_written(self, folder):
        with open("/dev/full", "w") as full:  # noqa: PTH123
            done = run("check", folder.path, stdout=full)
        assert done.returncode == 1
        assert done.stderr == "Reading or writing failed: No space left on device\n"

    def test_nobody_reads_the_output(self, folder):
        reading, writing = os.pipe()
        os.close(reading)
        done = run("check", folder.path, stdout=writing)
        os.close(writing)
        assert done.returncode in (0, 1)
        assert done.stderr == ""

    def test_no_streams_at_all(self, folder):
        done = run(
            "check",
            folder.path,
            stdout=None,
            stderr=None,
            preexec_fn=lambda: [os.close(n) for n in (0, 1, 2)],
        )
        assert done.returncode == 0

    def test_the_current_folder_is_gone(self, folder, tmp_path):
        (tmp_path / "gone").mkdir()
        script = 'cd "$1" && rmdir "$1" && exec "$2" annex damp . --unattended'
        done = subprocess.run(
            ["sh", "-c", script, "sh", tmp_path / "gone", THERMALKIT],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 1
        assert done.stderr.count("\n") <= 3
        assert "Traceback" not in done.stderr

    def test_nothing_lying_in_the_site_folder_is_run(self, folder, tmp_path):
        """Modules of the names of programs that are used, beside the evidence."""
        ran = tmp_path / "ran"
        names = (
            "numpy",
            "plotly",
            "typer",
            "json",
            "PIL",
            "jinja2",
            "pydantic",
            "sitecustomize",
            "thermalkit",
        )
        for name in names:
            (folder.path / f"{name}.py").write_text(f"open({str(ran)!r}, 'a').write({name!r})")
        done = run("annex", "damp", ".", "--unattended", cwd=folder.path)
        assert done.returncode == 0, done.stderr
        assert not ran.exists()
