"""Heated floors and planned holes as they are written down."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site import read_site
from thermalkit.site.sections.floors import FixingKeys, FloorLoopKeys

WRITTEN = """
[[floor_loops]]
id = "living"
frame = "{frame}"
covering = "tile"

[[fixings]]
id = "door-stop"
frame = "{frame}"
x_mm = 1250
y_mm = 640
"""


def test_little_is_needed_and_the_rest_is_unknown(folder):
    """Nothing that was not looked at counts as seen."""
    frame = next(iter(read_site(folder.path).frames))
    folder.append(WRITTEN.format(frame=frame))
    site = read_site(folder.path)
    (floor,), (fixing,) = site.sections(FloorLoopKeys), site.sections(FixingKeys)
    assert (floor.every_loop_warm, floor.passing_pipes, floor.cover_mm) == ("unknown", "unknown", None)
    assert (fixing.diameter_mm, fixing.depth_mm) == (10.0, None)


def test_a_frame_that_is_not_there_is_named(folder):
    """Both entries, each with its place."""
    folder.append(WRITTEN.format(frame="nowhere"))
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    text = "\n".join(str(problem) for problem in caught.value.problems)
    assert "living" in text
    assert "door-stop" in text
