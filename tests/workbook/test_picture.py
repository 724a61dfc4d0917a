import numpy as np
import pytest

from thermalkit.annex.packing import unpacked_frame
from thermalkit.workbook.picture import Picture

PIN = {"id": "pin-1", "name": "corner", "shape": "pin", "points": [[1, 1]], "role": "suspect"}


def test_the_page_gets_the_temperatures():
    frame = np.array([[12.0, 12.5], [np.nan, 13.0]])
    assert unpacked_frame(Picture(frame).frame) == pytest.approx(frame, abs=0.026, nan_ok=True)


def test_text_form_has_no_address():
    assert repr(Picture(np.zeros((3, 4)), marks=[PIN])) == "Picture(4 x 3, 1 marks)"


def test_replacing_marks_tells_observers():
    picture = Picture(np.zeros((3, 4)))
    seen = []
    picture.observe(lambda change: seen.append(change.new), "marks")
    picture.replace_marks([PIN], [{**PIN, "id": "pin-2"}])
    assert seen == [[PIN]]
    assert [mark["id"] for mark in picture.suggestions] == ["pin-2"]


def test_another_frame_keeps_the_marks():
    picture = Picture(np.zeros((3, 4)), marks=[PIN])
    picture.show_frame(np.ones((6, 8)))
    assert (picture.frame["rows"], picture.frame["columns"], picture.marks) == (6, 8, [PIN])
