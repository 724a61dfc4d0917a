"""A site folder is read whole or refused with every problem at once."""

import hashlib

import numpy as np
import pytest
from pytest import approx

from thermalkit.errors import ReadingError
from thermalkit.language import texts_in, words_in
from thermalkit.site import Site, read_site
from thermalkit.site.sections.costs import CostKeys
from thermalkit.site.sections.moisture import MoistureKeys


def problems(folder):
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    return {(p.file, words_in(p.place, "en")): p for p in caught.value.problems}


def test_sound_site_is_read(folder):
    """Keys, frame, readings and fingerprints arrive as written."""
    site = read_site(folder.path)
    frame = site.frames["corner"]
    assert frame.apparent_degc.shape == (16, 24)
    assert frame.camera == site.instrument("cam")
    assert frame.room == site.room("cellar")
    assert (frame.path, frame.photo, frame.emissivity) == ("thermal/corner.npy", "photos/corner.png", 0.93)
    assert [row.value for row in site.readings] == [78.5, 13.9]
    assert [mark.id for mark in site.marks("corner")] == ["sound"]
    assert set(site.files) == {"site.toml", "readings.csv", "thermal/corner.npy", "photos/corner.png"}
    content = (folder.path / "site.toml").read_bytes()
    assert site.files["site.toml"] == hashlib.sha256(content).hexdigest()


def test_site_is_frozen(folder):
    """Neither values, mappings nor attributes can be written to."""
    site = read_site(folder.path)
    with pytest.raises(ValueError, match="read-only"):
        site.frames["corner"].apparent_degc[0, 0] = 1.0
    with pytest.raises(TypeError):
        site.frames["x"] = site.frames["corner"]
    with pytest.raises(AttributeError):
        site.notes = ()


def test_unknown_room_and_instrument_are_key_errors(folder):
    """Ids inside the code are trusted; a wrong one is a programming error."""
    site = read_site(folder.path)
    with pytest.raises(KeyError):
        site.room("attic")
    with pytest.raises(KeyError):
        site.instrument("none")


def test_missing_folder_is_named(tmp_path):
    """A path that is no folder is one problem."""
    with pytest.raises(ReadingError, match="not a folder"):
        read_site(tmp_path / "none")


def test_folder_without_site_file(tmp_path):
    """A folder without site.toml says so."""
    with pytest.raises(ReadingError, match=r"site\.toml: missing"):
        read_site(tmp_path)


def test_readings_are_optional(folder):
    """A site without readings.csv is sound."""
    (folder.path / "readings.csv").unlink()
    assert read_site(folder.path).readings == ()


def test_every_problem_is_listed_at_once(folder):
    """Broken keys, references, files, frames, marks and rows are reported together."""
    folder.replace("relative_humidity_percent = 78.0", "relative_humidity_percent = 0.52")
    folder.replace('id = "corner"', 'id = "corner"\nemissivty = 0.9')
    folder.replace('instrument = "probe"', 'instrument = "prob"')
    folder.replace("photos/corner.png", "photos/none.png")
    folder.replace("[9, 2]]", "[9, 24]]")
    folder.readings("place,quantity,value,unit\ncellar,relative humidity,0.5,%\n")
    folder.frame(np.full((16, 24), 290.0))
    found = problems(folder)
    assert {place for _, place in found if place} >= {
        'rooms[0].relative_humidity_percent ("cellar")',
        'frames[0].emissivty ("corner")',
        "references[0].instrument",
        'frames[0].photo ("corner")',
        "row 2, value",
    }
    assert any(file == "thermal/corner.npy" for file, _ in found)


def test_marks_are_checked_although_another_table_is_broken(folder):
    """A mark outside its frame is found although a room is broken."""
    folder.replace("air_temperature_degc = 12.5", "air_temperature_degc = 999")
    folder.replace("[9, 2]]", "[9, 24]]")
    found = problems(folder)
    assert ("site.toml", 'marks[0].points[2] ("sound")') not in found
    assert "columns 0 to 23" in found["site.toml", 'marks[0].points[3] ("sound")'].told()
    assert len(found) == 2


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        ("format = 1", "format = 2", "format", "1"),
        ('country = "GB"', 'country = "UK"', "site.country", 'Did you mean "GB"?'),
        ('country = "GB"', 'country = "gb"', "site.country", 'Did you mean "GB"?'),
        ('country = "GB"', 'country = "GBR"', "site.country", "2 capital letters"),
        ('name = "Invented cellar"', "name = 3", "site.name", "text in quotes"),
        ('name = "Invented cellar"', 'name = ""', "site.name", "at least 1"),
        ('name = "Invented cellar"', f'name = "{"x" * 2001}"', "site.name", "at most 2000"),
        ('name = "Invented cellar"', "", "site.name", "missing"),
        ("08:30:00+00:00", "08:30:00", "site.surveyed_at", "Add the offset, e.g. +01:00."),
        ("2026-01-21T08:30:00+00:00", "2026-01-21", "site.surveyed_at", "Add the time and the offset"),
        ("2026-01-21T08:30:00+00:00", "1768984200", "site.surveyed_at", "with offset"),
        ("2026-01-21T08:30:00+00:00", '"yesterday"', "site.surveyed_at", "with offset"),
        ("accuracy_k = 0.5", "calibrated_on = 20250601", "instruments.hygro.calibrated_on", "2026-01-21"),
        ("accuracy_k = 0.5", "accuracy_k = true", "instruments.hygro.accuracy_k", "0 to 50"),
        ("accuracy_k = 0.5", "accuracy_k = nan", "instruments.hygro.accuracy_k", "0 to 50"),
        ("accuracy_k = 0.5", f"accuracy_k = {'9' * 400}", "instruments.hygro.accuracy_k", "many digits"),
        ("accuracy_k = 0.5", 'accuracy_k = "0,5"', "instruments.hygro.accuracy_k", "Write 0.5"),
        ("rows = 16", "rows = 16.5", "instruments.cam.rows", "whole number"),
        (
            "air_temperature_degc = 12.5",
            "air_temperature_degc = 285.65",
            'rooms[0].air_temperature_degc ("cellar")',
            "kelvin; did you mean 12.5?",
        ),
        (
            "relative_humidity_percent = 78.0",
            "relative_humidity_percent = 0.52",
            'rooms[0].relative_humidity_percent ("cellar")',
            "fraction; did you mean 52?",
        ),
        (
            "emissivity = 0.93",
            "emissivity = 93",
            'frames[0].emissivity ("corner")',
            "percentage; did you mean 0.93?",
        ),
        (
            "emissivity = 0.93",
            "distance_m = 2000",
            'frames[0].distance_m ("corner")',
            "millimetres; did you mean 2?",
        ),
        ('subject = "wall"', 'subject = "walls"', 'frames[0].subject ("corner")', 'Did you mean "wall"?'),
        ('subject = "wall"', "subject = 1", 'frames[0].subject ("corner")', '"ceiling"'),
        ('currency = "GBP"', 'currencies = "GBP"', "costs.currencies", 'Did you mean "currency"?'),
        ("[costs]", "[cost]", "cost", 'Did you mean "costs"?'),
        ("[[rooms]]", "[rooms]", 'rooms ("cellar")', "[[rooms]] with double brackets"),
        ("[weather]", "[[weather]]", "weather", "a table"),
        ("[costs]", '[instruments."a/b"]\nkind = "logger"\n[costs]', 'instruments."a/b"', "without /"),
        (
            "[costs]",
            '[[rooms]]\nid = " cellar"\n[costs]',
            'rooms[1].id (" cellar")',
            "no space at either end",
        ),
        ("[costs]", '[[rooms]]\nid = ".."\n[costs]', 'rooms[1].id ("..")', "without /"),
        ("[weather]", "[report]\nprivate = 3\n\n[weather]", "report.private", "true or false"),
        (
            "[costs]",
            "[climate]\nmonthly_air_temperature_degc = [1, 2]\n\n[costs]",
            "climate.monthly_air_temperature_degc",
            "at least 12",
        ),
    ],
)
def test_one_problem_names_place_and_fix(folder, old, new, place, words):
    """Each kind of mistake has its place and a sentence that helps."""
    folder.replace(old, new)
    found = problems(folder)
    assert words in str(found.pop(("site.toml", place)))
    assert not found


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = \n", "line 1, column 10"),
        ("format = 1\nformat = 2\n", "line 2, column 11"),
        ("a = " + "[" * 100_000, "nested too deeply"),
        ("a = " + "9" * 5000, "a number or date that does not exist"),
        (".".join(["a"] * 30_000) + " = 1", "a key of very many parts"),
    ],
    ids=["value", "twice", "deep", "digits", "parts"],
)
def test_unreadable_toml_is_one_problem(folder, text, words):
    """Whatever the parser cannot take is said in one sentence, with line and column where known."""
    folder.toml(text)
    found = problems(folder)
    assert len(found) == 1
    assert words in str(*found.values())


def test_instruments_of_an_unreadable_site_file_are_not_missed(folder):
    """Rows raise no second problem where nothing is known of the instruments."""
    folder.toml("format = ")
    assert len(problems(folder)) == 1


def test_unreadable_toml_does_not_hide_bad_readings(folder):
    """Rows are checked although site.toml cannot be parsed."""
    folder.toml("format = ")
    folder.readings("place,quantity,value,unit\ncellar,relative humidity,0.5,%\n")
    assert ("readings.csv", "row 2, value") in problems(folder)


def test_text_that_is_not_utf8(folder):
    """Another encoding is named with the place of the first bad byte."""
    (folder.path / "site.toml").write_bytes(b"# \xe9\n")
    assert "Save it as UTF-8" in str(problems(folder)["site.toml", "byte 3"])


def test_windows_line_ends_and_byte_order_mark(folder):
    """What a text editor on another system adds does no harm."""
    text = (folder.path / "site.toml").read_text()
    (folder.path / "site.toml").write_bytes(text.replace("\n", "\r\n").encode("utf-8-sig"))
    assert read_site(folder.path).keys.site.name == "Invented cellar"


def test_camera_correction_is_undone(folder):
    """A black wall at the reflected temperature shows that temperature whatever the emissivity.

    Limit case by hand: emitted plus reflected radiation of equal temperature is that of a black body.
    """
    folder.frame(np.full((16, 24), 20.0))
    folder.replace(
        'values = "apparent"',
        'values = "camera-corrected"\ncamera_emissivity = 0.5\ncamera_reflected_temperature_degc = 20.0',
    )
    site = read_site(folder.path)
    assert site.frames["corner"].apparent_degc == approx(20.0, abs=0.01)
    assert any("undone" in note for note in texts_in(site.notes, "en"))


def test_camera_correction_moves_towards_the_reflected_temperature(folder):
    """A cold wall in warm surroundings looks warmer than it is, by the share that it reflects."""
    folder.frame(np.full((16, 24), 10.0))
    folder.replace(
        'values = "apparent"',
        'values = "camera-corrected"\ncamera_emissivity = 0.9\ncamera_reflected_temperature_degc = 20.0',
    )
    # Stefan-Boltzmann, whole spectrum, by hand: (0.9 * 283.15^4 + 0.1 * 293.15^4)^(1/4) - 273.15 = 11.05
    assert read_site(folder.path).frames["corner"].apparent_degc == approx(11.05, abs=0.1)


def test_values_where_the_forward_model_does_not_hold(folder):
    """A frame hotter than the camera's forward model knows is a problem, not a traceback."""
    values = np.full((16, 24), 20.0)
    values[:, 12:] = 1900.0
    folder.frame(values)
    folder.replace(
        'values = "apparent"',
        'values = "camera-corrected"\ncamera_emissivity = 0.5\ncamera_reflected_temperature_degc = 20.0',
    )
    assert "outside" in str(problems(folder)["site.toml", 'frames[0].file ("corner")'])


def test_surface_values_are_taken_as_they_are(folder):
    """Surface temperatures need no correction, so their emissivity is 1."""
    folder.replace('values = "apparent"', 'values = "surface"')
    assert read_site(folder.path).frames["corner"].emissivity == 1.0


@pytest.mark.parametrize(
    ("shape", "expected"),
    [((16, 24), 1.0), ((32, 48), 2.0), ((48, 32), 2.0), ((8, 12), 1.0), ((24, 16), 1.0)],
)
def test_enlarged_file_gives_a_pixel_scale(folder, shape, expected):
    """A file twice the detector's size has a scale of 2, held upright or not; a smaller one has 1."""
    folder.replace("points = [[2, 2], [2, 9], [9, 9], [9, 2]]", "points = [[2, 2], [2, 5], [5, 5]]")
    folder.frame(np.full(shape, 12.0))
    assert read_site(folder.path).frames["corner"].pixel_scale == approx(expected)


def test_file_stretched_along_one_axis_is_refused(folder):
    """Twice the rows and the same columns fit no detector."""
    folder.frame(np.full((32, 36), 12.0))
    folder.replace("rows = 16", "rows = 12")
    assert "do not fit a detector" in str(problems(folder)["site.toml", 'frames[0].file ("corner")'])


def test_frames_of_too_many_pixels_together(folder, monkeypatch):
    """The memory of all frames together is bounded."""
    monkeypatch.setattr("thermalkit.site.folder.MOST_PIXELS", 100)
    assert "too many pixels" in str(problems(folder)["site.toml", 'frames[0].file ("corner")'])


def test_broken_frame_is_reported_under_its_own_name(folder):
    """What the reader refuses names the file as the site does."""
    (folder.path / "thermal" / "corner.npy").write_bytes(b"nonsense")
    assert ("thermal/corner.npy", "") in problems(folder)


def test_undrawn_reference_mark_is_noted(folder):
    """A reference may name a mark that is drawn later; it is said so."""
    folder.replace('id = "sound"', 'id = "niche"')
    assert any("still to be drawn" in note for note in texts_in(read_site(folder.path).notes, "en"))


def test_very_many_problems_are_cut(folder):
    """A list that nobody would read ends with how many more there are."""
    folder.readings("place,quantity,value,unit\n" + "x,wood moisture,-1,%\n" * 1000)
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    assert caught.value.problems[-1].told().startswith("site.toml: and at least 800 more")


def test_sections_are_found_by_type(folder):
    """A section that was written is typed; one that was not is None."""
    site = read_site(folder.path)
    assert site.section(CostKeys).heat_price_per_kwh == 0.11
    assert site.section(MoistureKeys) is None
    assert site.sections(CostKeys) == ()


def test_schema_documents_every_key():
    """An editor shows a description for every key of every table."""
    schema = Site.schema()
    assert schema["title"] == "site.toml"
    assert "costs" in schema["properties"]
    for name, table in {"": schema, **schema["$defs"]}.items():
        for key, field in table.get("properties", {}).items():
            assert "description" in field, (name, key)
