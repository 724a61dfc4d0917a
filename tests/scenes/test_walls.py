"""The truth of invented walls against formulas solved by hand and printed values."""

import numpy as np
import pytest
from pytest import approx

from thermalkit.physics.conduction import refinement_change, steady
from thermalkit.scenes.buildups import CONCRETE, air_layer, layer
from thermalkit.scenes.climate import DAY_S, Climate, random_climate
from thermalkit.scenes.walls import (
    REACH_M,
    Band,
    Film,
    FlatWall,
    OuterCorner,
    random_corner,
    random_patch,
    random_sound,
    section,
)

PLASTER = layer("plaster", 0.013, 0.57, 1.1)
BRICK_WALL = (PLASTER, layer("brick", 0.220, 0.77, 1.4))
EVEN = Film(open_m2k_w=0.13, sheltered_m2k_w=0.13)
KINDS = (random_corner, random_patch, random_sound)


def flat(layers, film=EVEN, **others):
    return FlatWall(layers=layers, film=film, sheltered_at_m=0.0, **others)


def layer_formula(layers, film_m2k_w, outer_film_m2k_w=0.04):
    """ISO 13788: f = (R + R_se) / (R_si + R + R_se), one-dimensional."""
    behind = sum(item.resistance_m2k_w for item in layers) + outer_film_m2k_w
    return behind / (behind + film_m2k_w)


def transfer_matrix_swing(layers, film_m2k_w, outer_film_m2k_w=0.04):
    """Inner surface answer to 1 K outdoors: product of layer matrices, ISO 13786, from memory."""
    angular = 2.0 * np.pi / DAY_S
    total = np.array([[1.0, outer_film_m2k_w], [0.0, 1.0]], dtype=complex)
    for item in reversed(layers):
        conductivity = item.material.conductivity_w_mk
        wave = np.sqrt(1j * angular * item.material.heat_capacity_j_m3k / conductivity)
        x = wave * item.thickness_m
        total = total @ np.array(
            [[np.cosh(x), np.sinh(x) / (conductivity * wave)], [conductivity * wave * np.sinh(x), np.cosh(x)]]
        )
    total = total @ np.array([[1.0, film_m2k_w], [0.0, 1.0]])
    return film_m2k_w / total[0, 1]


def test_brick_wall_has_the_printed_transmittance():
    """U 2.09 of 220 mm brick with 13 mm dense plaster (CIBSE Guide A), so f = 1 - U R_si."""
    answers = section(flat(BRICK_WALL), np.array([1.0]))
    assert (1.0 - answers.factor_at_films[0]) / 0.13 == approx(2.09, abs=0.005)


def test_the_limit_film_is_a_quarter():
    """A factor of 0.582 with 0.25 m²K/W, from the printed resistance (layer formula, by hand)."""
    resistance = 1.0 / 2.09 - 0.13
    assert section(flat(BRICK_WALL), np.array([1.0])).factor[0] == approx(
        resistance / (resistance + 0.25), abs=0.002
    )


@pytest.mark.parametrize("seed", range(12))
def test_far_from_the_corner_a_wall_is_one_dimensional(seed):
    """Layer formula of ISO 13788, at 1.9 m from the corner line, on both walls."""
    wall = random_corner(np.random.default_rng(seed))
    answers = section(wall, np.array([-1.9, 1.9]))
    for factor, film_m2k_w in ((answers.factor, 0.25), (answers.factor_at_films, answers.film_m2k_w[0])):
        assert factor == approx(layer_formula(wall.layers, film_m2k_w, wall.outer_film_m2k_w), abs=0.002)


@pytest.mark.parametrize("seed", range(12))
def test_far_from_the_band_a_wall_is_one_dimensional(seed):
    """Layer formula of ISO 13788, at 1.9 m from the middle of the band."""
    wall = random_patch(np.random.default_rng(seed))
    factor = section(wall, np.array([-1.9])).factor[0]
    assert factor == approx(layer_formula(wall.layers, 0.25, wall.outer_film_m2k_w), abs=0.002)


def test_in_the_middle_of_a_wide_band_it_is_one_dimensional_too():
    """Layer formula with the band's material instead of the brick."""
    band = Band(name="concrete lintel", material=CONCRETE, width_m=2.0, first=1, last=1)
    factor = section(flat(BRICK_WALL, band=band), np.array([0.0])).factor[0]
    assert factor == approx(layer_formula((PLASTER, layer("x", 0.22, 2.0, 2.2)), 0.25), abs=0.003)


def test_a_gap_in_insulation_is_an_air_layer():
    """0.18 m²K/W whatever the thickness (ISO 6946, from memory)."""
    assert air_layer(0.05).resistance_m2k_w == air_layer(0.14).resistance_m2k_w == approx(0.18)


@pytest.mark.parametrize("layers", [BRICK_WALL, (PLASTER, layer("block", 0.1, 0.3, 1.0), air_layer(0.06))])
def test_swing_agrees_with_transfer_matrices(layers):
    """ISO 13786 matrices, from memory: amplitude within 1 %, lag within 6 minutes."""
    answer = section(flat(layers), np.array([0.5])).swing[0]
    printed = transfer_matrix_swing(layers, 0.13)
    assert abs(answer) == approx(abs(printed), rel=0.01)
    assert np.angle(answer / printed) == approx(0.0, abs=2 * np.pi * 0.1 / 24)


def test_heavy_walls_remember():
    """A wall of f 0.74 under ±4 K reads 0.64 to 0.80 from one reading, 0.71 to 0.77 from the daily mean.

    Common experience put into numbers before this model was written; the difference they were made for
    was not noted, and 16 K reproduces them.
    """
    wall = flat((PLASTER, layer("brick", 0.220, 0.71, 1.4)))
    answers = section(wall, np.array([0.0]))
    assert answers.factor_at_films[0] == approx(0.74, abs=0.005)
    days = [
        Climate(
            indoor_degc=20.0,
            indoor_humidity=0.5,
            outdoor_mean_degc=4.0,
            outdoor_swing_k=4.0,
            hour=float(hour),
        )
        for hour in np.linspace(0.0, 24.0, 97)
    ]
    surface = np.array([answers.surface_degc(day, np.array([20.0]))[0] for day in days])
    outdoor = np.array([day.outdoor_degc for day in days])
    now, mean = (surface - outdoor) / (20.0 - outdoor), (surface - 4.0) / 16.0
    assert (now.min(), now.max()) == approx((0.64, 0.80), abs=0.01)
    assert (mean.min(), mean.max()) == approx((0.71, 0.77), abs=0.01)


def test_a_heavy_surface_is_warmest_hours_after_the_air():
    """The lag of the ISO 13786 matrices, from memory: about 6 h for 220 mm of brick."""
    answers = section(flat(BRICK_WALL), np.array([0.0]))
    hours = np.arange(0.0, 24.0, 0.25)
    day = {"indoor_degc": 20.0, "indoor_humidity": 0.5, "outdoor_mean_degc": 4.0, "outdoor_swing_k": 4.0}
    surface = [
        answers.surface_degc(Climate(**day, warmest_hour=15.0, hour=float(h)), np.array([20.0]))[0]
        for h in hours
    ]
    lag_h = -np.angle(transfer_matrix_swing(BRICK_WALL, 0.13)) * 24.0 / (2.0 * np.pi)
    assert lag_h == approx(6.0, abs=1.0)
    assert (hours[np.argmax(surface)] - 15.0) % 24.0 == approx(lag_h, abs=0.3)


@pytest.mark.parametrize("make", KINDS)
def test_factors_are_shares(make):
    """Between 0 and 1 everywhere, and no colder behind a smaller film."""
    rng = np.random.default_rng(5)
    for _ in range(10):
        answers = section(make(rng), np.linspace(-1.5, 1.5, 101))
        assert np.all((answers.factor > 0.0) & (answers.factor_at_films < 1.0))
        assert np.all(answers.factor <= answers.factor_at_films + 1e-9)
        assert np.all(np.abs(answers.swing) < 1.0)


@pytest.mark.parametrize("make", KINDS)
def test_heat_is_conserved_and_the_grid_is_fine_enough(make):
    """ISO 10211 criteria, from memory: imbalance below 1e-4, f changes by less than 0.005 on halving."""
    rng = np.random.default_rng(6)
    for _ in range(4):
        wall = make(rng)
        films = {"inside": 0.25, "outside": 0.04}
        body = wall.body()
        assert steady(body, films).at({"inside": 1.0, "outside": 0.0}).imbalance() < 1e-4
        change = refinement_change(body, films, {"inside": 1.0, "outside": 0.0})
        assert change.lowest_surface_k < 0.005
        assert change.heat_flow < 0.01


def test_corners_are_colder_than_their_walls():
    """A corner loses more than it gains; a post of concrete makes it colder still."""
    along_m = np.array([0.005, 1.5])
    plain = section(OuterCorner(layers=BRICK_WALL, film=EVEN), along_m).factor
    post = section(OuterCorner(layers=BRICK_WALL, film=EVEN, post=CONCRETE), along_m).factor
    assert post[0] < plain[0] < plain[1]


def test_both_walls_of_a_corner_are_alike():
    """The left wall answers as the right one."""
    along_m = np.linspace(0.01, 1.0, 20)
    wall = random_corner(np.random.default_rng(3))
    assert section(wall, along_m).factor == approx(section(wall, -along_m).factor)


def test_buildings_range_from_poor_to_good():
    """Coldest factors reach below 0.50 and above 0.90; films stay within 0.13 to 0.25 m²K/W."""
    rng = np.random.default_rng(8)
    along_m = np.linspace(-REACH_M, REACH_M, 41)
    found = [section(make(rng), along_m) for make in KINDS for _ in range(15)]
    coldest = [answers.factor.min() for answers in found]
    films = np.array([answers.film_m2k_w for answers in found])
    assert min(coldest) < 0.50
    assert max(coldest) > 0.90
    assert films.min() >= 0.13
    assert films.max() <= 0.25


def test_causes_are_named():
    """The truth file says what makes a place cold."""
    rng = np.random.default_rng(9)
    causes = {make(rng).cause for make in KINDS for _ in range(30)}
    assert causes >= {"none", "outer corner", "concrete lintel", "missing insulation"}


def test_the_day_is_warmest_at_its_hour():
    """Mean plus swing at the warmest hour, mean six hours later."""
    day = Climate(
        indoor_degc=20.0,
        indoor_humidity=0.5,
        outdoor_mean_degc=2.0,
        outdoor_swing_k=3.0,
        warmest_hour=15.0,
        hour=15.0,
    )
    assert day.outdoor_degc == approx(5.0)
    assert day.vapour_pressure_pa == approx(1168.5, abs=0.1)  # ISO 13788, 20 °C and 50 %


def test_a_clear_sky_swings_more():
    """Clear nights differ more from their days than overcast ones: common practice."""
    rng = np.random.default_rng(2)
    days = [random_climate(rng) for _ in range(200)]
    mean = {sky: np.mean([d.outdoor_swing_k for d in days if d.sky == sky]) for sky in ("clear", "overcast")}
    assert mean["clear"] > mean["overcast"] + 2.0
