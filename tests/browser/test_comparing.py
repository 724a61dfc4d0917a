"""Two visits compared in the annex: one bar, a difference, and one place read in all three pictures."""

import re
from pathlib import Path

import pytest

from thermalkit.annex.build import page as annex_page
from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site import read_site

pytestmark = pytest.mark.browser

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "repaired-corner"


@pytest.fixture(scope="module")
def annexes(tmp_path_factory):
    """The annex in both languages."""
    site = read_site(SAMPLE)
    record = read_record(site.folder, "damp")
    findings = run("damp", site, replay(record), recall(record))
    folder = tmp_path_factory.mktemp("compared")
    for language in ("en", "de"):
        (folder / f"{language}.html").write_bytes(annex_page(findings, site, record, language))
    return folder


def three(page, path):
    """Then, now, and the difference."""
    page.goto(path.as_uri())
    page.wait_for_function(
        "[...document.querySelectorAll('#before-after figure')].every(f => f.querySelector('.tk-marks'))"
    )
    figures = page.locator("#before-after figure").all()
    assert len(figures) == 3
    return figures


def readings(figures):
    """The first number of each readout, and the place it is read at."""
    texts = [figure.locator(".tk-readout").inner_text().replace("\u2212", "-") for figure in figures]
    return [[float(n.replace(",", ".")) for n in re.findall(r"-?\d+[.,]?\d*", text)] for text in texts]


@pytest.mark.parametrize("language", ["en", "de"])
def test_one_bar_and_a_difference_about_zero(page, annexes, language):
    """The limits of the colours are the same then and now, opposite in the difference."""
    figures = three(page, annexes / f"{language}.html")
    bars = [[float(field.input_value()) for field in f.locator("input[type=number]").all()] for f in figures]
    assert bars[0] == bars[1]
    assert bars[2][0] == -bars[2][1] < 0


@pytest.mark.parametrize("by", ["mouse", "keys"])
def test_one_place_is_read_in_all_three(page, annexes, by):
    """At the same spot of the wall, although the camera stood elsewhere; what is spoken comes from one."""
    figures = three(page, annexes / "en.html")
    canvas = figures[1].locator(".tk-marks")
    canvas.scroll_into_view_if_needed()
    if by == "mouse":
        box = canvas.bounding_box()
        page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    else:
        canvas.focus()
        page.keyboard.press("ArrowRight")
    then, now, change = readings(figures)
    assert now[0] - then[0] > 5.0  # the corner is warm now
    assert change[0] > 20.0  # per cent, nearer to the room
    assert then[-2:] != now[-2:]  # taken from places 20 cm apart
    assert change[-2:] == now[-2:]
    spoken = [figure.locator(".tk-readout").get_attribute("aria-live") for figure in figures]
    assert spoken == ["off", "polite", "off"]
    if by == "mouse":
        page.mouse.move(1, 1)
        assert readings(figures)[0] != then


def test_pointing_back_from_the_earlier_picture(page, annexes):
    """A fixed point: the lamp seen then is the lamp now."""
    site = read_site(SAMPLE)
    figures = three(page, annexes / "en.html")
    [old], [new] = (
        [mark.points[0] for mark in visit.marks("corner") if mark.role == "fixed-point"][:1]
        for visit in (site.earlier, site)
    )
    canvas = figures[0].locator(".tk-marks")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    rows, columns = site.frames["corner"].apparent_degc.shape
    page.mouse.move(
        box["x"] + (old[1] + 0.5) / columns * box["width"], box["y"] + (old[0] + 0.5) / rows * box["height"]
    )
    told = readings(figures)[1][-2:]
    assert abs(told[0] - new[0]) <= 1.5
    assert abs(told[1] - new[1]) <= 1.5
