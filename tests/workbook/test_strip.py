"""A surveyor marks a strip: the result is seen at once, and kept beside the frame."""

import numpy as np
import pytest
from PIL import Image

from thermalkit.site import read_site
from thermalkit.workbook import open_session
from thermalkit.workbook.strip import StripPanel

SITE_TOML = """\
format = 1
[site]
name = "Invented"
surveyed_at = 2026-01-21T08:30:00+00:00
# the only frame
[[frames]]
id = "wall"
file = "{file}"
subject = "wall"
values = "surface"
"""
POINTS = [[110, 150], [11, 150], [10, 10], [109, 129]]


def colour(share):
    return np.stack([255 * share, 80 + 0 * share, 255 * (1 - share)], axis=-1).round().astype(np.uint8)


@pytest.fixture
def folder(tmp_path):
    """One picture: a wall from 10 °C above to 20 °C below, with a white marker."""
    screen = np.zeros((130, 170, 3), np.uint8)
    screen[10:110, 10:130] = colour(np.linspace(0.1, 0.9, 100))[:, None]
    screen[11:111, 144:157] = colour(np.linspace(1, 0, 100))[:, None]
    screen[50:54, 40:60] = 255
    (tmp_path / "thermal").mkdir()
    Image.fromarray(screen).save(tmp_path / "thermal" / "wall.png")
    (tmp_path / "site.toml").write_text(SITE_TOML.format(file="thermal/wall.png"))
    return tmp_path


def test_a_marked_strip_is_shown_and_kept(folder):
    """Temperatures and mask follow the marks; the site file keeps its comments and can then be read."""
    session = open_session("damp", folder)
    assert session.problems
    panel = StripPanel(session)
    assert panel._keep.disabled
    assert "Click the first" in panel._said.value
    panel._marker.points = POINTS
    assert "11.0 to 19.0 °C" in panel._said.value
    assert "data:image/png" in panel._said.value
    panel._warm.value = 30.0
    assert "12.0 to 28.0 °C" in panel._said.value
    panel.save()
    assert "# the only frame" in (folder / "site.toml").read_text()
    frame = read_site(folder).frames["wall"]
    assert frame.keys.strip.warm_degc == 30.0
    assert np.isnan(frame.apparent_degc[40:44, 30:50]).all()
    assert not session.problems
    again = StripPanel(session)
    assert again._marker.points == POINTS
    assert again._warm.value == 30.0


def test_a_strip_that_cannot_be_read_is_not_kept(folder):
    """The refusal stands beside the picture."""
    panel = StripPanel(open_session("damp", folder))
    panel._marker.points = [[20, 150], [11, 150], [10, 10], [109, 129]]
    assert "a strip 10 pixels long" in panel._said.value
    assert panel._keep.disabled


def test_a_file_that_no_frame_names_waits_for_the_visit(folder):
    """The strip belongs to a frame."""
    session = open_session("damp", folder)
    (folder / "site.toml").write_text(SITE_TOML.format(file="thermal/other.png"))
    panel = StripPanel(session)
    panel._marker.points = POINTS
    panel.save()
    assert "save the visit above first" in panel._said.value


def test_the_visit_shows_the_strip_where_a_picture_is_coloured(folder, site_folder):
    """Nobody has to know a command; a folder of numbers is not bothered."""
    shown = [type(child) for child in open_session("damp", folder).site_form().children]
    assert StripPanel in shown
    assert StripPanel not in [type(c) for c in open_session("damp", site_folder).site_form().children]


def test_without_coloured_pictures_there_is_nothing_to_mark(site_folder):
    """A folder of numbers says so."""
    assert "No coloured picture" in StripPanel(open_session("damp", site_folder))._said.value
