import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.conduction import Body, Material, graded_edges_m, steady
from thermalkit.physics.conductors import (
    carried_rise_k,
    conducted_power_w,
    conductor,
    conductor_film_w_m2k,
    conductors,
    contact_resistance_ohm,
    current_rise_k,
    fin_length_m,
    heat_loss_w_mk,
    surface_share,
)
from thermalkit.physics.tables import UnknownName


@pytest.mark.published("carried_rise_k")
def test_a_rise_is_carried_to_another_load(row):
    """Worked examples of the power law, loads in percent of rated."""
    assert carried_rise_k(**row.inputs) == row.expected


def test_beyond_two_and_a_half_times_the_load_nothing_is_carried():
    """From 30 to 80 % the printed answers run from 35 to 57 K: refused, and the message says by how much."""
    with pytest.raises(OutOfDomain, match=r"to_a over measured_a = 2\.66667 is outside 0 to 2\.5"):
        carried_rise_k(8.0, 30.0, 80.0)


@pytest.mark.parametrize("exponent", [1.4, 2.1])
def test_an_exponent_outside_what_was_ever_found_is_refused(exponent):
    """1.5 to 2 only."""
    with pytest.raises(OutOfDomain, match="exponent"):
        carried_rise_k(10.0, 50.0, 100.0, exponent)


@pytest.mark.published("fin_length_m")
def test_fin_length_of_usual_sizes(row):
    """About 80 mm at 2.5 mm² and 280 mm at 95 mm²."""
    assert fin_length_m(conductor(row.inputs["area_mm2"]), row.inputs["film_w_m2k"]) == row.expected


@pytest.mark.published("resistance_ohm_km")
def test_resistances_are_those_of_the_table(row):
    """Printed maximum resistance at 20 °C."""
    found = conductor(row.inputs["area_mm2"], row.inputs["material"])
    assert 1000.0 * found.resistance_ohm_m == pytest.approx(row.printed, rel=1e-12)


def test_every_row_of_the_table_is_plausible():
    """Resistance times area: 17.2 or 28.3 nΩm, to 14 % above it (50 mm² of the trade is 47 in truth)."""
    for wire in conductors().values():
        resistivity = {"copper": 17.24e-9, "aluminium": 28.26e-9}[wire.material]
        assert 0.99 < wire.resistance_ohm_m * wire.area_mm2 * 1e-6 / resistivity < 1.14
        assert 0.7 <= wire.insulation_mm <= 2.2


def test_an_unknown_size_names_its_neighbours():
    """Nothing near is taken for it."""
    with pytest.raises(UnknownName, match=r"2\.5 copper"):
        conductor(2.6)


AIR = "air"
SIDE_M, LENGTH_M = 0.004, 1.5


def bar(film_w_m2k, heat_w_m3=0.0):
    """A square copper bar in air, in three dimensions, its one end held at 1 K: temperatures along it."""
    across_m = np.linspace(0.0, SIDE_M / 2.0, 3)
    body = Body(graded_edges_m([0.0, LENGTH_M], [0.002, 0.01], 1.2, coarsest_m=0.01), across_m, across_m)
    body.paint([None] * 3, Material(name="copper", conductivity_w_mk=391.0))
    body.expose(1, "high", AIR)
    body.expose(2, "high", AIR)
    body.expose(0, "low", "joint")
    body.heat([None] * 3, heat_w_m3)
    solution = steady(body, {AIR: 1.0 / film_w_m2k, "joint": 0.0})
    points_m = np.array([[x, 0.0, 0.0] for x in (0.02, 0.05, 0.1, 0.2)])
    return points_m[:, 0], solution.at({AIR: 0.0, "joint": 1.0}).temperature_degc(points_m)


@pytest.mark.parametrize("heat_w_m3", [0.0, 5000.0])
def test_the_fin_is_what_conduction_in_three_dimensions_gives(heat_w_m3):
    """A bare square bar of 16 mm², joint and current heat together, within 1 % of what the joint adds.

    Carslaw and Jaeger, 4.3: level + joint exp(-x/L).
    """
    film = 12.0
    loss_w_mk = 4.0 * SIDE_M * film
    fin_m = float(np.sqrt(391.0 * SIDE_M**2 / loss_w_mk))
    level_k = heat_w_m3 * SIDE_M**2 / loss_w_mk
    along_m, solved_k = bar(film, heat_w_m3)
    assert solved_k == pytest.approx(level_k + (1.0 - level_k) * np.exp(-along_m / fin_m), abs=0.01)


def test_the_heat_into_the_bar_is_what_conduction_gives():
    """λ A dT/dx at the joint, from the solved field near it."""
    film = 12.0
    along_m, solved_k = bar(film)
    fin_m = float(np.sqrt(391.0 * SIDE_M**2 / (4.0 * SIDE_M * film)))
    fitted_m = (along_m[2] - along_m[0]) / np.log(solved_k[0] / solved_k[2])
    assert fitted_m == pytest.approx(fin_m, rel=0.01)
    wire = conductor(16.0)
    entered_w = conducted_power_w(1.0, wire, film)
    assert entered_w == pytest.approx(391.0 * 16e-6 / fin_length_m(wire, film), rel=1e-9)


def test_a_current_leaves_as_much_heat_as_it_brings():
    """I² R' at the temperature reached equals the loss."""
    wire, film = conductor(2.5), 14.0
    rise_k = current_rise_k(wire, 20.0, film, 35.0)
    warm_ohm_m = wire.resistance_ohm_m * (1.0 + 0.00393 * (35.0 + rise_k - 20.0))
    assert heat_loss_w_mk(wire, film) * rise_k == pytest.approx(20.0**2 * warm_ohm_m)


def test_a_current_that_no_wire_bears_is_refused():
    """No steady temperature exists."""
    with pytest.raises(OutOfDomain, match="no steady temperature"):
        current_rise_k(conductor(1.5), 400.0, 10.0)


def test_free_air_gives_an_exponent_within_the_stated_interval():
    """Solving loss against current twice for 16 mm²: between 1.5 and 2, resistance growth included."""
    wire = conductor(16.0)
    rises = []
    for current_a in (40.0, 80.0):
        rise_k = 10.0
        for _ in range(60):
            rise_k = float(
                current_rise_k(wire, current_a, conductor_film_w_m2k(wire.outer_diameter_m, rise_k))
            )
        rises.append(rise_k)
    exponent = np.log(rises[1] / rises[0]) / np.log(2.0)
    assert 1.5 < exponent < 2.0


def test_insulation_keeps_part_of_the_rise():
    """2.5 mm² in 14 W/(m²K) by hand: ln(3.384/1.784)/(2π 0.17) = 0.599 of 7.32 mK/W is insulation."""
    assert surface_share(conductor(2.5), 14.0) == pytest.approx(1.0 - 0.599 / 7.32, abs=0.001)
    assert surface_share(conductor(2.5, is_insulated=False), 14.0) == pytest.approx(1.0)


def test_joule_heat_and_resistance_undo_each_other():
    """2 W at 16 A is 7.8 mΩ by hand."""
    assert contact_resistance_ohm(2.0, 16.0) == pytest.approx(0.0078125)
    with pytest.raises(OutOfDomain, match="current_a"):
        contact_resistance_ohm(2.0, 0.0)
