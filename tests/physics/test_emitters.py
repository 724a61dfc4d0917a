"""Radiators against EN 442's excess temperatures and solutions worked by hand."""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics import emitters
from thermalkit.physics.emitters import (
    arithmetic_excess_k,
    excess_k,
    heat_into_wall_w_m2,
    logarithmic_excess_k,
    return_at_flow_degc,
    water_flow_kg_h,
)


@pytest.mark.published(
    "arithmetic_excess_k",
    "logarithmic_excess_k",
    "excess_share",
    "output_share",
    "standard_ratio",
    "water_flow_kg_h",
    "return_at_flow_degc",
    "room_heat_load_w",
    "heat_into_wall_w_m2",
)
def test_printed_values(row):
    """Tables of excess temperatures and outputs; the rest worked by hand."""
    assert getattr(emitters, row.function)(**row.inputs) == row.expected


@pytest.mark.published("output_at_flow_share")
def test_half_the_water_gives_more_than_half_the_heat(row):
    """The rule of the trade: half the flow, four fifths of the output at 80/60/20."""
    given = row.inputs
    back = return_at_flow_degc(**given)
    share = given["flow_share"] * (given["flow_degc"] - back)
    assert share / (given["flow_degc"] - given["design_return_degc"]) == row.expected


def test_the_logarithmic_mean_is_taken_below_seven_tenths():
    """EN 442 asks for it where c < 0.7 (from memory): at 70/55/20 c is 0.700, at 50/40/20 0.667."""
    assert excess_k(70.0, 55.0, 20.0) == arithmetic_excess_k(70.0, 55.0, 20.0)
    assert excess_k(50.0, 40.0, 20.0) == logarithmic_excess_k(50.0, 40.0, 20.0)


def test_without_a_drop_both_means_are_the_excess():
    """A limit case: water that does not cool."""
    assert logarithmic_excess_k(45.0, 45.0, 20.0) == pytest.approx(25.0, abs=1e-9)
    assert logarithmic_excess_k(45.0, 45.0 - 1e-9, 20.0) == pytest.approx(25.0, abs=1e-6)


def test_a_return_as_cold_as_the_room_leaves_no_mean():
    """The limit of the logarithmic mean is 0, and so is that of no excess at all."""
    assert logarithmic_excess_k([60.0, 20.0], 20.0, 20.0) == pytest.approx([0.0, 0.0])


def test_missing_pixels_stay_missing():
    """NaN in, NaN out."""
    assert np.isnan(logarithmic_excess_k([np.nan, 60.0], [20.0, 50.0], [20.0, np.nan])).all()
    assert np.isnan(excess_k([np.nan, 60.0], [50.0, 50.0], [20.0, np.nan])).all()
    assert np.isnan(return_at_flow_degc([np.nan, 0.5], 75.0, [65.0, np.nan], 20.0, 1.3)).all()
    assert np.isnan(heat_into_wall_w_m2(np.nan, 20.0, 0.0, 1.0))


def test_all_the_water_of_the_design_brings_its_return():
    """The solution at a share of one is the design itself."""
    assert return_at_flow_degc(1.0, [75.0, 55.0], [65.0, 45.0], 20.0, [1.2, 1.4]) == pytest.approx(
        [65.0, 45.0], abs=1e-6
    )


def test_without_a_drop_no_finite_flow_gives_off_heat():
    """The limit of ever smaller drops."""
    assert np.isinf(water_flow_kg_h(1500.0, 0.0))


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: logarithmic_excess_k(50.0, 60.0, 20.0), "flow less return"),
        (lambda: logarithmic_excess_k(60.0, 15.0, 20.0), "return less room"),
        (lambda: arithmetic_excess_k(600.0, 50.0, 20.0), "flow_degc = 600"),
        (lambda: return_at_flow_degc(0.5, 60.0, 60.0, 20.0, 1.3), "design drop"),
        (lambda: return_at_flow_degc(0.5, 60.0, 20.0, 20.0, 1.3), "design return above room"),
        (lambda: water_flow_kg_h(-1.0, 10.0), "output_w"),
        (lambda: heat_into_wall_w_m2(50.0, 20.0, 0.0, 90.0), "transmittance_w_m2k"),
    ],
)
def test_what_cannot_be_is_named(call, named):
    """Temperatures in another order, and inputs outside their range."""
    with pytest.raises(OutOfDomain, match=named):
        call()
