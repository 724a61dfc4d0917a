"""Paths stay inside the folder; sizes and kinds of files are checked before they are read."""

import os
import struct
import zlib

import pytest
from PIL import Image

from thermalkit.errors import ReadingError
from thermalkit.site import files, read_site

PHOTO = 'frames[0].photo ("corner")'
FRAME = 'frames[0].file ("corner")'


def found_in(folder):
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    return {p.place or p.file: str(p) for p in caught.value.problems}


@pytest.mark.parametrize(
    "path",
    [
        "../corner.png",
        "photos/../../corner.png",
        "/etc/corner.png",
        "photos\\\\corner.png",
        "C:/corner.png",
        "photos//corner.png",
        "./photos/corner.png",
        "photos/\\u202Ecorner.png",
        "photos/\\u0000.png",
        "photos/a\\nb.png",
        ".",
    ],
)
def test_path_that_may_lead_out_is_refused(folder, path):
    """Parents, roots, drives, backslashes and unprintable characters are refused by their form."""
    folder.replace("photos/corner.png", path)
    message = found_in(folder)[PHOTO]
    assert "path inside the folder" in message
    assert "\u202e" not in message
    assert message.count("\n") == 1


def test_link_out_of_the_folder_is_refused(folder, tmp_path):
    """A symbolic link to a file outside is refused, also through a linked folder."""
    Image.new("RGB", (4, 4)).save(tmp_path / "out.png")
    (folder.path / "photos" / "link.png").symlink_to(tmp_path / "out.png")
    folder.replace("photos/corner.png", "photos/link.png")
    assert "leads out of the site folder" in found_in(folder)[PHOTO]
    (folder.path / "linked").symlink_to(tmp_path)
    folder.replace("photos/link.png", "linked/out.png")
    assert "leads out of the site folder" in found_in(folder)[PHOTO]


def test_site_file_and_readings_that_link_out_are_refused(folder, tmp_path):
    """The two fixed names get no better treatment."""
    for name in ("site.toml", "readings.csv"):
        (folder.path / name).rename(tmp_path / name)
        (folder.path / name).symlink_to(tmp_path / name)
    found = found_in(folder)
    assert "leads out" in found["site.toml"]
    assert "leads out" in found["readings.csv"]


def test_link_within_the_folder_is_followed(folder):
    """A link that stays inside does no harm."""
    (folder.path / "photos" / "link.png").symlink_to("corner.png")
    folder.replace("photos/corner.png", "photos/link.png")
    assert "photos/link.png" in read_site(folder.path).files


def test_link_loop_is_refused(folder):
    """Links that go round in a circle end in a message."""
    (folder.path / "photos" / "a.png").symlink_to("b.png")
    (folder.path / "photos" / "b.png").symlink_to("a.png")
    folder.replace("photos/corner.png", "photos/a.png")
    assert "cannot be opened" in found_in(folder)[PHOTO]


def test_site_folder_may_itself_be_a_link(folder, tmp_path):
    """The folder that the user names may be reached by a link."""
    (tmp_path / "shortcut").symlink_to(folder.path)
    assert read_site(tmp_path / "shortcut").keys.format == 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
@pytest.mark.parametrize(("name", "place"), [("thermal/corner.npy", FRAME), ("site.toml", "site.toml")])
def test_pipe_is_refused_without_waiting(folder, name, place):
    """A named pipe would block whoever opens it."""
    (folder.path / name).unlink()
    os.mkfifo(folder.path / name)
    assert "not a file" in found_in(folder)[place]


def test_folder_in_place_of_a_file(folder):
    """A folder of that name is no file."""
    (folder.path / "photos" / "d.png").mkdir()
    folder.replace("photos/corner.png", "photos/d.png")
    assert "not a file" in found_in(folder)[PHOTO]


def test_missing_file_with_other_capitals(folder):
    """A name that differs in capitals only is offered."""
    folder.replace("photos/corner.png", "photos/Corner.PNG")
    if (folder.path / "photos/Corner.PNG").exists():
        pytest.skip("this file system does not tell capitals apart")
    assert 'There is "corner.png"; capitals count.' in found_in(folder)[PHOTO]


def test_missing_file_whose_accents_are_stored_in_another_way(folder):
    """As an archive packed on another system brings it: the two names look the same."""
    (folder.path / "photos" / "corner.png").rename(folder.path / "photos" / "Ku\u0308che.png")
    folder.replace("photos/corner.png", "photos/K\u00fcche.png")
    assert "stores its accents in another way" in found_in(folder)[PHOTO]


def test_a_link_that_leads_nowhere_offers_no_name(folder):
    """Its own name is no other one."""
    (folder.path / "photos" / "corner.png").unlink()
    (folder.path / "photos" / "corner.png").symlink_to("nowhere.png")
    assert "capitals" not in found_in(folder)[PHOTO]


def test_too_long_site_file(folder):
    """More than a megabyte of text is not parsed."""
    folder.append("# " + "x" * files.LARGEST_SITE_FILE)
    assert "at most 1 MB" in found_in(folder)["site.toml"]


def test_file_that_grows_while_it_is_read(folder, monkeypatch):
    """The limit holds for what is read, not only for what was announced."""
    monkeypatch.setattr(files, "inner_file", lambda folder, relative, largest: folder / relative)
    with pytest.raises(ReadingError, match="grew"):
        files.file_bytes(folder.path, "site.toml", 10)


def test_file_that_may_not_be_read(folder, monkeypatch):
    """A refusal by the system is a problem, not a traceback."""
    monkeypatch.setattr(files, "inner_file", lambda folder, relative, largest: folder / "none" / relative)
    with pytest.raises(ReadingError, match="cannot be opened"):
        files.file_bytes(folder.path, "site.toml", 10)
    with pytest.raises(ReadingError, match="cannot be opened"):
        files.file_sha256(folder.path, "site.toml", 10)


def test_photo_too_large(folder, monkeypatch):
    """A photo has a limit in bytes."""
    monkeypatch.setitem(files.LARGEST, "photo", 10)
    assert "at most" in found_in(folder)[PHOTO]


def test_photo_that_is_no_picture(folder):
    """The header decides, not the name."""
    (folder.path / "photos" / "corner.png").write_text("<svg onload=alert(1)>")
    assert "not a picture that can be read" in found_in(folder)[PHOTO]


@pytest.mark.parametrize("side", [11_000, 60_000])
def test_photo_of_too_many_pixels(folder, side):
    """A small file that declares a huge picture is refused by its header."""
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + head
    content = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))
    content += struct.pack(">I", 0) + b"IDAT" + struct.pack(">I", zlib.crc32(b"IDAT"))
    (folder.path / "photos" / "corner.png").write_bytes(content)
    assert "at most 100 million pixels" in found_in(folder)[PHOTO]


def test_wrong_kind_of_file(folder):
    """A frame must be one of the open formats."""
    folder.replace("thermal/corner.npy", "thermal/corner.gif")
    assert "a name that ends in .csv" in found_in(folder)[FRAME]


def test_too_many_frames(folder):
    """The number of frames is bounded."""
    entry = '[[frames]]\nid = "f{}"\nfile = "thermal/none.npy"\nsubject = "wall"\nvalues = "surface"\n'
    folder.append("".join(entry.format(i) for i in range(500)))
    assert "at most 500" in found_in(folder)["frames"]
