"""How much of each cure is needed: printed values, cases solved by hand, and that more never harms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermalkit.diagnosis.damp.cures.remedies import (
    added_resistance_m2k_w,
    extra_warmth_k,
    factor_with_insulation,
    ventilation_ratio,
    wall_resistance_m2k_w,
)
from thermalkit.diagnosis.damp.cures.remedy import Remedy, advised, remedies
from thermalkit.diagnosis.damp.cures.situations import Measures, Situation


def situation(**changes) -> Situation:
    """A place of factor 0.70 at 20 and -5 °C, moist enough to need a cure; all draws alike."""
    values = {
        "id": "limit",
        "factor": np.full(4, 0.70),
        "film_m2k_w": 0.25,
        "least_factor": 0.0,
        "effect": np.ones(4),
        "surface_humidity": 0.80,
        "indoor_degc": np.full(4, 20.0),
        "outdoor_degc": -5.0,
        "outdoor_pa": np.full(4, 321.4),
        "excess_pa": np.full(4, 1000.0),
    }
    return Situation(**{**values, **changes})


def test_air_change_of_the_moisture_balance():
    """Own example, checked by hand: f 0.70, 20/-5 °C, 80 % outdoors, 10 kg/day in 250 m³ need 0.269 1/h.

    p_max 1158.96 Pa, p_e 321.4 Pa; released at 0.1 1/h: 10/24/250/0.1 kg/m³ times 461.5 times 293.15.
    """
    excess = 10.0 / 24.0 / 250.0 / 0.1 * 461.5 * 293.15
    case = situation(excess_pa=np.full(4, excess))
    assert case.highest_pa == pytest.approx(1158.96, abs=1.5)
    assert 0.1 * case.ventilation_ratio == pytest.approx(0.269, abs=0.0005)


@pytest.mark.parametrize(("outdoor", "printed"), [(-10.0, 0.449), (-5.0, 0.496), (0.0, 0.547), (5.0, 0.603)])
def test_highest_room_humidity(outdoor, printed):
    """Own example of the ISO 13788 criterion: f 0.70, 20 °C, 80 % at the surface."""
    assert situation(outdoor_degc=outdoor).highest_humidity == pytest.approx(printed, abs=0.001)


def test_outdoor_air_too_moist_dries_nothing():
    """By hand: a room cannot be drier than outdoors."""
    assert ventilation_ratio(500.0, 900.0, 900.0) == np.inf
    assert ventilation_ratio(500.0, 900.0, 800.0) == np.inf
    assert ventilation_ratio(0.0, 700.0, 800.0) == 1.0


def test_warmth_by_hand():
    """By hand: f 0.5 and 0 °C outdoors, a surface of 12 °C needs a room of 24 °C."""
    assert extra_warmth_k(0.5, 20.0, 0.0, 12.0) == pytest.approx(4.0)
    assert extra_warmth_k(0.5, 26.0, 0.0, 12.0) == 0.0


def test_insulation_by_hand():
    """By hand with R_si 0.25: f 0.5 is 0.25 m²K/W, f 0.75 is 0.75 m²K/W; no wall reaches f 1."""
    assert wall_resistance_m2k_w([0.5, 0.75], 0.25) == pytest.approx([0.25, 0.75])
    assert added_resistance_m2k_w(0.5, 0.75, 0.25) == pytest.approx(0.5)
    assert added_resistance_m2k_w(0.5, 0.75, 0.25, 0.5) == pytest.approx(1.0)
    assert added_resistance_m2k_w(0.5, 1.0, 0.25) == np.inf


def test_the_german_limit_needs_the_german_resistance():
    """DIN 4108-2: R 1.2 m²K/W is f 0.832 with R_si 0.25; from nothing but R_se that is what is added."""
    bare = 0.04 / 0.29
    assert added_resistance_m2k_w(bare, 0.832, 0.25) == pytest.approx(1.2, abs=0.01)


@pytest.mark.parametrize("kind", ["ventilation", "warmth", "insulation"])
def test_the_need_just_reaches_the_limit(kind):
    """Done in full, each cure by itself brings the surface to the limit: nothing more, nothing less."""
    case = situation()
    measures = {
        "ventilation": Measures(ratio=case.ventilation_ratio),
        "warmth": Measures(warmth_k=case.extra_warmth_k),
        "insulation": Measures(added_m2k_w=case.added_resistance_m2k_w),
    }[kind]
    assert np.all(case.humidity > 0.81)
    assert case.after(measures).humidity == pytest.approx(0.80, abs=1e-6)


def test_the_limit_factor_is_reached_too():
    """A place dry enough in its room still has to reach the factor that the limit asks for."""
    case = situation(least_factor=0.75, excess_pa=np.full(4, 100.0))
    lifted = factor_with_insulation(0.70, case.added_resistance_m2k_w, 0.25)
    assert lifted == pytest.approx(0.75, abs=1e-9)


@given(
    factor=st.floats(0.05, 0.95),
    indoor=st.floats(15.0, 24.0),
    outdoor=st.floats(-15.0, 10.0),
    excess=st.floats(0.0, 1500.0),
    less=st.floats(0.0, 3.0),
    more=st.floats(0.0, 3.0),
)
def test_more_is_never_worse(factor, indoor, outdoor, excess, less, more):
    """More insulation, warmth or air never moistens the surface, outdoor air being drier."""
    case = situation(
        factor=np.full(4, factor),
        indoor_degc=np.full(4, indoor),
        outdoor_degc=outdoor,
        excess_pa=np.full(4, excess),
    )
    little, much = sorted((less, more))
    for name in ("added_m2k_w", "warmth_k"):
        low, high = (case.after(Measures(**{name: v})).humidity for v in (little, much))
        assert np.all(high <= low + 1e-12)
    low, high = (case.after(Measures(ratio=1.0 + v)).humidity for v in (little, much))
    assert np.all(high <= low + 1e-12)


@pytest.mark.parametrize(
    ("need", "reach", "planned"),
    [
        ([1.0, 1.0, 1.0], "none", 1.0),
        ([1.2, 1.5, 1.83], "enough", 1.9),
        ([1.2, 1.5, np.inf], "perhaps", 4.0),
        ([1.2, np.inf, np.inf], "not", 4.0),
        ([5.0, 6.0, 7.0], "not", 4.0),
    ],
)
def test_what_is_enough(need, reach, planned):
    """Read off: low, middle and high third of the draws against four times the present air change."""
    item = Remedy(kind="ventilation", need=np.repeat(need, 1000), most=4.0)
    assert item.reach == reach
    assert item.planned == pytest.approx(planned)
    assert (item.quantity is None) == (reach in ("perhaps", "not"))


def test_a_number_of_the_report_is_never_infinite():
    """Needs that nothing meets give a sentence and no quantity."""
    wet = situation(outdoor_pa=np.full(4, 2000.0), excess_pa=np.full(4, 300.0))
    assert [item.reach for item in remedies(wet)] == ["not", "not", "not"]
    assert not [item for item in remedies(wet) if item.quantity is not None]


def test_too_moist_a_room_is_insulated_by_the_limit():
    """Where no wall helps the room as found, the limit's own conditions say how much to plan."""
    wet = situation(excess_pa=np.full(4, 2200.0))
    stated = situation(excess_pa=np.full(4, 1168.5 - 321.4), least_factor=0.75)
    assert remedies(wet)[2].reach == "not"
    assert advised(stated, wet)[2].planned == pytest.approx(0.2)  # 0.75 less 0.583, rounded up
    assert advised(None, wet)[2].reach == "not"
