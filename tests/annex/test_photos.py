from io import BytesIO

import pytest
from PIL import Image

from thermalkit.annex.photos import photo_bytes, photo_uri


@pytest.fixture
def photo(tmp_path):
    """A wide photo lying on its side, with owner, position and a comment, red on its left edge."""
    path = tmp_path / "photo.jpg"
    picture = Image.new("RGB", (1600, 800), "white")
    picture.paste((255, 0, 0), (0, 0, 200, 800))
    exif = Image.Exif()
    exif[0x0112] = 6  # turn a quarter clockwise to see it upright
    exif[0x013B] = "Owner Invented"
    exif.get_ifd(0x8825)[1] = "N"
    picture.save(path, exif=exif, comment=b"serial 4711", icc_profile=b"profile")
    return path


def test_photo_carries_nothing_but_pixels(photo):
    """Owner, position, comment and profile are gone."""
    data = photo_bytes(photo)
    opened = Image.open(BytesIO(data))
    assert not opened.getexif()
    assert not {"exif", "comment", "icc_profile", "xmp", "photoshop"} & set(opened.info)
    assert b"Invented" not in data
    assert b"4711" not in data


def test_photo_stands_upright_and_is_scaled_down(photo):
    """What was the left edge is the upper one; the longer side has 1200 pixels."""
    opened = Image.open(BytesIO(photo_bytes(photo)))
    assert opened.size == (600, 1200)
    assert opened.getpixel((300, 20))[1] < 60
    assert opened.getpixel((300, 1100))[1] > 200


def test_photo_is_the_same_each_time(photo):
    """Two builds give equal bytes."""
    assert photo_bytes(photo) == photo_bytes(photo)


def test_see_through_picture_lies_on_white(tmp_path):
    """A PNG with nothing in it comes out white, not black."""
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(tmp_path / "p.png")
    assert min(Image.open(BytesIO(photo_bytes(tmp_path / "p.png"))).getpixel((10, 10))) > 250


def test_file_without_picture_gives_none(tmp_path):
    """No picture, no guess."""
    (tmp_path / "p.jpg").write_bytes(b"\xff\xd8 nothing")
    assert photo_uri(tmp_path / "p.jpg") is None


def test_picture_with_a_palette_is_scaled_smoothly(tmp_path):
    """Black and white lines in a palette become grey, not every other line."""
    striped = Image.new("L", (2400, 20))
    striped.putdata([255 * (x % 2) for _ in range(20) for x in range(2400)])
    striped.convert("P").save(tmp_path / "a.png")
    with Image.open(BytesIO(photo_bytes(tmp_path / "a.png"))) as small:
        low, high = small.convert("L").getextrema()
    assert 100 < low <= high < 155


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF", "WEBP"])
def test_only_the_two_kinds_of_photo_are_decoded(tmp_path, kind):
    """Whatever the name says; the fewer decoders, the less a hostile file can reach."""
    Image.new("RGB", (9, 9)).save(tmp_path / "a.jpg", kind)
    assert photo_bytes(tmp_path / "a.jpg") is None


def test_a_damaged_photo_is_quiet(tmp_path, recwarn):
    """Damaged metadata are no warning on the surveyor's terminal."""
    Image.new("RGB", (9, 9)).save(tmp_path / "a.jpg", exif=b"Exif\0\0II*\0\x08\0\0\0\x09\0\x12\x01\x03\0")
    assert photo_bytes(tmp_path / "a.jpg") is not None
    assert not recwarn.list
