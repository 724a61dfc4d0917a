"""Degree hours from monthly means, by hand and against a sum over days."""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.degree_hours import cooling_degree_hours, heating_degree_hours


def test_heated_months_by_hand():
    """20 °C against 5 °C in January and 10 °C in April; months of 16 °C are not heated."""
    months = (5.0, 16.0, 16.0, 10.0, *[16.0] * 8)
    warm, hours = heating_degree_hours(np.array([20.0]), months)
    assert warm[0] == pytest.approx(15.0 * 744.0 + 10.0 * 720.0)
    assert hours == 744.0 + 720.0


def test_a_year_of_steady_cold_is_8766_hours():
    """Julian year of 365.25 days, 1 K."""
    warm, hours = heating_degree_hours(6.0, (5.0,) * 12)
    assert (warm, hours) == (pytest.approx(8766.0), pytest.approx(8766.0))


def test_hot_months_by_hand():
    """24 °C against 29 °C in July and 27 °C in August; cooler months bring nothing back."""
    months = (*[10.0] * 6, 29.0, 27.0, *[10.0] * 4)
    assert cooling_degree_hours(24.0, months) == pytest.approx(5.0 * 744.0 + 3.0 * 744.0)


@pytest.mark.parametrize("function", [heating_degree_hours, cooling_degree_hours])
def test_eleven_months_are_refused(function):
    with pytest.raises(OutOfDomain, match="twelve months"):
        function(20.0, (5.0,) * 11)
