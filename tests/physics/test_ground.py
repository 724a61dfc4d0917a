import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics import ground
from thermalkit.physics.ground import (
    characteristic_dimension_m,
    equivalent_thickness_m,
    slab_transmittance_w_m2k,
)


@pytest.mark.published("characteristic_dimension_m", "equivalent_thickness_m", "slab_transmittance_w_m2k")
def test_reproduces_worked_value(row):
    """A bare and an insulated slab of 100 m², after ISO 13370 from memory."""
    assert getattr(ground, row.function)(**row.inputs) == row.expected


def test_two_formulas_meet():
    """Where B' equals d_t both formulas agree within 1 %, as 2 ln(π+1)/(π+1) and 1/1.457 do."""
    area = np.array([99.99, 100.01]) * 5.72 / 5.0
    below, above = slab_transmittance_w_m2k(area, 40.0, 300.0, 2.5)
    assert below == pytest.approx(above, rel=0.01)


def test_very_large_slab_loses_little():
    """A long way from its edge a floor is kept warm by the ground."""
    assert slab_transmittance_w_m2k(1e6, 4000.0, 300.0, 0.0) < 0.03


def test_unknown_stays_unknown():
    """NaN passes through, also among others."""
    assert np.isnan(slab_transmittance_w_m2k(100.0, 40.0, 300.0, [0.0, np.nan])).tolist() == [False, True]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: characteristic_dimension_m(100.0, 0.0), "perimeter_m = 0 is outside"),
        (lambda: equivalent_thickness_m(300.0, -1.0), "floor_resistance_m2k_w = -1 is outside"),
        (lambda: slab_transmittance_w_m2k(100.0, 40.0, 300.0, 0.0, 20.0), "ground_w_mk = 20 is outside"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """A floor without edge and a ground of metal are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
