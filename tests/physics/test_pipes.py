import numpy as np
import pytest
from scipy.optimize import brentq

from thermalkit.errors import OutOfDomain
from thermalkit.physics import pipes
from thermalkit.physics.moist_air import dew_point_degc
from thermalkit.physics.pipes import (
    flat_insulation_against_sweating_mm,
    heat_gain_w_m,
    insulation_against_sweating_mm,
    jacket_temperature_degc,
    pipe_convection_w_m2k,
    radiative_exchange_w_m2k,
    sweating_humidity,
    wall_convection_w_m2k,
)


@pytest.mark.published(
    "insulation_against_sweating_mm",
    "flat_insulation_against_sweating_mm",
    "heat_gain_w_m",
    "jacket_temperature_degc",
    "sweating_humidity",
    "pipe_convection_w_m2k",
    "wall_convection_w_m2k",
    "radiative_exchange_w_m2k",
)
def test_reproduces_printed_value(row):
    """Thickness, heat and surface of cold pipes are met within what their source allows."""
    assert getattr(pipes, row.function)(**row.inputs) == row.expected


@pytest.mark.published("pipe_film_w_m2k")
def test_whole_film_is_convection_and_radiation(row):
    """A dull and a bright jacket in still air."""
    d, surface, around, eps = row.inputs.values()
    film = pipe_convection_w_m2k(d, around - surface) + radiative_exchange_w_m2k(surface, around, eps)
    assert film == row.expected


def test_insulated_pipe_is_just_at_the_dew_point():
    """With the least thickness the jacket is as warm as the dew point, as a root search finds too."""
    diameter = np.array([10.0, 60.0, 500.0])
    climate = (0.04, 7.0, 5.0, 26.0)
    least = insulation_against_sweating_mm(diameter, *climate, 0.75)
    dew = dew_point_degc(26.0, 0.75)
    assert jacket_temperature_degc(diameter, least, *climate) == pytest.approx(dew)
    found = brentq(lambda s: float(jacket_temperature_degc(60.0, s, *climate) - dew), 0.0, 200.0)
    assert least[1] == pytest.approx(found, abs=1e-6)


def test_large_pipe_is_nearly_flat():
    """A flat surface is the limit of ever larger pipes, and needs more than any of them."""
    climate = (0.04, 8.0, 6.0, 25.0, 0.7)
    flat = flat_insulation_against_sweating_mm(*climate)
    assert insulation_against_sweating_mm(5000.0, *climate) == pytest.approx(flat, rel=0.005)
    assert insulation_against_sweating_mm(5000.0, *climate) < flat


def test_pipe_above_the_dew_point_needs_nothing_and_saturated_air_allows_nothing():
    """The two ends: no thickness, and none that is enough."""
    least = insulation_against_sweating_mm(22.0, 0.04, 9.0, [19.0, 6.0, 25.0], 24.0, [0.5, 1.0, 1.0])
    assert least.tolist() == [0.0, np.inf, 0.0]
    assert sweating_humidity(25.0, 24.0) > 1.0


def test_bare_pipe_sees_its_film_alone():
    """Without insulation the jacket is the pipe, by hand."""
    assert jacket_temperature_degc(30.0, 0.0, 0.04, 9.0, 6.0, 24.0) == pytest.approx(6.0)
    assert heat_gain_w_m(30.0, 0.0, 0.04, 9.0, 6.0, 24.0) == pytest.approx(np.pi * 0.03 * 9.0 * 18.0)


def test_convection_turns_turbulent_on_large_surfaces():
    """Beyond D³ Δθ = 10 m³K size no longer counts."""
    assert pipe_convection_w_m2k([2.0, 3.0], 8.0) == pytest.approx([2.42, 2.42])
    assert wall_convection_w_m2k(1.0, 1.0) > wall_convection_w_m2k(2.0, 1.0)


def test_unknown_stays_unknown():
    """NaN passes through, also among others."""
    least = insulation_against_sweating_mm(22.0, 0.04, 9.0, [6.0, np.nan], 24.0, 0.7)
    assert np.isnan(least).tolist() == [False, True]
    assert np.isnan(insulation_against_sweating_mm(np.nan, 0.04, 9.0, 6.0, 24.0, 0.7))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: insulation_against_sweating_mm(0.022, 0.04, 9.0, 6.0, 24.0, 0.7),
            "pipe_diameter_mm = 0.022",
        ),
        (lambda: insulation_against_sweating_mm(22.0, 0.04, 9.0, 6.0, 24.0, 70.0), "relative_humidity = 70"),
        (lambda: heat_gain_w_m(22.0, -1.0, 0.04, 9.0, 6.0, 24.0), "insulation_mm = -1 is outside"),
        (lambda: flat_insulation_against_sweating_mm(40.0, 9.0, 6.0, 24.0, 0.7), "conductivity_w_mk = 40"),
        (lambda: pipe_convection_w_m2k(48.3, 5.0), "outer_diameter_m = 48.3"),
        (lambda: wall_convection_w_m2k(2.5, -3.0), "difference_k = -3"),
        (lambda: radiative_exchange_w_m2k(20.0, 25.0, 94.0), "emissivity = 94"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Metres for millimetres and percent are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
