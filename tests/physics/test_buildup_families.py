"""Families of walls: the table row by row, and what is drawn from it."""

import numpy as np
import pytest

from thermalkit.measured import Draws
from thermalkit.physics.buildup_families import families, family
from thermalkit.physics.layers import transmittance_w_m2k
from thermalkit.physics.tables import UnknownName

approx = pytest.approx


@pytest.mark.parametrize("name", families())
def test_every_layer_is_in_order_and_plausible(name):
    """No published source; each low, typical and high lies in order and within what is built."""
    for layer in family(name).layers:
        d, k = layer.thickness_mm, layer.conductivity_w_mk
        assert 1.0 <= d.low < d.typical < d.high <= 1000.0, layer.name
        assert k is None or 0.02 <= k.low < k.typical < k.high <= 3.0, layer.name
        assert (k is None) == (layer.material == "air")


def test_a_printed_wall_lies_within_its_family():
    """CIBSE Guide table: 220 mm brick and 13 mm dense plaster, among the thinnest drawn, have U 2.09."""
    u = transmittance_w_m2k(family("solid brick before 1920").resistance_m2k_w(Draws(), "a"))
    assert np.median(u) < 2.09 < u.max()


def test_draws_are_triangular():
    """Mean (a+b+c)/3 and variance (a²+b²+c²-ab-ac-bc)/18 of a triangular distribution."""
    spread = family("solid brick before 1920").layers[1].thickness_mm
    a, c, b = spread.low, spread.typical, spread.high
    drawn = spread.drawn(Draws().quantiles("x"))
    assert drawn.mean() == approx((a + b + c) / 3, rel=1e-3)
    assert drawn.var() == approx((a * a + b * b + c * c - a * b - a * c - b * c) / 18, rel=1e-3)
    assert a <= drawn.min() <= drawn.max() <= b


def test_an_air_layer_has_its_table_resistance():
    """ISO 6946 table (from memory): 0.18 m²K/W from 25 mm upwards, heat flowing sideways."""
    air = family("cavity brick 1920 to 1975").drawn(Draws(), "a")[2]
    assert air.resistance_m2k_w == approx(0.18, abs=0.005)
    assert air.conductivity_w_mk == approx(air.thickness_mm / 1000.0 / 0.18, rel=0.03)


def test_one_wall_is_drawn_once_and_two_walls_independently():
    draws, brick = Draws(), family("solid brick before 1920")
    one, again, other = (brick.resistance_m2k_w(draws, wall) for wall in ("a", "a", "b"))
    assert np.array_equal(one, again)
    assert abs(np.corrcoef(one, other)[0, 1]) < 0.05


def test_unknown_family_offers_near_ones():
    with pytest.raises(UnknownName, match='near: "solid brick before 1920"'):
        family("solid brick")
