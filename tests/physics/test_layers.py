import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics import layers
from thermalkit.physics.envelope import factor_from_resistance, temperature_factor
from thermalkit.physics.layers import (
    air_layer_resistance_m2k_w,
    combined_resistance,
    layer_resistance_m2k_w,
    radiative_film_w_m2k,
    temperature_profile_degc,
    transmittance_from_surface_w_m2k,
    transmittance_w_m2k,
)


@pytest.mark.published(
    "radiative_film_w_m2k",
    "air_layer_resistance_m2k_w",
    "layer_resistance_m2k_w",
    "transmittance_w_m2k",
    "transmittance_from_surface_w_m2k",
)
def test_reproduces_printed_value(row):
    """Films, air gaps and plain walls are met within what their source allows."""
    assert getattr(layers, row.function)(**row.inputs) == row.expected


@pytest.mark.published("combined_resistance")
def test_stud_wall_reproduces_worked_value(row):
    """Plasterboard, 15 % studs in 140 mm insulation, board, cavity and a brick leaf."""
    through = [0.0125 / 0.25, 0.0, 0.009 / 0.13, 0.18, 0.1025 / 0.77]
    stud, filled = through.copy(), through.copy()
    stud[1], filled[1] = 0.140 / 0.13, 0.140 / 0.035
    wall = combined_resistance([0.15, 0.85], [stud, filled])
    assert getattr(wall, row.inputs["quantity"]) == row.expected


@pytest.mark.published("temperature_profile_degc")
def test_plastered_brick_wall_has_the_worked_temperatures(row):
    """220 mm brick behind 13 mm plaster, 20 °C to -5 °C, with either film."""
    wall = layer_resistance_m2k_w([13.0, 220.0], [0.57, 0.77])
    profile = temperature_profile_degc(wall, 20.0, -5.0, film_m2k_w=row.inputs["film_m2k_w"])
    assert profile[row.inputs["place"]] == row.expected


@pytest.mark.parametrize(("film", "flow"), [(0.13, 52.24), (0.25, 41.77)])
def test_plastered_brick_wall_has_the_worked_heat_flow(film, flow):
    """Own example after ISO 6946, worked separately."""
    resistance = layer_resistance_m2k_w([13.0, 220.0], [0.57, 0.77]).sum()
    assert 25.0 * transmittance_w_m2k(resistance, film_m2k_w=film) == pytest.approx(flow, abs=0.006)


def test_equal_sections_have_no_error():
    """Sections alike are one plain wall, by hand."""
    wall = combined_resistance([0.3, 0.7], [[0.5, 1.0], [0.5, 1.0]])
    assert wall.upper_m2k_w == pytest.approx(1.67)
    assert wall.largest_error == pytest.approx(0.0, abs=1e-12)


def test_profile_agrees_with_the_temperature_factor():
    """The inner surface of the profile has the factor of the whole wall, in several climates."""
    outdoor = np.array([-5.0, 5.0, 30.0])
    profile = temperature_profile_degc([0.1, 0.9], 20.0, outdoor, film_m2k_w=0.25)
    assert profile.shape == (3, 3)
    assert temperature_factor(profile[:, 0], 20.0, outdoor) == pytest.approx(factor_from_resistance(1.0))


def test_surface_temperature_gives_the_wall_back():
    """From transmittance to surface temperature and back; no difference tells nothing."""
    surface = temperature_profile_degc([0.7], 21.0, 3.0)[0]
    assert transmittance_from_surface_w_m2k(surface, 21.0, 3.0) == pytest.approx(transmittance_w_m2k(0.7))
    assert np.isnan(transmittance_from_surface_w_m2k(18.0, 20.0, [20.0, np.nan])).all()


def test_unknown_stays_unknown():
    """NaN passes through, also among others."""
    assert np.isnan(air_layer_resistance_m2k_w([10.0, np.nan], "down")).tolist() == [False, True]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: combined_resistance([0.2, 0.7], [[1.0], [2.0]]), r"shares make 0\.9 together, not 1"),
        (lambda: combined_resistance([15.0, 85.0], [[1.0], [2.0]]), "shares = 15 is outside 0 to 1"),
        (lambda: air_layer_resistance_m2k_w(0.025), r"thickness_mm = 0\.025 is outside 1 to 300"),
        (lambda: radiative_film_w_m2k(293.15), "mean_temperature_degc = 293.15"),
        (lambda: transmittance_w_m2k(0.5, film_m2k_w=7.7), "film_m2k_w = 7.7"),
        (lambda: layer_resistance_m2k_w(100.0, 0.0), "conductivity_w_mk = 0 is outside"),
        (lambda: temperature_profile_degc([-1.0], 20.0, 0.0), "resistances_m2k_w = -1"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Metres for millimetres, kelvin, percent and coefficients for resistances are refused."""
    with pytest.raises(OutOfDomain, match=message):
        call()
