"""One site as one row."""

from __future__ import annotations

import io
import os
import shutil

import pyarrow.parquet
import pytest

from thermalkit.diagnosis.run import run
from thermalkit.portfolio.kept import keep, kept_row
from thermalkit.portfolio.page import summary_page
from thermalkit.portfolio.rows import fingerprint_of, row_of
from thermalkit.portfolio.tables import parquet_bytes
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site.folder import read_site


def test_a_site_becomes_a_row(sample_site):
    """Name, verdicts and the worst place of a decided site."""
    row = row_of(sample_site("cold-corner"), "cold-corner", "damp")
    assert (row.state, row.reason, row.confirmed, row.usable) == ("done", "", True, True)
    assert row.verdict == "indicated"
    assert row.judged_by == row.code == "damp.temperature-factor"
    assert row.probability > 0.9
    assert row.margin < 0.0 < row.deviation


def test_a_site_without_names_keeps_them_to_itself(sample_site):
    """`[report] private` leaves out the name, which may be an address, and rooms."""
    folder = sample_site("cold-corner")
    text = (folder / "site.toml").read_text("utf-8")
    assert "private" in text
    (folder / "site.toml").write_text(text.replace("private = false", "private = true"), "utf-8")
    row = row_of(folder, "x", "damp")
    assert row.state == "done"
    assert (row.name, row.place) == ("", "")


def test_open_decisions_are_told(open_site):
    """A site that nobody decided is judged by its proposals and not confirmed."""
    row = row_of(open_site, "x", "damp")
    assert row.state == "done"
    assert not row.confirmed


@pytest.mark.parametrize("broken", ["no site file", "no TOML", "a frame is missing"])
def test_a_broken_site_is_one_row_with_its_reason(sample_site, broken):
    """What is wrong stands in the row, on one line."""
    folder = sample_site("cold-corner")
    if broken == "no site file":
        (folder / "site.toml").unlink()
    elif broken == "no TOML":
        (folder / "site.toml").write_text("[site\n")
    else:
        shutil.rmtree(folder / "thermal")
    row = row_of(folder, "x", "damp")
    assert row.state == "unreadable"
    assert row.reason
    assert "\n" not in row.reason


def test_a_fault_of_ours_is_one_row_too(sample_site, monkeypatch):
    """A site that breaks the program does not end the others."""

    def fails(*_):
        raise ZeroDivisionError("nothing to divide by")

    monkeypatch.setattr("thermalkit.diagnosis.run.run", fails)
    row = row_of(sample_site("cold-corner"), "x", "damp")
    assert (row.state, row.reason) == (
        "unreadable",
        "internal error, ZeroDivisionError: nothing to divide by",
    )


def test_the_fingerprint_follows_what_is_judged_from(sample_site):
    """Evidence and decisions count, what we write does not, links are not followed."""
    folder = sample_site("cold-corner")
    first = fingerprint_of(folder, "damp")
    (folder / "annex").mkdir(exist_ok=True)
    (folder / "annex" / "damp.html").write_text("x")
    (folder / ".hidden").write_text("x")
    assert fingerprint_of(folder, "damp") == first
    assert fingerprint_of(folder, "other") != first
    (folder / "loop").symlink_to(folder)
    linked = fingerprint_of(folder, "damp")
    record = next((folder / "record").glob("*.json"))
    record.write_bytes(record.read_bytes() + b"\n")
    assert len({first, linked, fingerprint_of(folder, "damp")}) == 3


def test_a_huge_file_is_not_read_for_its_fingerprint(sample_site, monkeypatch):
    """A film beside the evidence: only its size counts."""
    folder = sample_site("cold-corner")
    film = folder / "film.mp4"
    film.write_bytes(bytes(1000))
    monkeypatch.setattr("thermalkit.portfolio.rows.LARGEST_FRAME", 999)
    first = fingerprint_of(folder, "damp")
    film.write_bytes(b"x" * 1000)
    assert fingerprint_of(folder, "damp") == first
    film.write_bytes(bytes(1001))
    assert fingerprint_of(folder, "damp") != first


def test_a_folder_whose_name_is_no_unicode_is_a_row_like_others(sample_site, tmp_path):
    """It stands in table and page, links to its annex, and is found again by its finished row."""
    name = os.fsdecode(b"keller-\xfc")
    folder = sample_site("cold-corner").rename(tmp_path / name)
    (folder / "annex").mkdir(exist_ok=True)
    (folder / "annex" / "damp.html").write_text("x")
    (folder / os.fsdecode(b"notiz-\xfc.txt")).write_text("x")
    row = row_of(folder, name, "damp")
    assert row.state == "done"
    table = pyarrow.parquet.read_table(io.BytesIO(parquet_bytes([row])))
    assert table["site"].to_pylist() == ["keller-?"]
    page = summary_page([row], "damp", {}, "de", folder=tmp_path, out=tmp_path / "out")
    assert b"keller-%FC/annex/damp.html" in page
    keep(tmp_path, "damp", row)
    assert kept_row(tmp_path, "damp", name) == row


def test_heat_flows_of_marked_places_add_up(sample_site):
    """Sums of rooms do not count again, and the envelope has a quantity that stands for it."""
    folder = sample_site("shutter-box")
    record = read_record(folder, "envelope")
    findings = run("envelope", read_site(folder), replay(record), recall(record)).findings
    flows = [f.quantities[0].measured.value for f in findings if f.code == "envelope.loss.extra"]
    row = row_of(folder, "x", "envelope")
    assert row.loss_low_w_k < row.loss_w_k < row.loss_high_w_k
    assert row.loss_w_k == pytest.approx(sum(flows), abs=0.01)
    assert row.judged_by == "envelope.temperature-factor"
