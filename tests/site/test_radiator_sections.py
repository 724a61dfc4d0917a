"""Radiators, the water that feeds them, and what their rooms lose."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site import read_site
from thermalkit.site.sections.radiators import HeatingKeys, HeatLossKeys, RadiatorKeys

WRITTEN = """
[heating]
source = "heat pump"
flow_degc = 38.0

[[radiators]]
id = "r1"
room = "cellar"
type = "22"
height_mm = 600
length_mm = 1200

[[heat_losses]]
room = "cellar"
element = "window"
area_m2 = 1.8
transmittance_w_m2k = 1.3
"""


def test_what_was_written_is_read(folder):
    """Little is needed: a type and a size; the rest has defaults that say unknown."""
    folder.append(WRITTEN)
    site = read_site(folder.path)
    (radiator,) = site.sections(RadiatorKeys)
    assert (radiator.head, radiator.area_m2) == ("unknown", pytest.approx(0.72))
    assert site.section(HeatingKeys).source == "heat pump"
    assert site.sections(HeatLossKeys)[0].share == 1.0


def test_an_unlisted_room_and_an_odd_exponent_are_named(folder):
    """Every problem at once, each with its place."""
    folder.append(WRITTEN.replace('room = "cellar"\ntype', 'room = "attic"\nexponent = 13\ntype'))
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    places = {str(problem).split(":")[0] for problem in caught.value.problems}
    assert len(places) == 2
    assert all("r1" in place for place in places)


def test_without_its_size_a_radiator_has_no_front():
    """No front, no estimate by type."""
    assert RadiatorKeys(id="r", height_mm=600.0).area_m2 is None
