"""An earlier visit stands inside the later one, is read with it, and cannot spoil it."""

import shutil

import numpy as np
import pytest

from thermalkit.errors import ReadingError
from thermalkit.language import texts_in
from thermalkit.site import read_site, write_new_site

EARLIER = "2025-01-22T08:30:00+00:00"


@pytest.fixture
def again(folder):
    """The invented site with the same visit a year before in it."""
    shutil.copytree(folder.path, folder.path.parent / "old")
    shutil.move(folder.path.parent / "old", folder.path / "earlier")
    path = folder.path / "earlier" / "site.toml"
    path.write_text(path.read_text("utf-8").replace("2026-01-21T08:30:00+00:00", EARLIER), "utf-8")
    return folder


def test_it_is_a_site_of_its_own(again):
    """Read whole, its files among those of the later visit with their sums."""
    (again.path / "earlier" / "record" / "damp.json").write_text("{}", "utf-8")
    site = read_site(again.path)
    assert site.earlier is not None
    assert site.earlier.keys.site.surveyed_at.year == 2025
    assert list(site.earlier.frames) == ["corner"]
    assert site.earlier_problems == ()
    assert site.files["earlier/thermal/corner.npy"] == site.files["thermal/corner.npy"]
    assert {"earlier/site.toml", "earlier/readings.csv", "earlier/record/damp.json"} <= set(site.files)
    assert "earlier/record/damp.json" not in site.earlier.files


def test_without_such_a_folder_there_is_none(folder):
    site = read_site(folder.path)
    assert site.earlier is None
    assert site.earlier_problems == ()


@pytest.mark.parametrize("leads", [".", "..", "/", "nowhere"])
def test_a_link_is_refused_wherever_it_leads(folder, leads):
    """Round in circles, out of the folder, or nowhere: one problem, and this visit is judged."""
    (folder.path / "earlier").symlink_to(leads)
    site = read_site(folder.path)
    assert site.earlier is None
    [problem] = site.earlier_problems
    assert str(problem).startswith("earlier: a link")


def test_a_file_is_no_visit(folder):
    (folder.path / "earlier").write_text("", "utf-8")
    [problem] = read_site(folder.path).earlier_problems
    assert "not a folder" in str(problem)


def test_a_broken_one_is_named_and_does_not_stop_this_visit(again):
    """Every problem under its path; the later visit is as it was."""
    path = again.path / "earlier" / "site.toml"
    path.write_text(path.read_text("utf-8").replace('country = "GB"', 'county = "GB"'), "utf-8")
    site = read_site(again.path)
    assert site.earlier is None
    assert [problem.file for problem in site.earlier_problems] == ["earlier/site.toml"]
    assert list(site.frames) == ["corner"]
    assert not any(file.startswith("earlier/") for file in site.files)


def test_problems_of_both_are_told_together(again):
    """Where this visit is broken too, everything comes at once."""
    again.replace('country = "GB"', 'county = "GB"')
    (again.path / "earlier" / "thermal" / "corner.npy").unlink()
    with pytest.raises(ReadingError) as caught:
        read_site(again.path)
    assert {problem.file for problem in caught.value.problems} == {"site.toml", "earlier/site.toml"}


def test_its_files_stay_inside_it(again):
    """Nothing of the later visit can be passed off as the earlier one's."""
    inner = again.path / "earlier" / "thermal" / "corner.npy"
    inner.unlink()
    inner.symlink_to(again.path / "thermal" / "corner.npy")
    [problem] = read_site(again.path).earlier_problems
    assert "leads out" in str(problem)


def test_one_that_is_not_earlier_is_refused(again):
    """Two folders mixed up would turn every change round."""
    path = again.path / "earlier" / "site.toml"
    path.write_text(path.read_text("utf-8").replace(EARLIER, "2026-01-21T08:30:00+00:00"), "utf-8")
    [problem] = read_site(again.path).earlier_problems
    assert (problem.file, problem.place) == ("earlier/site.toml", "site.surveyed_at")


def test_one_within_the_earlier_one_is_not_read(again):
    """One visit is compared with one; it is said, and what is in there may be anything."""
    (again.path / "earlier" / "earlier").symlink_to("..")
    site = read_site(again.path)
    assert site.earlier is not None
    assert site.earlier.earlier is None
    assert any(note.startswith("earlier/earlier is not read") for note in texts_in(site.notes, "en"))


def test_new_again_copies_what_the_visit_consists_of(again):
    """Not its annex, not its own earlier visit, nothing hidden; the copy reads like the original."""
    (again.path / "annex").mkdir()
    (again.path / "annex" / "damp.html").write_text("", "utf-8")
    (again.path / "record" / "damp.json").write_text("{}", "utf-8")
    (again.path / "record" / ".damp.lock").write_text("", "utf-8")
    new = write_new_site(again.path.parent / "new", again=again.path)
    copied = {p.relative_to(new / "earlier").as_posix() for p in (new / "earlier").rglob("*") if p.is_file()}
    assert copied == {
        "site.toml",
        "readings.csv",
        "thermal/corner.npy",
        "photos/corner.png",
        "record/damp.json",
    }
    assert np.array_equal(
        np.load(new / "earlier" / "thermal" / "corner.npy"), np.load(again.path / "thermal" / "corner.npy")
    )


def test_new_again_follows_no_link_out_of_the_old_folder(again, tmp_path):
    """It is refused, and nothing is left behind."""
    (tmp_path / "secret").write_text("x", "utf-8")
    (again.path / "photos" / "more.png").symlink_to(tmp_path / "secret")
    with pytest.raises(ReadingError, match="leads out"):
        write_new_site(tmp_path / "new", again=again.path)
    assert not (tmp_path / "new").exists()
