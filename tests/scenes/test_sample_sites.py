"""The invented sites that come with the project are what their makers make."""

import runpy
import tomllib
from pathlib import Path

import numpy as np
import pytest
import tifffile

from thermalkit.diagnosis.overlay import FIXED_POINT
from thermalkit.site.folder import read_site
from thermalkit.site.loggers import days_covered

SITES = Path(__file__).parents[2] / "sample_sites"
NAMES = sorted(path.parent.name for path in SITES.glob("*/make.py"))
MOST_BYTES = 700_000


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
            assert (kept / path).read_bytes() == (anew / path).read_bytes()
        else:
            assert (kept / path).stat().st_size > 0


def test_the_door_reads_it(pair):
    """No problem in it."""
    site = read_site(pair[0])
    assert site.frames
    assert all(frame.photo for frame in site.frames.values())


def test_only_the_reference_is_marked(pair):
    """Everything else is left to whoever works the case, but for what ties two visits together."""
    site = read_site(pair[0])
    assert [(m.frame, m.id, m.role) for m in site.keys.marks if m.role != FIXED_POINT] == [
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


def test_what_a_site_teaches_is_true_of_it():
    """Wet places are colder than the sound wall, the old stain is not; loggers last a fortnight."""
    coldest = {name: truth(name)["marks"][0]["surface_degc"] for name in NAMES if "marks" in truth(name)}
    sound = {name: truth(name)["marks"][1]["surface_degc"] for name in coldest}
    for name in ("ground-moisture", "pipe-leak", "rain-gable"):
        assert coldest[name] < sound[name] - 1.5
        assert truth(name)["frames"][0]["stains"][0]["wetness"] > 0.5
    assert coldest["old-stain"] > sound["old-stain"] - 0.5
    for name in ("ground-moisture", "pipe-leak", "rain-gable", "cooled-bedroom"):
        loggers = read_site(SITES / name).loggers
        assert all(days_covered(series) >= 14.0 for series in loggers.values())


def test_the_visit_is_the_last_entry_of_its_loggers():
    """Room and outdoors as written down and as logged agree within their instruments."""
    for name in ("ground-moisture", "pipe-leak", "rain-gable", "cooled-bedroom"):
        site = read_site(SITES / name)
        for series in site.loggers.values():
            last = series.table.iloc[-1]
            if series.keys.place == "room":
                assert last["temperature_degc"] == pytest.approx(
                    site.keys.rooms[0].air_temperature_degc, abs=0.8
                )
                percent = site.keys.rooms[0].relative_humidity_percent
                assert 100.0 * last["relative_humidity"] == pytest.approx(percent, abs=6.0)
            if series.keys.place == "outdoor":
                outdoor = site.keys.weather.air_temperature_degc
                assert last["temperature_degc"] == pytest.approx(outdoor, abs=0.8)


def test_the_patch_on_the_gable_is_wetter_after_rain_with_wind():
    """The logger on it reads colder against the room in the day after driving rain than before it."""
    loggers = read_site(SITES / "rain-gable").loggers
    drop = (
        loggers["attic-air"].table["temperature_degc"] - loggers["patch"].table["temperature_degc"]
    ).to_numpy()
    assert drop[250:274].mean() > drop[210:234].mean() + 0.5


@pytest.mark.parametrize("name", ["cold-corner", "rain-gable", "cannot-answer"])
def test_a_place_that_could_not_be_seen_is_listed(name):
    """And why."""
    looked_at = read_site(SITES / name).keys.looked_at
    assert any(item.looked == "not possible" and item.why for item in looked_at)
