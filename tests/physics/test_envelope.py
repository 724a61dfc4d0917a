import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics import envelope
from thermalkit.physics.envelope import (
    design_vapour_pressure_pa,
    factor_from_resistance,
    highest_indoor_humidity,
    moisture_excess_pa,
    required_factor,
    surface_temperature_from_factor_degc,
    temperature_factor,
    temperature_factor_at_film,
)
from thermalkit.physics.moist_air import surface_humidity, vapour_pressure_pa


@pytest.mark.published(
    "temperature_factor",
    "surface_temperature_from_factor_degc",
    "temperature_factor_at_film",
    "factor_from_resistance",
    "required_factor",
    "moisture_excess_pa",
    "design_vapour_pressure_pa",
    "highest_indoor_humidity",
)
def test_reproduces_printed_value(row):
    """Every printed value is met within the difference its source allows."""
    result = getattr(envelope, row.function)(**row.inputs)
    assert result == row.expected


@pytest.mark.published("required_factor_by_month")
def test_month_asks_for_the_printed_factor(row):
    """Class, month and the margin of a tenth lead to the smallest factor at 20 °C."""
    pressure = design_vapour_pressure_pa(
        row.inputs["humidity_class"], row.inputs["outdoor_degc"], row.inputs["outdoor_relative_humidity"]
    )
    factor = required_factor(20.0, row.inputs["outdoor_degc"], pressure)
    assert factor == row.expected


@pytest.mark.published("required_factor_at_constant_humidity")
def test_month_at_constant_humidity_asks_for_the_printed_factor(row):
    """A room kept at 20 °C and 0.50, with the margin of 0.05."""
    factor = required_factor(20.0, row.inputs["outdoor_degc"], vapour_pressure_pa(20.0, 0.55))
    assert factor == row.expected


def test_summer_months_ask_for_nothing():
    """June to August the surface may be colder than outdoors, so the factor is negative."""
    assert (required_factor(20.0, [14.5, 16.4, 16.2], vapour_pressure_pa(20.0, 0.55)) < 0).all()


def test_factor_and_surface_temperature_undo_each_other():
    """From surface to factor and back, also for factors outside 0 to 1."""
    surface = np.linspace(-20.0, 30.0, 11)
    factor = temperature_factor(surface, 20.0, -5.0)
    assert surface_temperature_from_factor_degc(factor, 20.0, -5.0) == pytest.approx(surface, abs=1e-9)


def test_change_of_film_agrees_with_the_wall_itself():
    """A plain wall worked with either film gives the same pair of factors, there and back."""
    layers = np.array([0.1, 0.5, 1.2, 4.0])
    at_window, at_wall = factor_from_resistance(layers, 0.13), factor_from_resistance(layers, 0.25)
    assert temperature_factor_at_film(at_window, 0.13) == pytest.approx(at_wall, abs=1e-12)
    assert temperature_factor_at_film(at_wall, 0.25, 0.13) == pytest.approx(at_window, abs=1e-12)


def test_highest_humidity_brings_the_surface_to_its_limit():
    """A room at its highest humidity has exactly the allowed humidity at the surface."""
    highest = highest_indoor_humidity(0.62, 21.0, -3.0)
    surface = surface_temperature_from_factor_degc(0.62, 21.0, -3.0)
    assert surface_humidity(vapour_pressure_pa(21.0, highest), surface) == pytest.approx(0.80, abs=1e-12)
    assert required_factor(21.0, -3.0, vapour_pressure_pa(21.0, highest)) == pytest.approx(0.62, abs=1e-9)


def test_no_temperature_difference_tells_nothing():
    """Indoors as warm as outdoors gives NaN, also among others, and NaN stays NaN."""
    assert np.isnan(temperature_factor(18.0, 20.0, [20.0, -5.0, np.nan])).tolist() == [True, False, True]
    assert np.isnan(required_factor(20.0, 20.0, 1168.5))


def test_factor_that_no_wall_explains_has_no_other_film():
    """Far above 1 the surface is heated; the series of resistances breaks down."""
    assert np.isnan(temperature_factor_at_film(3.0, 0.13, 0.25))
    assert temperature_factor_at_film(1.0, 0.13, 0.25) == pytest.approx(1.0)


def test_arguments_broadcast():
    """A column of rooms and a row of outdoor temperatures make a table."""
    rooms, outdoors = np.array([[18.0], [22.0]]), np.array([-5.0, 0.0, 5.0])
    assert temperature_factor(15.0, rooms, outdoors).shape == (2, 3)
    assert highest_indoor_humidity(0.7, rooms, outdoors).shape == (2, 3)
    assert required_factor(rooms, outdoors, 1100.0, surface_humidity=[0.6, 0.8, 1.0]).shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: temperature_factor(288.0, 20.0, 0.0), "surface_temperature_degc = 288 is outside"),
        (lambda: temperature_factor_at_film(0.8, 7.7), "film_m2k_w = 7.7 is outside 0.01 to 5"),
        (lambda: surface_temperature_from_factor_degc(70.0, 20.0, 0.0), "factor = 70 is outside"),
        (lambda: required_factor(20.0, -5.0, 11.685e4), "vapour_pressure_pa = 116850 is outside"),
        (lambda: highest_indoor_humidity(0.7, 20, 0, surface_humidity=80), "surface_humidity = 80"),
        (lambda: moisture_excess_pa(6, 0.0), "humidity_class = 6 is outside 1 to 5"),
        (lambda: moisture_excess_pa(0, 0.0), "humidity_class = 0 is outside 1 to 5"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Kelvin, percent, coefficients for resistances and unknown classes are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
