"""Cabinets and circuits kept in a spreadsheet: read like entries of the site file, named by row if wrong."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.language import words_in
from thermalkit.site import read_site, write_new_site
from thermalkit.site.found import proposed
from thermalkit.site.sections.cabinets import CabinetKeys, CircuitKeys

CABINETS = (
    "id;name;room;air_temperature_degc;seen\nUV1;Office;cellar;31,5;directly\nUV2;Hall;;;opaque cover\n"
)
CIRCUITS = (
    "id;cabinet;phase;rated_current_a;measured_current_a;repaired_on\n"
    "1F1;UV1;L1;16;11,2;21.01.2026\n1F2;UV1;L2;16;;\n2F1;UV2;L1;63;40;\n"
)


@pytest.fixture
def keep(folder):
    """Write both tables, one of them changed."""

    def written(cabinets=CABINETS, circuits=CIRCUITS):
        (folder.path / "cabinets.csv").write_text(cabinets, "utf-8")
        (folder.path / "circuits.csv").write_text(circuits, "utf-8")
        return folder.path

    return written


def told(path):
    with pytest.raises(ReadingError) as error:
        read_site(path)
    return {(p.file, words_in(p.place, "en")): str(p) for p in error.value.problems}


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_rows_are_entries(keep, delimiter):
    """As a German spreadsheet saves or pastes them; empty cells are keys that are not there."""
    site = read_site(keep(CABINETS.replace(";", delimiter), CIRCUITS.replace(";", delimiter)))
    assert [c.id for c in site.sections(CabinetKeys)] == ["UV1", "UV2"]
    assert site.sections(CabinetKeys)[0].air_temperature_degc == 31.5
    first, second, third = site.sections(CircuitKeys)
    assert (first.measured_current_a, second.measured_current_a, third.rated_current_a) == (11.2, None, 63.0)
    assert str(first.repaired_on) == "2026-01-21"
    assert {"cabinets.csv", "circuits.csv"} <= set(site.files)


def test_entries_of_the_site_file_come_first(keep, folder):
    """Both count together, and names are known across them."""
    folder.append('[[circuits]]\nid = "K1"\ncabinet = "UV2"\n')
    assert [c.id for c in read_site(keep()).sections(CircuitKeys)] == ["K1", "1F1", "1F2", "2F1"]


@pytest.mark.parametrize(
    ("circuits", "place", "words"),
    [
        ("id,cabinet,rated_current_a\n1F1,UV1,16\n1F2,UV9,16\n", "row 3, cabinet", 'Listed: "UV1", "UV2"'),
        ("id,cabinet\n1F1,UV1\n1F1,UV2\n", "row 3, id", "Already used by row 2"),
        ("id,cabinet,rated_current_a\n1F1,UV1,-4\n", "row 2, rated_current_a", "0.1 to 10000"),
        ("id,cabinet,phase\n1F1,UV1,L4\n", "row 2, phase", '"L1"'),
        ("id,cabinet,instrument\n1F1,UV1,probe\n", "row 2, instrument", '"clamp_meter" or "logger"'),
        ("id,cabinet,ampere\n1F1,UV1,4\n", "row 1", 'unknown heading "ampere"'),
        ("id,cabinet\n1F1\n", "row 2", "1 cell"),
        ("id\n1F1\n", "row 1", '"cabinet"'),
        ("id,cabinet,measured_current_a\n1F1,UV1,1,5\n", "row 2", "A decimal comma needs semicolons"),
        ("id,cabinet\n,UV1\n", "row 2, id", "missing"),
    ],
)
def test_a_mistake_is_named_by_file_and_row(keep, circuits, place, words):
    """One problem each, in the spreadsheet's own rows."""
    found = told(keep(circuits=circuits))
    assert list(found) == [("circuits.csv", place)]
    assert words in found["circuits.csv", place]


def test_a_name_of_the_site_file_is_used_already(keep, folder):
    """Told at the row, with the place of the first."""
    folder.append('[[circuits]]\nid = "1F2"\ncabinet = "UV2"\n')
    found = told(keep())
    assert "circuits[0]" in found["circuits.csv", "row 3, id"]


def test_a_broken_cabinet_does_not_hide_behind_its_circuits(keep):
    """What names it stays quiet."""
    found = told(keep(cabinets=CABINETS.replace("31,5", "315")))
    assert list(found) == [("cabinets.csv", "row 2, air_temperature_degc")]


def test_without_a_site_file_only_rows_are_judged(keep, folder):
    """Nothing is said of cabinets that nobody could read."""
    folder.toml("[[[")
    assert {file for file, _ in told(keep())} == {"site.toml"}


def test_no_spreadsheet_is_proposed_as_a_frame(keep):
    """A form that finds files leaves these alone."""
    found = proposed(keep(), {})
    files = [entry["file"] for table in ("frames", "loggers") for entry in found[table]]
    assert not [file for file in files if file.endswith(("circuits.csv", "cabinets.csv"))]


def test_a_further_visit_has_the_tables_without_what_is_read_anew(keep, tmp_path):
    """The same rows and columns, currents and air left empty; the old ones in the earlier visit."""
    new = write_new_site(tmp_path / "again", again=keep())
    assert (new / "cabinets.csv").read_text("utf-8") == (
        "id;name;room;air_temperature_degc;seen\nUV1;Office;cellar;;directly\nUV2;Hall;;;opaque cover\n"
    )
    assert (new / "circuits.csv").read_text("utf-8").splitlines()[1] == "1F1;UV1;L1;16;;"
    assert (new / "earlier" / "circuits.csv").read_text("utf-8") == CIRCUITS


def test_circuits_of_a_site_file_are_taken_over_too(keep, folder, tmp_path):
    """Without what was measured."""
    folder.append('[[cabinets]]\nid = "K"\nair_temperature_degc = 31.0\nseen = "directly"\n')
    text = (write_new_site(tmp_path / "again", again=folder.path) / "site.toml").read_text("utf-8")
    assert '[[cabinets]]\nid = "K"\nseen = "directly"\n' in text
