"""Folders below a site deeper than any of its paths may be: nobody follows them, nothing stops at them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from thermalkit.portfolio.rows import fingerprint_of
from thermalkit.site import read_site, write_new_site

DEEP = 1100  # calls may not be nested as deep
SAMPLE = Path(__file__).parents[2] / "sample_sites" / "sound-wall"


@pytest.fixture(scope="module")
def deep(tmp_path_factory):
    """A sample site with an archive below its photos; taken away again, which pytest could not do."""
    site = tmp_path_factory.mktemp("deep") / "site"
    shutil.copytree(SAMPLE, site, ignore=shutil.ignore_patterns("annex", "__pycache__"))
    inner = site / "photos"
    for _ in range(DEEP):
        inner /= "a"
        inner.mkdir()
    yield site
    for _ in range(DEEP):
        inner.rmdir()
        inner = inner.parent


def test_a_further_visit_leaves_them_behind(deep, tmp_path):
    """A path of a site file has at most 255 characters, so that nothing of the visit is lost."""
    new = write_new_site(tmp_path / "new", again=deep)
    assert read_site(new / "earlier").files == read_site(deep).files


def test_a_fingerprint_counts_what_a_site_file_can_name(deep):
    """255 characters are 7 of `photos/`, 2 for each of 122 folders below, and 4 of the file's name."""
    folder = deep / "photos" / "/".join("a" * 122)
    before = fingerprint_of(deep, "damp")
    too_long = folder / "abcde"
    too_long.write_bytes(b"")
    assert fingerprint_of(deep, "damp") == before
    nameable = too_long.rename(folder / "abcd")
    assert fingerprint_of(deep, "damp") != before
    nameable.unlink()
