"""Marking a strip: four clicks on the picture, or numbers typed."""

import base64
import io
import json

import numpy as np
import pytest
from PIL import Image

from thermalkit.workbook.controls import HERE

pytestmark = [pytest.mark.browser]

PAGE = """<!doctype html><meta charset="utf-8"><title>strip</title><style>{style}</style><div id="at"></div>
<script type="module">
{script}
const state = {state};
const heard = {{}};
window.state = state;
const model = {{
  get: (key) => state[key],
  set: (key, value) => {{ state[key] = value; }},
  save_changes: () => (heard["change:points"] ?? []).forEach((f) => f()),
  on: (name, f) => (heard[name] ??= []).push(f),
}};
tkStrip.render({{ model, el: document.getElementById("at") }});
</script>"""


@pytest.fixture
def opened(page, tmp_path):
    """The widget by itself, with a picture of 200 x 100 pixels."""
    stream = io.BytesIO()
    Image.fromarray(np.full((100, 200, 3), 90, np.uint8)).save(stream, "PNG")
    state = {
        "picture": "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode(),
        "size": [100, 200],
        "points": [[-1, -1]] * 4,
        "words": {
            "picture": "p",
            "row": "row",
            "column": "column",
            "points": ["cold", "warm", "first", "last"],
        },
    }
    script = (HERE / "strip.js").read_text("utf-8").replace("export default", "const tkStrip =")
    style = (HERE / "strip.css").read_text("utf-8")
    path = tmp_path / "strip.html"
    path.write_text(PAGE.format(style=style, script=script, state=json.dumps(state)), "utf-8")
    page.goto(path.as_uri())
    return page


def test_four_clicks_mark_strip_and_frame(opened):
    """Each click fills the next place, in pixels of the picture, and is drawn."""
    picture = opened.locator(".tk-strip-stage img")
    for row, column in ((90, 180), (10, 180), (5, 5), (95, 150)):
        picture.click(position={"x": column + 0.5, "y": row + 0.5})
    assert opened.evaluate("state.points") == [[90, 180], [10, 180], [5, 5], [95, 150]]
    assert opened.locator(".tk-strip-stage line").count() == 1
    assert opened.locator(".tk-strip-stage rect").get_attribute("width") == "145"


def test_numbers_do_the_same_without_a_mouse(opened):
    """Typed places count, and the one in hand is shown."""
    field = opened.get_by_label("warm, row")
    field.fill("12")
    field.press("Tab")
    opened.get_by_label("warm, column").fill("170")
    opened.get_by_label("warm, column").press("Tab")
    assert opened.evaluate("state.points")[1] == [12, 170]
