"""Four pairs clicked in the notebook lay the photo over the frame; then it fades, also in the annex."""

import json
import re

import numpy as np
import pytest

from thermalkit.diagnosis import damp
from thermalkit.language import render

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TITLES = {step.name: render(step.title, "en") for step in damp.STEPS}
# The drawing shows what the frame shows, one and a half times as large.
PLACES = [(2, 147), (226, 2), (226, 318), (60, 300), (120, 147)]
SEEN = "canvas => [...canvas.getContext('2d').getImageData(canvas.width >> 2, canvas.height >> 2, 1, 1).data]"


def in_photo(place):
    return tuple((value + 0.5) * 1.5 - 0.5 for value in place)


class Pairs:
    """The two pictures of the panel and what a person does on them."""

    def __init__(self, panel, page):
        self.panel, self.page = panel, page
        self.sides = [panel.locator(".tk-pair-side canvas").nth(i) for i in (0, 1)]
        self.sizes = ((240, 320), (360, 480))

    def spot(self, side, place):
        """Where a place lies on the canvas, in CSS pixels."""
        box = self.sides[side].bounding_box()
        scale = box["width"] / self.sizes[side][1]
        return {"x": (place[1] + 0.5) * scale, "y": (place[0] + 0.5) * scale}

    def click(self, side, place):
        self.sides[side].click(position=self.spot(side, place))

    def said(self, text):
        self.panel.get_by_text(text).first.wait_for(timeout=30_000)


@pytest.fixture
def pairs(workbook):
    workbook.open()
    workbook.keep(TITLES["frames"])
    panel = workbook.panel(TITLES["photo-pairs"])
    panel.locator(".tk-pair-side canvas").nth(1).wait_for(timeout=30_000)
    panel.scroll_into_view_if_needed()
    return Pairs(panel, workbook.page)


def test_four_clicked_pairs_lay_the_photo_over_the_frame(pairs, workbook, site):
    """By mouse; the fourth by keys; then a wrong fifth is named as farthest off and undone; then it fades."""
    pairs.said("set a place that you recognise")
    for place in PLACES[:3]:
        pairs.click(0, place)
        pairs.said("now set the same place in the photo")
        pairs.click(1, in_photo(place))
    pairs.said("1 more pairs are needed")
    pairs.sides[0].focus()
    for _ in range(2):  # the focus goes to the other picture by itself
        pairs.page.keyboard.press("Enter")
        for key in 9 * ["ArrowUp"] + 13 * ["ArrowRight"]:
            pairs.page.keyboard.press(f"Control+{key}")
        pairs.page.keyboard.press("Enter")
    pairs.said("which always fit; a fifth would show")
    workbook.shot("pairs-four")
    pairs.click(0, PLACES[4])
    pairs.click(1, in_photo((PLACES[4][0] + 25, PLACES[4][1])))
    pairs.said("it cannot be told which is wrong")
    assert pairs.panel.locator(".tk-pair-worst").count() == 1
    pairs.panel.get_by_role("button", name="Undo", exact=True).click()
    pairs.said("which always fit; a fifth would show")
    picture = pairs.panel.locator(".tk-picture")
    before = picture.locator(".tk-base").evaluate(SEEN)
    picture.get_by_label("Photo behind").fill("1")
    pairs.page.wait_for_function(
        "([canvas, before]) => JSON.stringify((" + SEEN + ")(canvas)) !== JSON.stringify(before)",
        arg=[picture.locator(".tk-base").element_handle(), before],
    )
    workbook.shot("pairs-faded")
    workbook.keep(TITLES["photo-pairs"])
    kept = json.loads((site / "record" / "damp.json").read_text("utf-8"))["entries"][-1]
    first, second = np.moveaxis(np.array(kept["value"]["corner"]), 1, 0)
    assert (kept["step"], first.shape) == ("photo-pairs", (4, 2))
    assert first[:3] == pytest.approx(np.array(PLACES[:3], float), abs=0.6)
    assert second[:3] == pytest.approx(np.array([in_photo(p) for p in PLACES[:3]]), abs=1.0)


def test_a_point_can_be_dragged_and_a_pair_deleted(pairs):
    """A drag moves one point of a pair; Delete takes the pair away; undo brings it back."""
    pairs.click(0, PLACES[0])
    pairs.click(1, in_photo(PLACES[0]))
    pairs.panel.get_by_role("button", name=re.compile("^Pair 1")).wait_for()
    box = pairs.sides[0].bounding_box()
    start, end = pairs.spot(0, PLACES[0]), pairs.spot(0, PLACES[4])
    pairs.page.mouse.move(box["x"] + start["x"], box["y"] + start["y"])
    pairs.page.mouse.down()
    pairs.page.mouse.move(box["x"] + end["x"], box["y"] + end["y"], steps=4)
    pairs.page.mouse.up()
    pairs.page.keyboard.press("Delete")
    pairs.said("Pair 1: set a place")
    assert pairs.panel.get_by_role("button", name=re.compile("^Pair 1")).count() == 0
    pairs.panel.get_by_role("button", name="Undo", exact=True).click()
    pairs.panel.get_by_role("button", name=re.compile("^Pair 1")).wait_for()
