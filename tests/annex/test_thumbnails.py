import base64
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from thermalkit.annex.thumbnails import thumbnail_uri

PATCH = {"shape": "patch", "points": [[20, 20], [20, 60], [80, 60], [80, 20]]}


def picture(surface, mark):
    uri = thumbnail_uri(surface, mark)
    assert uri.startswith("data:image/png;base64,")
    return Image.open(BytesIO(base64.b64decode(uri.partition(",")[2])))


@pytest.fixture
def wall():
    """From 5 degC at the left to 20 degC at the right, one corner masked."""
    surface = np.tile(np.linspace(5.0, 20.0, 160), (120, 1))
    surface[:10, :10] = np.nan
    return surface


def test_thumbnail_is_small_and_the_same_each_time(wall):
    """A few kilobytes, byte for byte."""
    assert thumbnail_uri(wall, PATCH) == thumbnail_uri(wall, PATCH)
    assert len(thumbnail_uri(wall, PATCH)) < 20_000
    assert picture(wall, PATCH).size == (240, 180)


def test_upright_frame_keeps_its_proportions(wall):
    """A camera held upright gives an upright picture."""
    assert picture(wall.T, {"shape": "pin", "points": [[80, 60]]}).size == (135, 180)


def test_colours_are_those_of_cividis(wall):
    """Cold is the dark end, warm the bright one (Nunez, Anderton and Renslow 2018: 00224e to fee838)."""
    pixels = picture(wall, {"shape": "pin", "points": [[60, 80]]}).convert("RGB")
    assert np.abs(np.subtract(pixels.getpixel((2, 170)), (0x00, 0x22, 0x4E))).max() < 12
    assert np.abs(np.subtract(pixels.getpixel((237, 170)), (0xFE, 0xE8, 0x38))).max() < 12


@pytest.mark.parametrize(
    ("mark", "white", "black"),
    [
        (PATCH, (31, 60), (28, 60)),
        ({"shape": "trace", "points": [[60, 20], [60, 140]]}, (120, 91), (120, 88)),
        ({"shape": "pin", "points": [[60, 80]]}, (115, 91), (112, 91)),
    ],
)
def test_place_is_outlined_in_white_beside_black(wall, mark, white, black):
    """Seen on any ground."""
    pixels = picture(wall, mark).convert("RGB")
    assert pixels.getpixel(white) == (255, 255, 255)
    assert pixels.getpixel(black) == (0, 0, 0)


def test_even_frame_is_no_trouble():
    """Where all is equally warm there is still a picture."""
    assert picture(np.full((30, 40), 12.0), {"shape": "pin", "points": [[15, 20]]}).size == (240, 180)
