"""The house in order, its rooms, and what was not looked at."""

import numpy as np
import pytest

from thermalkit.diagnosis.envelope import charts, findings
from thermalkit.diagnosis.envelope.house import is_larger, ranked
from thermalkit.language import render


@pytest.fixture
def found(worked):
    case = worked("shutter-box")
    return case, list(findings(case))


class Item:
    """A place with nothing but a name."""

    def __init__(self, label, draws):
        self.label, self.draws = label, draws


def test_places_that_cannot_be_told_apart_share_a_rank(rng):
    """Two of 1.0 ± 0.2 and one of 3.0 ± 0.2, by hand; a place without a result is left out."""
    noise = rng.normal(0.0, 0.2, (3, 4000))
    items = [
        Item("a", 1.0 + noise[0]),
        Item("b", 3.0 + noise[1]),
        Item("c", 1.02 + noise[2]),
        Item("d", None),
    ]
    order = ranked(items, lambda item: item.draws)
    assert [(r.item.label, r.rank) for r in order] == [("b", 1), ("c", 2), ("a", 2)]


def test_what_two_places_share_decides_no_order(rng):
    """A common offset of 5 leaves a difference of 0.1 as sure as it was."""
    offset, noise = rng.normal(0.0, 5.0, 4000), rng.normal(0.0, 0.01, (2, 4000))
    assert is_larger(1.1 + offset + noise[0], 1.0 + offset + noise[1])
    assert not is_larger(1.0 + offset, 1.1 + rng.normal(0.0, 5.0, 4000))


def test_every_room_has_its_line(found):
    """Found, looked at with nothing found, and parts nobody looked at; all under the house's name."""
    case, all_of_it = found
    lines = [f for f in all_of_it if f.code.startswith(("envelope.house", "envelope.room"))]
    assert {f.place for f in lines} == {case.site.keys.site.name}
    rooms = [f.statement.values["place"] for f in lines if f.code == "envelope.room.summary"]
    assert rooms == ["Wohnzimmer", "Schlafzimmer", "Dachzimmer"]
    clean = [f.statement.values["place"] for f in lines if f.code == "envelope.room.nothing-found"]
    assert clean == ["Kinderzimmer"]
    missing = [render(f.statement, "de") for f in lines if f.code == "envelope.room.not-looked"]
    assert len(missing) == 2
    assert "Kehlbalkenlage" in missing[0]


def test_the_rooms_add_up(found):
    """The attic's sum is that of its two places, drawn together."""
    _, all_of_it = found
    (room,) = (
        f.statement.values["flow"].values["value"]
        for f in all_of_it
        if f.code == "envelope.room.summary" and f.statement.values["place"] == "Dachzimmer"
    )
    places = [f for f in all_of_it if f.code == "envelope.loss.extra" and f.place.startswith("Dach")]
    assert room.value == pytest.approx(sum(f.quantities[0].measured.value for f in places), abs=0.01)


def test_the_truly_larger_loss_comes_first(found):
    """Invented: the ring beam loses more than the wall plate."""
    _, all_of_it = found
    (order,) = (render(f.statement, "en") for f in all_of_it if f.code == "envelope.house.order")
    order = order[order.index("extra heat") :]
    assert order.index("Ringbalken") < order.index("Fußpfette")
    assert "then" in order
    assert "=" not in order


def test_both_charts_carry_intervals(found):
    case, _ = found
    bars = [chart for chart in charts(case) if chart.id in ("envelope-places", "envelope-rooms")]
    assert len(bars) == 2
    for chart in bars:
        (series,) = chart.series
        assert np.all(np.array(series.low) <= np.array(series.y))
        assert list(series.y) == sorted(series.y, reverse=True) or chart.id == "envelope-rooms"
