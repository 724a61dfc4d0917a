"""The picture in a page opened from disk, under the policy of an annex."""

import base64
import io
import shutil
import subprocess

import numpy as np
import pytest

from thermalkit.annex.packing import packed_frame, page_script

pytestmark = pytest.mark.browser

ROWS, COLUMNS = 120, 160
# Whole tenths, so that what the page must print can be written down: 10.0 degC and 0.1 K more per pixel.
TEMPERATURES = (100 + np.add.outer(np.arange(ROWS), np.arange(COLUMNS))) / 10
HOSTILE = "<img src=x onerror=\"document.title='owned'\">'\"</script>"


def picture(**parts):
    return {"frame": packed_frame(TEMPERATURES), "interval": [0.5, 0.5], "read_only": False, **parts}


def at(page, row, column):
    """Centre of a pixel on the screen, from the layout alone (whole picture shown)."""
    box = page.locator(".tk-marks").bounding_box()
    return box["x"] + (column + 0.5) * box["width"] / COLUMNS, box["y"] + (row + 0.5) * box["height"] / ROWS


def click(page, row, column):
    page.mouse.click(*at(page, row, column))


def drag(page, start, end):
    page.mouse.move(*at(page, *start))
    page.mouse.down()
    page.mouse.move(*at(page, *end), steps=4)
    page.mouse.up()


def marks(page):
    return page.evaluate("window.pictures[0].marks")


def outlines(page):
    return [(mark["shape"], mark["points"]) for mark in marks(page)]


def press(page, *keys):
    for key in keys:
        page.keyboard.press(key)


def cross_at(page, row, column):
    """Bring the cross-hair to a pixel by keys alone; it starts in the middle."""
    cursor = page.evaluate("window.pictures[0].cursor ?? window.pictures[0].middle()")
    here = cursor["row"], cursor["column"]
    for way, distance in (
        ("Down" if row > here[0] else "Up", abs(row - here[0])),
        ("Right" if column > here[1] else "Left", abs(column - here[1])),
    ):
        press(page, *[f"Control+Arrow{way}"] * (distance // 10), *[f"Arrow{way}"] * (distance % 10))


def tool(page, name):
    page.get_by_role("toolbar").get_by_role("button", name=name, exact=True).click()


def until(page, condition):
    """Wait for a condition; the browser's own waiting would need eval, which the policy forbids."""
    for _ in range(100):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never came true: {condition}")


def readout(page):
    return page.locator(".tk-readout").text_content().replace("\u00a0", " ")


RECTANGLE = ("patch", [[20, 30], [20, 60], [50, 60], [50, 30]])
SUGGESTED = {
    "id": "s1",
    "name": "cold edge",
    "shape": "patch",
    "points": [[5, 5], [5, 20], [15, 20], [15, 5]],
    "role": "suspect",
}


class TestSeeing:
    @pytest.mark.parametrize(("row", "column"), [(0, 0), (7, 93), (64, 80), (119, 0), (119, 159)])
    def test_pointing_reads_the_pixel_with_its_interval(self, show, row, column):
        page = show(picture())
        page.mouse.move(*at(page, row, column))
        t = TEMPERATURES[row, column]
        assert readout(page) == f"{t:.1f} °C ({t - 0.5:.1f} to {t + 0.5:.1f}) · row {row}, column {column}"

    def test_a_table_of_intervals_is_interpolated(self, show):
        """Half-way between 1 K at 10 degC and 2 K at 20 degC is 1.5 K (arithmetic)."""
        page = show(picture(interval=[[10, 9, 11], [20, 18, 22]]))
        page.mouse.move(*at(page, 20, 30))
        assert readout(page).startswith("15.0 °C (13.5 to 16.5)")

    def test_masked_pixels_have_no_reading(self, show):
        frame = TEMPERATURES.copy()
        frame[:20, :20] = np.nan
        page = show(picture(frame=packed_frame(frame)))
        page.mouse.move(*at(page, 10, 10))
        assert readout(page).startswith("no reading here")
        page.mouse.move(*at(page, 30, 30))
        assert readout(page).startswith("16.0 °C")

    def test_arrow_keys_read_too(self, show):
        page = show(picture(read_only=True))
        page.locator(".tk-marks").focus()
        cross_at(page, 37, 101)
        assert readout(page).startswith("23.8 °C (23.3 to 24.3)")

    def test_numbers_follow_the_language(self, show):
        labels = {"reading": "{value} ({low} bis {high})", "place": "Zeile {row}, Spalte {column}", "no": "x"}
        page = show(picture(locale="de", labels=labels))
        page.mouse.move(*at(page, 4, 0))
        assert readout(page) == "10,4 °C (9,9 bis 10,9) · Zeile 4, Spalte 0"

    def test_an_unknown_language_is_no_fault(self, show):
        page = show(picture(locale="no such language!"))
        page.mouse.move(*at(page, 4, 0))
        assert readout(page).startswith("10.4 °C")

    def test_typed_limits_recolour_the_picture(self, show):
        page = show(picture())
        colour = (
            "Array.from(window.pictures[0].image.getContext('2d').getImageData(0, 0, 1, 1).data.slice(0, 3))"
        )
        page.get_by_role("spinbutton", name="Colours from").fill("12")
        page.get_by_role("spinbutton", name="to").fill("30")
        page.keyboard.press("Enter")
        assert page.evaluate("window.pictures[0].bar") == {"low": 12, "high": 30}
        # 10 degC lies below the bar: the first colour of cividis, #00224e (printed in the colour map's data).
        assert page.evaluate(colour) == [0x00, 0x22, 0x4E]
        page.get_by_role("spinbutton", name="to").fill("5")
        page.keyboard.press("Enter")
        assert page.evaluate("window.pictures[0].bar") == {"low": 12, "high": 30}
        assert page.get_by_role("spinbutton", name="to").get_attribute("aria-invalid") == "true"

    def test_limits_can_be_dragged_and_nudged(self, show):
        page = show(picture(bar={"low": 10, "high": 30}))
        handle = page.locator(".tk-handle").first
        box = handle.bounding_box()
        page.mouse.move(box["x"] + 10, box["y"] + 12)
        page.mouse.down()
        page.mouse.move(box["x"] + 10, box["y"] + 92, steps=4)
        page.mouse.up()
        dragged = page.evaluate("window.pictures[0].bar")
        assert dragged["low"] == 10
        assert 20 < dragged["high"] < 30
        handle.focus()
        press(page, "ArrowUp", "ArrowUp")
        assert page.evaluate("window.pictures[0].bar.high") == pytest.approx(dragged["high"] + 0.2)

    def test_a_difference_stays_centred_on_zero(self, show):
        page = show(picture(frame=packed_frame(TEMPERATURES - 15), difference=True))
        page.get_by_role("spinbutton", name="to").fill("4")
        page.keyboard.press("Enter")
        assert page.evaluate("window.pictures[0].bar") == {"low": -4, "high": 4}
        page.mouse.move(*at(page, 50, 0))
        assert readout(page).startswith("0.0 K")
        pixel = page.evaluate("window.pictures[0].image.getContext('2d').getImageData(0, 50, 1, 1).data[1]")
        assert pixel > 240  # zero is the pale middle of the map

    def test_zoom_keeps_the_pixel_under_the_pointer(self, show):
        page = show(picture())
        spot = at(page, 30, 40)
        page.mouse.move(*spot)
        before = readout(page)
        page.keyboard.down("Control")
        for _ in range(5):
            page.mouse.wheel(0, -100)
        page.keyboard.up("Control")
        until(page, "window.pictures[0].zoom > 2")
        page.mouse.move(spot[0] + 0.2, spot[1])
        assert readout(page) == before
        page.get_by_role("button", name="Whole picture").click()
        assert page.evaluate("window.pictures[0].zoom") == 1

    def test_keys_zoom_and_pan(self, show):
        page = show(picture())
        page.locator(".tk-marks").focus()
        press(page, "+", "+", "+")
        assert page.evaluate("window.pictures[0].zoom") == pytest.approx(1.5**3)
        left = page.evaluate("window.pictures[0].left")
        press(page, "Shift+ArrowRight")
        assert page.evaluate("window.pictures[0].left") > left
        press(page, "0")
        assert page.evaluate("[window.pictures[0].zoom, window.pictures[0].left]") == [1, 0]

    def test_an_isotherm_runs_where_its_temperature_is(self, show):
        """On a plane field the 20.03 degC line is row + column = 100.3 (geometry)."""
        page = show(picture(lines=[{"temperature_degc": 20.03, "label": "dew point"}]))
        assert page.locator(".tk-lines").text_content().replace("\u00a0", " ") == "dew point 20.0 °C"
        longest = np.array(page.evaluate("window.pictures[0].lines[0].longest"))
        inside = longest[5:-5] - 0.5
        assert len(longest) > 100
        assert np.allclose(inside.sum(axis=1), 100.3, atol=0.01)

    def test_a_line_that_is_not_reached_says_so(self, show):
        page = show(picture(lines=[{"temperature_degc": 2.0, "label": "dew point"}]))
        assert "not reached here" in page.locator(".tk-lines").text_content()

    def test_an_aligned_photo_fades_in_and_a_toggle_hides_it(self, show):
        from PIL import Image

        buffer = io.BytesIO()
        Image.new("RGB", (16, 12), (0, 255, 0)).save(buffer, "PNG")
        photo = "data:image/png;base64," + base64.b64encode(buffer.getvalue()).decode()
        page = show(picture(photo=photo, photo_aligned=True))
        page.get_by_label("Photo behind").fill("1")
        pixel = "window.pictures[0].base.getContext('2d').getImageData(50, 50, 1, 1).data.join()"
        until(page, f"{pixel} === '0,255,0,255'")
        page.get_by_role("button", name="Photo").click()
        assert page.locator(".tk-photo").is_hidden()

    def test_a_photo_from_outside_is_not_fetched(self, show):
        page = show(picture(photo="https://example.org/a.png"))
        assert page.locator("img").count() == 0

    def test_full_size_and_back(self, show):
        page = show(picture())
        narrow = page.locator(".tk-picture").bounding_box()["width"]
        page.get_by_role("button", name="Full size").click()
        until(page, "document.fullscreenElement !== null || document.querySelector('.tk-full')")
        assert page.locator(".tk-picture").bounding_box()["width"] > narrow
        page.get_by_role("button", name="Full size").click()
        until(page, "document.fullscreenElement === null && !document.querySelector('.tk-full')")

    def test_a_large_frame_works(self, show):
        rng = np.random.default_rng(3)
        large = np.round(15 + rng.normal(0, 0.5, (768, 1024)), 1)
        page = show(picture(frame=packed_frame(large), lines=[{"temperature_degc": 14.0, "label": "limit"}]))
        box = page.locator(".tk-marks").bounding_box()
        page.mouse.move(box["x"] + 600.5 * box["width"] / 1024, box["y"] + 300.5 * box["height"] / 768)
        assert readout(page).startswith(f"{large[300, 600]:.1f} °C")

    @pytest.mark.parametrize("values", ["", "AAAA", "no base64 at all!"])
    def test_damaged_data_is_said_not_thrown(self, page, annex_page, values):
        page.goto(annex_page(picture(frame={**packed_frame(TEMPERATURES), "values": values})))
        page.wait_for_selector(".tk-readout:has-text('cannot be read')")


class TestMarkingWithTheMouse:
    def test_each_kind(self, show):
        page = show(picture())
        tool(page, "Pin")
        click(page, 100, 20)
        tool(page, "Rectangle")
        drag(page, (20, 30), (50, 60))
        tool(page, "Outline")
        for point in [(70, 70), (70, 100), (90, 85), (90, 85)]:
            click(page, *point)
        tool(page, "Trace")
        for point in [(60, 110), (80, 130), (100, 150)]:
            click(page, *point)
        tool(page, "Finish")
        assert outlines(page) == [
            RECTANGLE,
            ("patch", [[70, 70], [70, 100], [90, 85]]),
            ("trace", [[60, 110], [80, 130], [100, 150]]),
            ("pin", [[100, 20]]),
        ]
        assert [mark["number"] for mark in marks(page)] == [1, 2, 3, 4]
        assert {mark["role"] for mark in marks(page)} == {"suspect"}

    def test_a_rectangle_needs_no_dragging(self, show):
        page = show(picture())
        tool(page, "Rectangle")
        click(page, 50, 60)
        click(page, 20, 30)
        assert outlines(page) == [RECTANGLE]

    def test_move_and_reshape(self, show):
        page = show(picture())
        tool(page, "Rectangle")
        drag(page, (20, 30), (50, 60))
        tool(page, "Move/Edit")
        drag(page, (35, 45), (45, 65))
        assert outlines(page) == [("patch", [[30, 50], [30, 80], [60, 80], [60, 50]])]
        drag(page, (60, 80), (70, 95))
        assert outlines(page) == [("patch", [[30, 50], [30, 80], [70, 95], [60, 50]])]
        tool(page, "Undo")
        tool(page, "Undo")
        assert outlines(page) == [RECTANGLE]
        tool(page, "Redo")
        assert outlines(page) == [("patch", [[30, 50], [30, 80], [60, 80], [60, 50]])]

    def test_a_mark_cannot_leave_the_picture(self, show):
        page = show(picture())
        tool(page, "Rectangle")
        drag(page, (20, 30), (50, 60))
        tool(page, "Move/Edit")
        drag(page, (35, 45), (0, 0))
        assert outlines(page) == [("patch", [[0, 0], [0, 30], [30, 30], [30, 0]])]

    def test_a_drag_is_one_change(self, show):
        page = show(picture())
        page.evaluate(
            "window.pictures[0].options = {onMarks: () => (window.changes = (window.changes ?? 0) + 1)}"
        )
        tool(page, "Rectangle")
        drag(page, (20, 30), (50, 60))
        tool(page, "Move/Edit")
        drag(page, (35, 45), (45, 65))
        assert page.evaluate("window.changes") == 2

    def test_name_role_and_delete(self, show):
        roles = [{"role": "suspect", "label": "suspect"}, {"role": "sound", "label": "sound place"}]
        page = show(picture(roles=roles))
        tool(page, "Pin")
        click(page, 100, 20)
        page.get_by_label("Name", exact=True).fill("behind the bed")
        page.keyboard.press("Enter")
        page.get_by_label("Role", exact=True).select_option("sound")
        assert [(mark["name"], mark["role"]) for mark in marks(page)] == [("behind the bed", "sound")]
        assert page.get_by_role("row", name="behind the bed").count() == 1
        assert "sound place, dashed" in page.locator(".tk-table").inner_text()
        tool(page, "Delete")
        assert marks(page) == []

    def test_another_tool_drops_a_draft(self, show):
        page = show(picture())
        tool(page, "Outline")
        click(page, 70, 70)
        click(page, 70, 100)
        tool(page, "Pin")
        click(page, 20, 20)
        tool(page, "Trace")
        click(page, 60, 20)
        click(page, 60, 40)
        tool(page, "Finish")
        assert outlines(page) == [("pin", [[20, 20]]), ("trace", [[60, 20], [60, 40]])]

    def test_suggestions_become_marks_or_go(self, show):
        other = {**SUGGESTED, "id": "s2", "points": [[80, 80], [80, 90], [95, 90]]}
        page = show(picture(suggestions=[SUGGESTED, other]))
        assert page.get_by_role("row", name="cold edge").count() == 2
        tool(page, "Accept")
        tool(page, "Dismiss")
        assert [mark["id"] for mark in marks(page)] == ["s1"]
        assert page.evaluate("window.pictures[0].suggestions") == []
        tool(page, "Undo")
        assert [mark["id"] for mark in page.evaluate("window.pictures[0].suggestions")] == ["s2"]

    def test_numbers_are_shown_beside_the_picture(self, show):
        page = show(
            picture(marks=[SUGGESTED], numbers={"s1": ["mean 11.0 °C (10.5 to 11.5)", "coldest 10.1 °C"]})
        )
        cells = page.get_by_role("row", name="cold edge").get_by_role("cell")
        assert cells.last.inner_text() == "mean 11.0 °C (10.5 to 11.5)\ncoldest 10.1 °C"

    def test_a_finger_draws_and_two_fingers_zoom(self, browser, annex_page):
        context = browser.new_context(viewport={"width": 1280, "height": 900}, has_touch=True)
        page = context.new_page()
        page.goto(annex_page(picture()))
        page.wait_for_selector(".tk-readout:has-text('Point at')")
        tool(page, "Pin")
        page.touchscreen.tap(*at(page, 30, 40))
        assert outlines(page) == [("pin", [[30, 40]])]
        touch = context.new_cdp_session(page)
        x, y = at(page, 60, 80)

        def fingers(kind, *spread):
            points = [{"x": x + dx, "y": y, "id": i} for i, dx in enumerate(spread)]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

        fingers("touchStart", -40)
        fingers("touchStart", -40, 40)
        fingers("touchMove", -80, 80)
        fingers("touchMove", -120, 120)
        fingers("touchEnd")
        assert page.evaluate("window.pictures[0].zoom") == pytest.approx(3, rel=0.05)
        assert len(marks(page)) == 1
        context.close()


class TestMarkingByKeys:
    def test_each_kind(self, show):
        page = show(picture())
        page.locator(".tk-marks").focus()
        press(page, "p")
        cross_at(page, 100, 20)
        press(page, "Enter", "r")
        cross_at(page, 20, 30)
        press(page, "Enter")
        cross_at(page, 50, 60)
        press(page, "Enter", "o")
        for point in [(70, 70), (70, 100), (90, 85)]:
            cross_at(page, *point)
            press(page, "Enter")
        press(page, "Enter", "t")
        for point in [(60, 110), (80, 130)]:
            cross_at(page, *point)
            press(page, "Enter")
        press(page, "f")
        assert outlines(page) == [
            RECTANGLE,
            ("trace", [[60, 110], [80, 130]]),
            ("patch", [[70, 70], [70, 100], [90, 85]]),
            ("pin", [[100, 20]]),
        ]

    def test_choose_move_reshape_rename_delete_undo_redo(self, show):
        patch = {"id": "a", "name": "", "shape": "patch", "points": RECTANGLE[1], "role": "suspect"}
        page = show(picture(marks=[patch, {**patch, "id": "b", "shape": "pin", "points": [[100, 100]]}]))
        page.locator(".tk-marks").focus()
        press(page, "]", "ArrowDown", "ArrowDown", "Control+ArrowRight")
        assert outlines(page)[0] == ("patch", [[22, 40], [22, 70], [52, 70], [52, 40]])
        press(page, "v", "v", "Alt+ArrowDown", "Alt+ArrowRight")
        assert outlines(page)[0] == ("patch", [[22, 40], [22, 70], [53, 71], [52, 40]])
        press(page, "n")
        page.keyboard.type("jamb")
        press(page, "Enter")
        assert marks(page)[0]["name"] == "jamb"
        press(page, "]", "Delete")
        assert [mark["id"] for mark in marks(page)] == ["a"]
        press(page, *["Control+z"] * 4)
        assert outlines(page)[0] == RECTANGLE
        press(page, *["Control+Shift+Z"] * 3)
        assert marks(page)[0]["name"] == "jamb"
        assert len(marks(page)) == 2

    def test_escape_cancels_a_draft(self, show):
        page = show(picture())
        page.locator(".tk-marks").focus()
        press(page, "t", "Enter", "ArrowUp", "Enter", "Escape", "f")
        assert marks(page) == []

    def test_too_few_points_are_no_outline(self, show):
        page = show(picture())
        page.locator(".tk-marks").focus()
        press(page, "o", "Enter", "ArrowUp", "Enter", "f")
        assert marks(page) == []

    def test_suggestions_by_one_key_each(self, show):
        other = {**SUGGESTED, "id": "s2"}
        page = show(picture(suggestions=[SUGGESTED, other]))
        page.locator(".tk-marks").focus()
        press(page, "x", "a")
        assert [mark["id"] for mark in marks(page)] == ["s2"]

    def test_keys_do_not_reach_the_page(self, show):
        page = show(picture())
        page.evaluate("document.addEventListener('keydown', (e) => (window.heard ??= []).push(e.key))")
        page.locator(".tk-marks").focus()
        press(page, "b", "Enter", "d", "Control+z", "Shift+M")
        tool(page, "Pin")
        press(page, "b")
        click(page, 10, 10)
        page.get_by_label("Name", exact=True).focus()
        press(page, "b")
        assert page.evaluate("window.heard") == [
            "Control"
        ]  # the bare modifier of Ctrl+Z, which is nobody's key

    def test_tab_leaves_the_picture(self, show):
        page = show(picture())
        page.locator(".tk-marks").focus()
        press(page, "Tab")
        assert page.evaluate("document.activeElement.className") == "tk-handle"

    def test_the_toolbar_is_one_stop(self, show):
        page = show(picture())
        page.get_by_role("button", name="Move/Edit").focus()
        press(page, "ArrowLeft")
        assert page.evaluate("document.activeElement.textContent") == "Trace"
        press(page, "Tab")
        assert page.evaluate("document.activeElement.className") == "tk-marks"

    def test_read_only_draws_nothing(self, show):
        page = show(picture(read_only=True, marks=[SUGGESTED]))
        page.locator(".tk-marks").focus()
        press(page, "p", "Enter", "]", "Delete", "ArrowDown", "Control+z")
        click(page, 60, 60)
        assert [mark["points"] for mark in marks(page)] == [SUGGESTED["points"]]
        assert page.get_by_role("toolbar").count() == 0


class TestUntrustedText:
    def test_hostile_names_are_only_text(self, show):
        mark = {**SUGGESTED, "name": HOSTILE, "role": HOSTILE, "numbers": [HOSTILE]}
        page = show(
            picture(
                marks=[mark, {**SUGGESTED, "id": "__proto__", "name": "\u202egnol \u05e9\u05dc\u05d5\u05dd"}],
                suggestions=[{**mark, "id": HOSTILE}],
                lines=[{"temperature_degc": 20.0, "label": HOSTILE}],
                label=HOSTILE,
                labels={"hint": "Point at " + HOSTILE, "keysRead": [[HOSTILE, HOSTILE]], "constructor": "x"},
                roles=[{"role": HOSTILE, "label": HOSTILE}, {"role": "b", "label": "b"}],
            ),
            caption=HOSTILE,
        )
        assert page.title() == "Pictures"
        assert page.locator("img").count() == 0
        assert page.locator(".tk-table bdi").first.text_content() == HOSTILE
        assert "\u202e" not in page.locator(".tk-table").text_content()

    def test_ids_are_not_names_of_built_in_things(self, show):
        page = show(picture(marks=[{**SUGGESTED, "id": "__proto__"}], numbers={"constructor": ["x"]}))
        assert page.locator(".tk-table tbody td").last.inner_text() == ""

    def test_labels_of_the_wrong_kind_are_ignored(self, show):
        page = show(picture(labels={"keysRead": {"a": 1}, "whole": ["x"], "full": "Ganz"}))
        assert page.get_by_role("button", name="Whole picture").count() == 1
        assert page.get_by_role("button", name="Ganz").count() == 1

    def test_one_bad_picture_does_not_stop_the_next(self, show):
        page = show({"marks": 3}, picture())
        assert page.locator("figure").first.inner_text().startswith("The temperatures of this picture cannot")

    def test_broken_marks_are_left_out(self, show):
        broken = [{"id": "x"}, {**SUGGESTED, "points": [["a", "b"]]}, {**SUGGESTED, "shape": "blob"}, None]
        page = show(picture(marks=[*broken, SUGGESTED]))
        assert [mark["id"] for mark in marks(page)] == ["s1"]


class TestPage:
    def test_the_script_of_an_annex_draws_read_only_pictures(self, show):
        data = picture()
        del data["read_only"]
        page = show(data, data, script=page_script())
        assert page.locator(".tk-picture").count() == 2
        assert page.locator(".tk-read-only .tk-marks[role=img]").count() == 2
        assert page.locator(".tk-marks").first.get_attribute("aria-label") == "Corner of an invented cellar"

    def test_the_policy_stops_an_injected_script(self, browser, annex_page, tmp_path):
        """The policy under which these tests run bites; else they would prove nothing."""
        address = annex_page(picture())
        file = tmp_path / "annex.html"
        injected = "</main><script>document.title='owned'</script>"
        file.write_text(file.read_text("utf-8").replace("</main>", injected), "utf-8")
        page = browser.new_page()
        page.goto(address)
        page.wait_for_selector(".tk-readout:has-text('Point at')")
        assert page.title() == "Pictures"
        page.close()

    @pytest.mark.parametrize("width", [1280, 800, 400])
    @pytest.mark.parametrize("read_only", [False, True])
    def test_no_fault_for_assistive_technology(self, show, read_only, width):
        """Rules of axe (WCAG 2 A and AA, best practice)."""
        from axe_playwright_python.sync_playwright import Axe

        page = show(
            picture(
                read_only=read_only,
                marks=[{**SUGGESTED, "id": "m"}],
                suggestions=[SUGGESTED],
                lines=[{"temperature_degc": 20.0, "label": "dew point"}],
            )
        )
        page.set_viewport_size({"width": width, "height": 900})
        page.locator("summary").click()
        page.evaluate("window.pictures[0].choose('m')")
        found = Axe().run(page)
        assert [
            (fault["id"], [n["html"] for n in fault["nodes"]]) for fault in found.response["violations"]
        ] == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")

    def test_targets_are_wide_enough_for_a_finger(self, show):
        """24 CSS pixels, WCAG 2.2 success criterion 2.5.8 (from memory)."""
        page = show(picture(marks=[SUGGESTED]))
        boxes = page.evaluate(
            "[...document.querySelectorAll('button, input, summary, .tk-handle')]"
            ".map((e) => e.getBoundingClientRect()).map((b) => Math.min(b.width, b.height))"
            ".filter((shown) => shown > 0)"
        )
        assert min(boxes) >= 24

    def test_print_shows_picture_and_marks(self, show):
        import pypdf

        page = show(picture(read_only=True, marks=[SUGGESTED]))
        document = pypdf.PdfReader(io.BytesIO(page.pdf(format="A4")))
        assert len(document.pages) == 1
        text = document.pages[0].extract_text()
        assert "1 cold edge" in text.replace("\u2068", "").replace("\u2069", "")
        assert "Whole picture" not in text
        assert max(image.image.width for image in document.pages[0].images) >= COLUMNS

    def test_print_does_not_cover_the_colours(self, show, tmp_path):
        """The marks lie on a sheet of their own, which must stay clear on paper."""
        from PIL import Image

        renderer = shutil.which("pdftoppm")
        if renderer is None:
            pytest.skip("no pdftoppm on this machine")
        page = show(picture(read_only=True, bar={"low": 40, "high": 41}))  # all of it the first colour
        file = tmp_path / "page.pdf"
        page.pdf(format="A4", path=file)
        subprocess.run([renderer, "-r", "48", "-png", file, tmp_path / "sheet"], check=True)
        sheet = np.asarray(Image.open(next(tmp_path.glob("sheet*.png"))).convert("RGB")).astype(int)
        dark = np.abs(sheet - [0x00, 0x22, 0x4E]).sum(axis=2) < 40
        # 400 of the 794 CSS pixels of the sheet's width, three quarters of that high: our style sheet.
        expected = (400 * sheet.shape[1] / 794) ** 2 * ROWS / COLUMNS
        assert dark.sum() > 0.97 * expected
