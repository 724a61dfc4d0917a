"""Outlines drawn by hand, each with the signature that somebody of the trade would name."""

import numpy as np
import pytest

from thermalkit.diagnosis.envelope.shapes import shape_of, signature_of, signatures
from thermalkit.language import catalogue

SHAPE = (120, 160)
EVERYWHERE = np.ones(SHAPE, dtype=bool)


def blank():
    return np.zeros(SHAPE)


def studs():
    """Stripes 6 px wide, every 26 px."""
    depth = blank()
    for left in range(12, 150, 26):
        depth[:, left : left + 6] = 2.0
    return depth


def board():
    depth = blank()
    depth[40:75, 50:110] = 2.0
    return depth


def slab_edge():
    depth = blank()
    depth[60:68, 10:150] = 2.0
    return depth


def draught():
    """A fan that widens and fades away from a joint, ragged at its rim."""
    rows, columns = np.indices(SHAPE)
    along, aside = columns - 40.0, rows - 60.0
    spread = 3.0 + 0.45 * np.clip(along, 0.0, None)
    wave = 1.0 + 0.5 * np.sin(along / 3.0) * np.sin(aside / 2.5)
    return np.where(along > 0, 3.0 * np.exp(-along / 55.0 - (aside / (spread * wave)) ** 2), 0.0)


@pytest.mark.parametrize(
    ("drawn", "name"),
    [(studs, "grid"), (board, "rectangle"), (slab_edge, "line")],
    ids=["studs", "board", "slab edge"],
)
def test_a_drawn_outline_is_named(drawn, name):
    assert signature_of(drawn(), EVERYWHERE) == name


def test_a_turned_board_is_still_a_rectangle():
    from scipy import ndimage

    turned = ndimage.rotate(board(), 25.0, reshape=False, order=1)
    assert signature_of(turned, EVERYWHERE) == "rectangle"


def test_a_draught_is_no_rectangle_and_no_line():
    assert signature_of(draught(), EVERYWHERE) in ("streak", None)


def test_a_cross_of_two_cracks_is_ragged():
    depth = blank()
    depth[58:62, 50:110] = 2.0
    depth[30:90, 78:82] = 2.0
    assert signature_of(depth, EVERYWHERE) == "streak"


def test_a_speck_has_no_shape():
    depth = blank()
    depth[60, 80] = 2.0
    assert signature_of(depth, EVERYWHERE) is None


def test_every_signature_has_words_a_weight_and_a_source():
    """In the form and in the findings; none counts for nothing, none for proof."""
    for name, row in signatures().items():
        assert 1.0 < row.weight <= 10.0
        assert row.source.startswith("common practice")
        for language in ("en", "de"):
            assert {f"envelope.shape.name.{name}", f"envelope.shape.{name}"} <= catalogue(language).keys()


def test_a_pin_or_a_place_without_a_sound_one_has_no_shape(worked):
    case = worked("shutter-box")
    mark, sound = case.decided["suspect"][0], case.decided["sound"][0]
    assert shape_of(case, mark, None) is None
    assert shape_of(case, sound, sound) is None
