"""Places marked on a 640 x 480 frame in the notebook itself, with real numbers, by mouse, finger and keys."""

import json
import re
import statistics
import sys
from functools import partial

import numpy as np
import pytest

from thermalkit.annex.pictures import number_rows
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis import damp
from thermalkit.diagnosis.marks import FrameReader
from thermalkit.diagnosis.run import accept, case_of, run
from thermalkit.language import render
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site
from thermalkit.workbook.launch import private_folder

pytestmark = [pytest.mark.browser, pytest.mark.slow]

ROWS, COLUMNS = 480, 640
PAIRS = "row => [...row.querySelectorAll('dt')].map(name => [name.innerText, name.nextSibling.innerText])"


@pytest.fixture
def site(site):
    """The sample site with a detector of 640 x 480 and, on its first frame, three cold places."""
    old = read_site(site).frames["corner"].apparent_degc
    frame = np.kron(old, np.ones((2, 2))) + 0.04 * np.random.default_rng(7).standard_normal((ROWS, COLUMNS))
    for row, column, depth_k in ((120, 480, 3.0), (330, 120, 4.0)):
        square = np.s_[row - 20 : row + 21, column - 25 : column + 26]
        frame[square] -= depth_k
    np.save(site / "thermal" / "corner.npy", frame)
    text = (site / "site.toml").read_text("utf-8")
    frames = text.split("[[frames]]")
    frames[1] = re.sub(r"^(scale|offset) = .*\n", "", frames[1], flags=re.MULTILINE)
    text = "[[frames]]".join(frames).replace("corner.tiff", "corner.npy")
    text = text.replace("columns = 320", "columns = 640").replace("rows = 240", "rows = 480")
    corners = r"points = \[\[80.0, 259.0\].*"
    text = re.sub(corners, "points = [[160, 518], [160, 610], [214, 610], [214, 518]]", text)
    (site / "site.toml").write_text(text, "utf-8")
    return site


@pytest.fixture
def marking(workbook, site):
    """The panel in which suspect places are marked, ready to be drawn on."""
    steps = {s.name: render(s.title, "en") for s in damp.STEPS}
    workbook.open()
    workbook.keep(steps["frames"])
    panel = workbook.panel(steps["suspect"])
    panel.locator(".tk-readout", has_text="Point at").wait_for(timeout=30_000)
    workbook.page.get_by_text("| Idle").wait_for(timeout=60_000)
    return Marking(workbook, panel, steps, site)


class Marking:
    """One picture of the notebook and what a person does on it."""

    def __init__(self, workbook, panel, steps, site):
        self.workbook, self.page, self.panel, self.steps = workbook, workbook.page, panel, steps
        self.canvas = panel.locator(".tk-marks")
        self.here = (ROWS // 2, COLUMNS // 2)  # of the cross-hair
        self.drafts = private_folder(site) / ".damp.drafts.json"

    def spot(self, row, column):
        box = self.canvas.bounding_box()
        return box["x"] + (column + 0.5) * box["width"] / COLUMNS, box["y"] + (row + 0.5) * box[
            "height"
        ] / ROWS

    def drag(self, start, end):
        self.page.mouse.move(*self.spot(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.spot(*end), steps=3)
        self.page.mouse.up()

    def press(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)

    def steer(self, row, column):
        """Bring the cross-hair to a pixel by keys alone."""
        for way, far in (("Down", row - self.here[0]), ("Right", column - self.here[1])):
            key = way if far >= 0 else {"Down": "Up", "Right": "Left"}[way]
            self.press(*["Control+Arrow" + key] * (abs(far) // 10), *["Arrow" + key] * (abs(far) % 10))
        self.here = (row, column)

    def shape(self, tool, name, *places):
        """Draw a place with a tool and give it a name, by keys alone."""
        self.press("Escape", tool)
        for place in places:
            self.steer(*place)
            self.press("Enter")
        if tool in "ot":
            self.press("f")
        self.press("n")
        self.page.keyboard.type(name)
        self.press("Enter")

    def set_aside(self, name):
        """Points of a mark as they stand on disk, not kept yet; None where it does not."""
        marks = json.loads(self.drafts.read_text("utf-8"))["suspect"]["value"]
        return {mark["id"]: (mark["shape"], mark["points"]) for mark in marks}.get(name)

    def names(self):
        """Numbers and names of the rows in the table, as they are read."""
        rows = self.panel.locator(".tk-table tbody tr")
        return rows.locator("td:nth-child(2) button").all_inner_texts()

    def readings(self, name):
        """Names and values of one row."""
        button = self.page.get_by_role("button", name=name, exact=True)
        row = self.panel.locator(".tk-table tbody tr", has=button)
        row.locator("dd").first.wait_for()
        return dict(row.evaluate(PAIRS))

    def chosen(self, name):
        """All readings of a place, which of many shows them only when chosen."""
        self.panel.get_by_role("button", name=name, exact=True).click()
        return self.readings(name)

    def not_kept(self):
        self.panel.get_by_text("Not kept yet").wait_for(timeout=20_000)


def test_every_mark_is_drawn_by_keys_alone_and_found_again(marking, site, page):
    """Pin, rectangle, outline and trace, moved, reshaped, renamed, undone; all outlive a dead kernel."""
    page.mouse.move(2, 2)
    marking.canvas.focus()
    marking.press("]", "Delete")  # the proposal
    assert "cold" not in marking.names()
    marking.press("Control+z")
    assert "cold" in marking.names()
    suggested = marking.panel.locator("tr", has_text="suggested")
    offered = suggested.count()
    assert offered >= 2
    marking.press("a", "x")
    assert suggested.count() == offered - 2

    marking.shape("p", "reveal", (100, 100))
    marking.shape("r", "foot", (400, 300), (440, 420))
    marking.shape("o", "arch", (60, 400), (60, 460), (110, 430))
    marking.shape("t", "along", (240, 40), (240, 600))
    marking.press("m", "ArrowUp", "ArrowUp")  # moved
    marking.press("v", "Alt+ArrowUp")  # one corner reshaped
    marking.press("Control+z", "Control+z", "Control+Shift+z")
    marking.not_kept()
    marking.panel.locator("svg.tk-profile").wait_for()
    marking.panel.scroll_into_view_if_needed()
    marking.workbook.shot("marking-1280")
    names = ["cold", "cold 2", "reveal", "foot", "arch", "along"]
    assert set(names) <= set(marking.names())

    assert [entry.step for entry in read_record(site, "damp").entries] == ["frames"]
    page.wait_for_timeout(1000)
    before = {name: marking.set_aside(name) for name in names}
    assert before["reveal"] == ("pin", [[100, 100]])
    assert before["foot"] == ("patch", [[400, 300], [400, 420], [440, 420], [440, 300]])
    assert before["along"] == ("trace", [[238, 40], [238, 600]])
    marking.workbook.end_kernels()
    marking.workbook.open()
    marking.not_kept()
    marking.panel.locator(".tk-readout", has_text="Point at").wait_for(timeout=30_000)
    assert set(names) <= set(marking.names())
    assert suggested.count() == offered - 2
    assert {name: marking.set_aside(name) for name in names} == before

    # What stands beside the picture is what a run without a screen works out of the record.
    shown = {name: marking.chosen(name) for name in names}
    marking.workbook.keep(marking.steps["suspect"])
    read, record = read_site(site), read_record(site, "damp")
    case = case_of(run("damp", read, partial(decided_or_proposed, record)), read)
    marks = [m for m in (*case.decided["suspect"], *case.decided["sound"]) if m.frame == "corner"]
    assert {m.id: (m.shape, [list(p) for p in m.points]) for m in marks if m.id in names} == before
    found = FrameReader(case=case, frame="corner", further=damp.quantities_at).numbers(marks)
    numbers = {mark.id: number_rows(item, Wording("en")) for mark, item in zip(marks, found, strict=True)}
    for name in names:
        assert shown[name] == dict(row for row in numbers[name] if isinstance(row, list))

    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_timeout(500)
    marking.canvas.scroll_into_view_if_needed()
    marking.workbook.shot("marking-800")
    marking.panel.locator(".tk-table").scroll_into_view_if_needed()
    marking.workbook.shot("marking-800-table")


def decided_or_proposed(record, step, propose, inputs):
    """The record where it decides, else the proposal."""
    given = replay(record)(step, propose, inputs)
    return given if given.state == "decided" else accept(step, propose, inputs)


def test_numbers_return_within_an_eye_blink(marking, page, record_property):
    """Twenty places by mouse; the time from the lifted button to the new numbers is reported."""
    marking.canvas.scroll_into_view_if_needed()
    marking.panel.get_by_role("button", name="Rectangle").click()
    marking.panel.evaluate(STOPWATCH)
    for i in range(20):
        row, column = 30 + 110 * (i // 5), 20 + 124 * (i % 5)
        marking.drag((row, column), (row + 60, column + 80))
        page.wait_for_function(f"window.times.length === {i + 1}", timeout=10_000)
    times = page.evaluate("window.times")
    record_property("median_latency_ms", statistics.median(times))
    sys.stdout.write(
        f"mouse-up to numbers: median {statistics.median(times):.0f}, most {max(times):.0f} ms\n"
    )
    assert len(marking.names()) >= 21
    marking.not_kept()


# From the lifting of the button to the numbers of the new place in the page, taken in the page itself.
STOPWATCH = """(panel) => {
  window.times = [];
  const body = panel.querySelector(".tk-table tbody");
  panel.querySelector(".tk-marks").addEventListener("pointerup", () => {
    const start = performance.now();
    const before = body.querySelectorAll("tr:has(dd)").length;
    const watch = new MutationObserver(() => {
      if (body.querySelectorAll("tr:has(dd)").length <= before) return;
      window.times.push(performance.now() - start);
      watch.disconnect();
    });
    watch.observe(body, { childList: true, subtree: true });
  }, { capture: true });
}"""


def test_a_finger_draws_and_moves(marking, page):
    """Pointer events of a finger: a rectangle is drawn, then moved."""
    marking.canvas.scroll_into_view_if_needed()
    marking.panel.get_by_role("button", name="Rectangle").click()
    touch(marking, [(300, 300), (340, 360), (360, 400)])
    drawn = marking.panel.get_by_role("button", name="patch without a name")
    drawn.wait_for()
    before = marking.readings("patch without a name")
    marking.panel.get_by_role("button", name="Move/Edit").click()
    touch(marking, [(330, 350), (250, 350), (150, 480)])
    for _ in range(100):
        if marking.readings("patch without a name") != before:
            break
        page.wait_for_timeout(100)
    assert marking.readings("patch without a name") != before
    marking.not_kept()


def touch(marking, path):
    """One finger down on the first place, along the others, up on the last; events of the browser itself."""
    fingers = marking.page.context.new_cdp_session(marking.page)
    fingers.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    for i, place in enumerate(path):
        x, y = marking.spot(*place)
        kind = "touchMove" if i else "touchStart"
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_picture_and_controls_have_no_barrier_that_a_program_can_find(marking, page):
    """Rules of WCAG 2.2 A and AA while places are marked and suggested, wide and narrow."""
    from axe_playwright_python.sync_playwright import Axe

    marking.canvas.focus()
    marking.press("a", "]")
    marking.not_kept()
    rules = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
    for width in (1280, 800):
        page.set_viewport_size({"width": width, "height": 900})
        result = Axe().run(page, context=".thermalkit-panel", options={"runOnly": rules})
        assert result.violations_count == 0, result.generate_report()
