"""The invented sites that come with the project are what their makers make."""

import runpy
import tomllib
from pathlib import Path

import numpy as np
import pytest
import tifffile

from thermalkit.site.folder import read_site

SITES = Path(__file__).parents[2] / "sample_sites"
NAMES = ("cold-corner", "sound-wall")
MOST_BYTES = 600_000


@pytest.fixture(scope="module", params=NAMES)
def pair(request, tmp_path_factory):
    """A sample site and the same one made anew."""
    anew = tmp_path_factory.mktemp(request.param)
    runpy.run_path(str(SITES / request.param / "make.py"))["make"](anew)
    return SITES / request.param, anew


def test_a_site_is_what_its_maker_makes(pair):
    """Text is the same to the letter, frames to the hundredth (the last may differ on another machine)."""
    kept, anew = pair
    for path in sorted(p.relative_to(anew) for p in anew.rglob("*.*")):
        if path.suffix == ".tiff":
            frames = [tifffile.imread(folder / path).astype(int) for folder in pair]
            assert np.max(np.abs(frames[0] - frames[1])) <= 1
        elif path.suffix in {".toml", ".md", ".csv"} and path.name != "truth.toml":
            assert (kept / path).read_text(encoding="utf-8") == (anew / path).read_text(encoding="utf-8")
        else:
            assert (kept / path).stat().st_size > 0


def test_the_door_reads_it(pair):
    """No problem in it."""
    site = read_site(pair[0])
    assert site.frames
    assert all(frame.photo for frame in site.frames.values())


def test_only_the_reference_is_marked(pair):
    """Everything else is left to whoever works the case."""
    site = read_site(pair[0])
    assert [(m.frame, m.id, m.role) for m in site.keys.marks] == [
        (r.frame, r.mark, "sound") for r in site.keys.references
    ]


def test_it_is_small_and_says_that_it_is_invented(pair):
    """A whole class can have a copy; nobody takes it for a real home."""
    files = [
        p for p in pair[0].rglob("*") if p.is_file() and "record" not in p.parts and "annex" not in p.parts
    ]
    assert sum(p.stat().st_size for p in files) < MOST_BYTES
    assert "invented" in (pair[0] / "README.md").read_text(encoding="utf-8")


def truth(name):
    return tomllib.loads((SITES / name / "truth.toml").read_text(encoding="utf-8"))


def test_the_cold_corner_condenses_and_the_sound_wall_does_not():
    """What they teach: 100 % at the corner; below 80 % and above 0.70 everywhere on the sound wall."""
    corner, sound = truth("cold-corner"), truth("sound-wall")
    assert corner["source_of_water"] == "condensation from room air"
    assert max(mark["humidity"] for mark in corner["marks"]) > 1.0
    assert sound["source_of_water"] == "none"
    assert max(mark["humidity"] for mark in sound["marks"]) < 0.6
    assert min(mark["factor"] for mark in sound["marks"]) > 0.9


def test_a_place_that_could_not_be_seen_is_listed():
    """And why."""
    looked_at = read_site(SITES / "cold-corner").keys.looked_at
    assert any(item.looked == "not possible" and item.why for item in looked_at)
