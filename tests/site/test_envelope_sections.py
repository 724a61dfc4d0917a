"""Junctions, fans and heat flux plates as they are written down."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site import read_site
from thermalkit.site.sections.junctions import JunctionKeys, dimensions

JUNCTION = """
[[junctions]]
frame = "wall"
mark = "box"
detail = "{detail}"
family = "{family}"
known = "{known}"
"""
RIGHT = {
    "detail": "shutter-box",
    "family": "solid brick before 1920",
    "known": "masonry_mm = 300, lining_w_mk = 0.04",
}


def test_what_is_known_of_a_junction(folder):
    folder.append(JUNCTION.format(**RIGHT).replace('frame = "wall"', f'frame = "{folder_frame(folder)}"'))
    (junction,) = read_site(folder.path).sections(JunctionKeys)
    assert junction.detail == "shutter-box"
    assert dimensions(junction.known) == {"masonry_mm": 300.0, "lining_w_mk": 0.04}


def folder_frame(folder):
    return next(iter(read_site(folder.path).frames))


@pytest.mark.parametrize(
    ("key", "value", "place"),
    [
        ("detail", "shutter box", "detail"),
        ("family", "castle", "family"),
        ("known", "masonry 300", "known"),
        ("known", "masonry_mm = thick", "known"),
    ],
)
def test_a_name_that_is_none_is_a_problem(folder, key, value, place):
    """The message names the key."""
    frame = folder_frame(folder)
    folder.append(JUNCTION.format(**{**RIGHT, key: value}).replace('"wall"', f'"{frame}"'))
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    assert [p.place for p in caught.value.problems] == [f"junctions[0].{place}"]


def test_dimensions_of_another_form_are_refused():
    with pytest.raises(ValueError, match="masonry"):
        dimensions("masonry 300")


def test_a_fan_and_a_plate_name_what_is_listed(folder):
    """Frames and loggers that are not there are problems."""
    frame = folder_frame(folder)
    folder.append(f'[[pressure]]\nframe = "{frame}"\nsame_view_as = "nowhere"\n')
    folder.append('[[heat_flux]]\nid = "a"\nplate = "p"\nindoor = "i"\noutdoor = "o"\n')
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    assert {p.place for p in caught.value.problems} == {
        "pressure[0].same_view_as",
        'heat_flux[0].plate ("a")',
        'heat_flux[0].indoor ("a")',
        'heat_flux[0].outdoor ("a")',
    }
