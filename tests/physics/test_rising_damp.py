import numpy as np
import pytest
from scipy.integrate import solve_ivp

from thermalkit.errors import OutOfDomain
from thermalkit.physics import rising_damp
from thermalkit.physics.rising_damp import (
    drying_months,
    free_moisture,
    front_height_after_mm,
    front_height_mm,
)

WALL = (1.0, 150.0, 0.001, 0.2)


@pytest.mark.published("front_height_mm", "drying_months", "free_moisture")
def test_reproduces_worked_value(row):
    """Heights of the sharp front and rules of practice, worked by hand."""
    assert getattr(rising_damp, row.function)(**row.inputs) == row.expected


def test_young_front_climbs_as_if_nothing_evaporated():
    """A dry wall first draws water as a brick in a tray does, i = S t^0.5, by hand."""
    minutes = 10.0
    assert front_height_after_mm(minutes / 1440, *WALL) == pytest.approx(np.sqrt(minutes) / 0.2, rel=1e-3)


def test_front_follows_its_balance_integrated_numerically():
    """SciPy's integration of inflow less evaporation gives the same heights for weeks."""
    s, b, e, theta = WALL

    def climb(_, squared):
        return s**2 / theta**2 - 2.0 * 2 * e * squared / (b * theta)

    days = np.array([0.5, 3.0, 10.0, 30.0])
    found = solve_ivp(climb, (0.0, 30 * 1440), [0.0], t_eval=days * 1440, rtol=1e-9, atol=1e-6)
    assert front_height_after_mm(days, *WALL, faces=2) == pytest.approx(np.sqrt(found.y[0]), rel=1e-6)


def test_front_ends_at_its_steady_height():
    """After years nothing changes any more, and at once nothing has risen."""
    assert front_height_after_mm([0.0, 10_000.0], *WALL) == pytest.approx([0.0, front_height_mm(*WALL)])


def test_unknown_stays_unknown():
    """NaN passes through, also among others."""
    assert np.isnan(front_height_mm([1.0, np.nan], *WALL[1:])).tolist() == [False, True]
    assert np.isnan(free_moisture([np.nan], 0.1)).all()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: front_height_mm(1.0, 0.3, 0.001, 0.2), r"wall_thickness_mm = 0\.3 is outside"),
        (lambda: front_height_mm(1.0, 300.0, 0.001, 20.0), "moisture_content = 20 is outside"),
        (lambda: front_height_mm(1.0, 300.0, 0.001, 0.2, faces=3), "faces = 3 is outside 1 to 2"),
        (lambda: drying_months(5.0), "wall_thickness_mm = 5 is outside"),
        (lambda: free_moisture(12.0, 3.0), "moisture_content = 12 is outside 0 to 1"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Metres and percent are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
