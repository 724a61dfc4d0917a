"""Two frames of one view: a gap moves, a cold bridge stays."""

import pytest

from thermalkit.diagnosis.envelope.air_leaks import LEAST_LEAK_K, leaks, repeated_views, views_alike
from thermalkit.diagnosis.envelope.examined import examined
from thermalkit.language import render


@pytest.fixture
def case(worked):
    return worked("shutter-box")


def at(case, id):
    mark = next(m for m in case.decided["suspect"] if m.id == id)
    return list(leaks(case, examined(case, mark)))


def test_the_gap_is_found_and_its_size(case):
    """Invented: the box of the gap gets 2.6 K colder with the fan."""
    (finding,) = at(case, "Fuge")
    found = finding.quantities[0].measured
    assert finding.verdict == "indicated"
    assert found.low < 2.6 < found.high
    assert found.high - found.low < 1.0


def test_the_plate_that_conducts_stays(case):
    (finding,) = at(case, "Fußpfette")
    assert finding.verdict == "not indicated"
    assert finding.quantities[0].measured.high < LEAST_LEAK_K
    assert finding.cautions == finding.next_steps == ()


def test_a_leak_says_what_a_fan_does_to_fires(case):
    """The stove of the house is known of; sealing and suction both touch it."""
    (finding,) = at(case, "Fuge")
    said = [render(caution, "en") for caution in finding.cautions]
    assert any("carbon monoxide" in text for text in said)
    assert any("flue gas" in text for text in said)


def test_a_frame_without_its_twin_says_nothing(case):
    assert at(case, "Ringbalken") == []
    assert views_alike(case)["dach"] == ("dach-unterdruck",)
    assert repeated_views(case) == {"dach": "dach-unterdruck"}


def test_air_pushed_out_shows_no_leak(worked):
    """A positive difference is said to be the wrong way round."""
    from dataclasses import replace

    case = worked("shutter-box")
    (entry,) = case.site.keys.pressure
    entry = entry.model_copy(update={"pressure_difference_pa": 45.0})
    keys = case.site.keys.model_copy(update={"pressure": (entry,)})
    case = replace(case, site=replace(case.site, keys=keys))
    (finding,) = at(case, "Fuge")
    assert finding.code == "envelope.leak.wrong-way"
    assert finding.verdict is None
