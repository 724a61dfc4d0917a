import base64
import json
import zlib

import numpy as np
import pytest

from thermalkit.annex.packing import (
    numbered,
    packed_frame,
    page_script,
    page_style,
    picture_figure,
    picture_json,
    unpacked_frame,
)
from thermalkit.errors import OutOfDomain


def noisy_frame(rows, columns):
    rng = np.random.default_rng(5)
    frame = rng.normal(14.0, 3.0, (rows, columns))
    frame[rng.random(frame.shape) < 0.05] = np.nan
    return frame


@pytest.mark.parametrize("step_k", [0.01, 0.05, 0.1])
def test_packing_keeps_every_temperature_within_half_a_step(step_k):
    """Half a step is the most that rounding can take (arithmetic)."""
    frame = noisy_frame(60, 80)
    back = unpacked_frame(packed_frame(frame, step_k=step_k))
    assert np.nanmax(np.abs(back - frame)) <= step_k / 2 + 1e-9


def test_masked_pixels_stay_masked_and_only_they():
    frame = noisy_frame(60, 80)
    assert np.array_equal(np.isnan(unpacked_frame(packed_frame(frame))), np.isnan(frame))


def test_a_wholly_masked_frame_is_packed():
    assert np.isnan(unpacked_frame(packed_frame(np.full((2, 3), np.nan)))).all()


def test_values_are_the_documented_bytes():
    """Written out by hand from the description: steps 0, 5, masked, 2 and their wrapped differences."""
    packed = packed_frame([[10.0, 10.5], [np.inf, 10.2]], step_k=0.1)
    by_hand = np.array([0, 5, 65535 - 5, (2 - 65535) % 65536], dtype="<u2").tobytes()
    assert zlib.decompress(packed["values"]) == by_hand
    assert {key: packed[key] for key in ("rows", "columns", "step_k", "base_degc")} == {
        "rows": 2,
        "columns": 2,
        "step_k": 0.1,
        "base_degc": 10.0,
    }


def test_a_hot_conductor_in_a_cold_room_fits():
    frame = np.array([[-40.0, 1600.0]])
    assert unpacked_frame(packed_frame(frame)) == pytest.approx(frame, abs=1e-6)


@pytest.mark.parametrize("wrong", [np.zeros(3), np.zeros((0, 4)), np.zeros((2, 2, 3))])
def test_what_is_no_picture_is_refused(wrong):
    with pytest.raises(OutOfDomain, match="rows and columns"):
        packed_frame(wrong)


@pytest.mark.parametrize("step_k", [0.0, -0.1, float("nan")])
def test_a_step_must_be_above_zero(step_k):
    with pytest.raises(OutOfDomain, match="not above zero"):
        packed_frame([[1.0]], step_k=step_k)


def test_a_range_of_too_many_steps_is_refused():
    with pytest.raises(OutOfDomain, match="more than 65534 steps"):
        packed_frame([[0.0, 66.0]], step_k=0.001)


def test_text_form_unpacks_to_the_same_frame():
    packed = packed_frame(noisy_frame(30, 40))
    text = json.loads(picture_json(packed))
    assert base64.b64decode(text["values"]) == packed["values"]
    assert np.array_equal(unpacked_frame(text), unpacked_frame(packed), equal_nan=True)


def test_json_cannot_close_its_script_element():
    text = picture_json({"label": "</script><!--<script>"})
    assert "<" not in text
    assert json.loads(text) == {"label": "</script><!--<script>"}


def test_json_refuses_what_is_not_plain_data():
    with pytest.raises(TypeError, match="set has no place"):
        picture_json({"marks": {1}})


def test_a_caption_is_escaped():
    assert "<figcaption>a &lt;b&gt; &amp; c</figcaption>" in picture_figure({}, "a <b> & c")


def test_reading_order_goes_down_then_right():
    """Nearly level places read left to right, as a line of text does (our rule)."""
    marks = [
        {"id": "low", "points": [[200, 10]]},
        {"id": "right", "points": [[20, 200]]},
        {"id": "left", "points": [[25, 10], [25, 30], [35, 20]]},
    ]
    assert [mark["id"] for mark in numbered(marks, rows=240)] == ["left", "right", "low"]
    assert [mark["number"] for mark in numbered(marks, rows=240)] == [1, 2, 3]


def test_page_parts_need_no_other_file():
    script = page_script()
    assert script.rstrip().endswith("hydrate(document);")
    assert "import " not in script.split("// ----")[0]
    assert "url(" not in page_style()
    assert "</script" not in script
