"""Coloured pictures in a site folder: what the strip leaves open reaches every temperature."""

import numpy as np
import pytest
from PIL import Image
from pytest import approx, raises

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.surface import spot_degc, view
from thermalkit.errors import ReadingError
from thermalkit.language import texts_in
from thermalkit.site.folder import read_site

SITE_TOML = """\
format = 1
[site]
name = "Invented"
surveyed_at = 2026-01-21T08:30:00+00:00
[instruments.cam]
kind = "thermal_camera"
accuracy_k = {accuracy}
noise_k = 0.0
uniformity_k = 0.0
{detector}
[[rooms]]
id = "room"
air_temperature_degc = 20.0
relative_humidity_percent = 55.0
[[frames]]
id = "wall"
file = "thermal/wall.png"
instrument = "cam"
room = "room"
subject = "wall"
values = "surface"
{strip}
{reference}
"""
STRIP = (
    "strip = {ends = [[210, 250], [11, 250]], cold_degc = 10, warm_degc = 20, area = [[10, 10], [189, 229]]}"
)
REFERENCE = """
[[references]]
frame = "wall"
mark = "sound"
kind = "contact"
temperature_degc = 18.0
[[marks]]
frame = "wall"
id = "sound"
shape = "patch"
points = [[60, 60], [60, 100], [100, 100], [100, 60]]
"""


def colour(share):
    return np.stack([255 * share, 80 + 0 * share, 255 * (1 - share)], axis=-1).round().astype(np.uint8)


@pytest.fixture
def folder_with(tmp_path):
    """A site of one picture of 220 x 180 pixels: 18 °C to the left, 12 °C to the right."""

    def made(*, accuracy=0.0, detector="", strip=STRIP, reference="", outlines=0):
        degc = np.where(np.arange(55) < 40, 18.0, 12.0) + np.random.default_rng(5).normal(0, 0.1, (45, 55))
        screen = np.zeros((230, 270, 3), np.uint8)
        screen[10:190, 10:230] = np.kron(colour((degc - 10) / 10), np.ones((4, 4, 1), np.uint8))
        screen[11:211, 244:257] = colour(np.linspace(1, 0, 200))[:, None]
        if outlines:
            screen[10:190:outlines, 10:230] = colour(np.array(0.5))
        (tmp_path / "thermal").mkdir(exist_ok=True)
        Image.fromarray(screen).save(tmp_path / "thermal" / "wall.png")
        text = SITE_TOML.format(accuracy=accuracy, detector=detector, strip=strip, reference=reference)
        (tmp_path / "site.toml").write_text(text)
        return tmp_path

    return made


def test_a_strip_gives_temperatures_and_the_detectors_pixels(folder_with):
    """The frame is the marked area; its own pixels are told from the file."""
    site = read_site(folder_with())
    frame = site.frames["wall"]
    assert frame.apparent_degc.shape == (180, 220)
    assert np.nanmean(frame.apparent_degc[:, :150]) == approx(18.0, abs=0.03)
    assert frame.pixel_scale == 4.0
    assert any("by the strip marked from 10 to 20 °C" in note for note in texts_in(site.notes, "en"))


def test_rows_and_columns_that_disagree_with_the_file_are_named(folder_with):
    """The instrument's own numbers count; that the file looks otherwise is said."""
    assert not any(
        "looks enlarged" in n
        for n in texts_in(read_site(folder_with(detector="columns = 55\nrows = 45")).notes, "en")
    )
    site = read_site(folder_with(detector="columns = 110\nrows = 90"))
    assert site.frames["wall"].pixel_scale == 2.0
    assert any(
        "looks enlarged 4 times, rows and columns of the camera say 2 times" in n
        for n in texts_in(site.notes, "en")
    )


def test_a_coloured_picture_without_a_strip_says_how_to_describe_one(folder_with):
    """The refusal names the keys."""
    with raises(ReadingError, match=r"strip = \{ends = "):
        read_site(folder_with(strip=""))


def test_ends_and_steps_are_in_the_interval_of_a_spot(folder_with):
    """Two ends rounded to whole degrees, each with a pixel of 200, weighed by where 18 °C lies; by hand.

    Half-widths 0.55 K: variance of the ends is 0.55²/3 (0.2² + 0.8²), and steps add below a hundredth.
    """
    case = Case(site=read_site(folder_with()))
    seen = view(case, "wall")
    spread_k = np.std(spot_degc(case, seen, 18.0, "here"))
    assert spread_k == approx(0.55 / np.sqrt(3) * np.hypot(0.2, 0.8), rel=0.03)
    difference = spot_degc(case, seen, 18.0, "a") - spot_degc(case, seen, 12.0, "b")
    assert np.std(difference) == approx(0.55 / np.sqrt(3) * 0.6 * np.sqrt(2), rel=0.03)


def test_a_reference_reading_takes_the_ends_away_where_it_was_taken(folder_with):
    """At its own temperature only the thermometer is left; six degrees away the span is still open."""
    case = Case(site=read_site(folder_with(reference=REFERENCE)))
    seen = view(case, "wall")
    # Contact thermometers without a stated accuracy: the same at both places, and steps are small.
    near, far = (spot_degc(case, seen, degc, "here") for degc in (18.0, 12.0))
    ends = 0.55 / np.sqrt(3) * 0.6 * np.sqrt(2)
    assert np.var(far) - np.var(near) == approx(ends**2, rel=0.1)


def test_outlines_are_masked_or_the_frame_refused(folder_with):
    """Lines that stand on the strip are finer than a detector pixel; too many leave nothing to read."""
    detector = "columns = 55\nrows = 45"
    site = read_site(folder_with(detector=detector, outlines=30))
    assert np.isnan(site.frames["wall"].apparent_degc[0::30]).all()
    assert any("outlines of the visible picture" in note for note in texts_in(site.notes, "en"))
    with raises(ReadingError, match="outlines of the visible picture over"):
        read_site(folder_with(detector=detector, outlines=5))
