"""Files in a folder propose their own entries."""

import os
from datetime import UTC, datetime

import numpy as np
import pytest
import tifffile
from PIL import ExifTags, Image

from thermalkit.site.found import files_found, first_moment, proposed, readings_rows

READINGS = """\
place,taken_at,quantity,value,unit,instrument
bedroom,2026-01-21T08:50:00+00:00,air temperature,17.2,degC,hygro
bedroom,2026-01-21T08:50:00+00:00,relative humidity,63.2,%,hygro
wall,2026-01-21T08:50:00+00:00,masonry moisture,4,% by mass,meter
"""
LOGGER = "Time;Temperature;RH\n" + "".join(f"2026-01-{d:02} 12:00;17,5;60\n" for d in range(1, 20))


@pytest.fixture
def folder(tmp_path):
    """Two frames, two photos, a logger and readings, dropped into a folder."""
    for name in ("thermal", "photos", "loggers", "annex"):
        (tmp_path / name).mkdir()
    kelvin = np.full((20, 30), 29015, dtype=np.uint16)
    tifffile.imwrite(tmp_path / "thermal" / "corner.tiff", kelvin)
    np.save(tmp_path / "thermal" / "wall.npy", np.full((20, 30), 17.0))
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2026:01:21 08:42:00"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.OffsetTimeOriginal] = "+00:00"
    Image.new("RGB", (8, 8)).save(tmp_path / "photos" / "corner.jpg", exif=exif)
    Image.new("RGB", (8, 8)).save(tmp_path / "photos" / "porch.png")
    (tmp_path / "loggers" / "outside.csv").write_text(LOGGER)
    (tmp_path / "readings.csv").write_text(READINGS)
    (tmp_path / "annex" / "old.png").write_bytes(b"")
    stamp = datetime(2026, 1, 21, 9, 0, tzinfo=UTC).timestamp()
    for path in tmp_path.rglob("*.*"):
        os.utime(path, (stamp, stamp))
    return tmp_path


def test_files_are_sorted_by_use(folder):
    """A photo is no frame because it is a png, and what is made is not evidence."""
    assert files_found(folder) == {
        "frame": ["thermal/corner.tiff", "thermal/wall.npy"],
        "photo": ["photos/corner.jpg", "photos/porch.png"],
        "logger": ["loggers/outside.csv"],
    }


def test_every_file_and_every_name_in_the_readings_gets_an_entry(folder):
    """Times from the photo or the file, scale from the numbers, rooms and instruments from the readings."""
    found = proposed(folder, {})
    assert found["instruments"] == [
        {"id": "cam", "kind": "thermal_camera"},
        {"id": "hygro", "kind": "thermohygrometer"},
        {"id": "meter", "kind": "moisture_meter"},
    ]
    assert found["rooms"] == [
        {
            "id": "bedroom",
            "air_temperature_degc": "17.2",
            "relative_humidity_percent": "63.2",
            "instrument": "hygro",
        }
    ]
    corner, wall = found["frames"]
    assert corner["taken_at"] == datetime(2026, 1, 21, 8, 42, tzinfo=UTC)
    assert wall["taken_at"] == datetime(2026, 1, 21, 9, 0, tzinfo=UTC)
    assert (corner["scale"], corner["offset"]) == (0.01, -273.15)
    assert "scale" not in wall
    assert corner["photo"] == "photos/corner.jpg"
    assert "photo" not in wall
    assert (corner["room"], corner["instrument"]) == ("bedroom", "cam")
    assert found["loggers"] == [{"id": "outside", "file": "loggers/outside.csv", "place": "outdoor"}]
    assert first_moment(folder) == datetime(2026, 1, 21, 8, 42, tzinfo=UTC)


def test_nothing_is_proposed_twice(folder):
    """What the site file names already is left alone."""
    written = {
        "instruments": {"c": {"kind": "thermal_camera"}, "hygro": {}, "meter": {}},
        "rooms": [{"id": "bedroom"}],
        "frames": [{"file": "thermal/corner.tiff"}, {"file": "thermal/wall.npy"}],
        "loggers": [{"file": "loggers/outside.csv"}],
    }
    assert not any(proposed(folder, written).values())


def test_files_dropped_beside_the_folders_are_found_too(tmp_path):
    """A table over time is a logger's, a table of numbers a frame."""
    (tmp_path / "cellar.csv").write_text(LOGGER)
    np.savetxt(tmp_path / "corner.csv", np.full((20, 30), 17.0), delimiter=",", fmt="%.1f")
    found = proposed(tmp_path, {})
    assert [item["id"] for item in found["loggers"]] == ["cellar"]
    assert [item["id"] for item in found["frames"]] == ["corner"]


@pytest.mark.parametrize("content", [b"place,colour\na,b\n", b"\xff\xfe", b"place,value\na\n"])
def test_readings_that_a_form_cannot_show_are_left_alone(tmp_path, content):
    """Unknown headings, another encoding, torn rows."""
    (tmp_path / "readings.csv").write_bytes(content)
    assert readings_rows(tmp_path) is None


def test_an_empty_folder_proposes_nothing(tmp_path):
    """No file, no entry, no time."""
    assert not any(proposed(tmp_path, {}).values())
    assert first_moment(tmp_path) is None
