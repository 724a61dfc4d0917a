"""Walls that evaporate or are warmed from within, against printed limits and another way of solving."""

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.imaging.camera import Camera
from thermalkit.physics.conduction import Body, graded_edges_m, steady
from thermalkit.physics.evaporation import steady_with_evaporation
from thermalkit.physics.moist_air import (
    PSYCHROMETRIC_PA_K,
    saturation_pressure_pa,
    vapour_pressure_pa,
    wet_bulb_degc,
    wet_surface_temperature_degc,
)
from thermalkit.scenes import (
    Climate,
    FlatWall,
    Foot,
    Heat,
    InnerWall,
    OuterCorner,
    Run,
    Scene,
    Spot,
    Stain,
    seen,
    truth_at,
)
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.scene import Errors, plane_m
from thermalkit.scenes.walls import Film
from thermalkit.scenes.wet import Face, changed_degc, face_of, wet_share

BRICK = layer("brick", 0.22, 0.77, 1.4)
CLIMATE = Climate(indoor_degc=20.0, indoor_humidity=0.5, outdoor_mean_degc=-5.0, outdoor_swing_k=0.0)
FILM = Film(open_m2k_w=0.13, sheltered_m2k_w=0.13)
OUTER = FlatWall(layers=(BRICK,), film=FILM, sheltered_at_m=0.0)
INNER = InnerWall(layers=(layer("brick", 0.055, 0.77, 1.4),), film=FILM)
EVERYWHERE = Stain(name="all", shape=Foot(height_m=9.0))
SCENE = Scene(
    wall=OUTER,
    climate=CLIMATE,
    camera=Camera(rows=60, columns=80, field_of_view_deg=(40.0, 30.5)),
    errors=Errors(),
    stains=(EVERYWHERE,),
    things=(),
)


def face(layers, film_m2k_w, beyond_w_m2k, shape=(4, 6), side_m=0.02):
    return Face(layers=layers, film_m2k_w=film_m2k_w, beyond_w_m2k=beyond_w_m2k, side_m=side_m, shape=shape)


@pytest.mark.parametrize(
    ("air_degc", "humidity", "convective", "radiative", "printed"),
    [
        (20.0, 0.50, 2.5, 0.0, 13.84),
        (20.0, 0.50, 2.5, 5.0, 16.48),
        (20.0, 0.50, 5.0, 5.0, 15.54),
        (20.0, 0.50, 25.0, 5.0, 14.28),
        (22.0, 0.40, 3.0, 5.2, 17.11),
        (25.0, 0.50, 2.5, 5.1, 20.75),
    ],
)
def test_a_wet_inner_wall_settles_where_the_heat_balance_does(
    air_degc, humidity, convective, radiative, printed
):
    """Heat balance with psychrometric constant, worked separately; the first is near the wet bulb, 13.78."""
    wall = face(INNER.layers, 1.0 / (convective + radiative), 0.0)
    dry = np.full(wall.shape, air_degc)
    vapour_pa = float(vapour_pressure_pa(air_degc, humidity))
    found = wall.evaporating_degc(dry, np.ones(wall.shape), convective, vapour_pa)
    assert found == pytest.approx(printed, abs=0.01)


def test_a_wet_outside_wall_is_colder_than_the_wet_bulb():
    """Brick of 220 mm, dry 13.2 °C: wet 12.3 °C, worked separately, where the wet bulb is 13.8 °C."""
    conductivity = 0.22 / (25.0 * 0.13 / 6.8 - 0.13 - 0.04)  # makes the dry surface 13.2 °C
    wall = face((layer("brick", 0.22, conductivity, 1.4),), 0.13, 25.0)
    found = wall.evaporating_degc(
        np.full(wall.shape, 13.2), np.ones(wall.shape), 2.5, float(vapour_pressure_pa(20.0, 0.5))
    )
    assert found == pytest.approx(12.3, abs=0.05)
    assert np.all(found < wet_bulb_degc(20.0, 0.5))


def test_no_patch_is_colder_than_a_wall_that_is_wet_all_over():
    """Dry wall around a patch warms it: the coupled balance without sideways flow is the floor."""
    patch = Stain(name="patch", shape=Spot(centre_m=(0.7, 0.5), radius_m=0.2, raggedness=0.3, seed=3))
    scene = replace(SCENE, stains=(patch,))
    resistance = 0.13 + 0.22 / 0.77 + 0.04
    dry_degc = 20.0 - 25.0 * 0.13 / resistance
    floor = wet_surface_temperature_degc(
        20.0,
        0.5,
        convective_w_m2k=2.5,
        radiative_w_m2k=1.0 / 0.13 - 2.5,
        conductance_behind_w_m2k=1.0 / (resistance - 0.13),
        temperature_behind_degc=-5.0,
    )
    found = changed_degc(scene, np.full(scene.shape, dry_degc))
    assert found.min() > floor
    assert found.min() == pytest.approx(floor, abs=0.15)
    assert found.max() == pytest.approx(dry_degc, abs=0.02)


def test_heat_spent_on_water_comes_from_room_and_wall():
    """Energy: what evaporates equals what flows in more from the room and out less through the wall."""
    stain = Stain(name="foot", shape=Foot(height_m=0.4, raggedness_m=0.1, seed=5))
    scene = replace(SCENE, stains=(stain,))
    dry_degc = np.full(scene.shape, 13.0)
    found = changed_degc(scene, dry_degc)
    excess_pa = saturation_pressure_pa(found) - CLIMATE.vapour_pressure_pa
    spent_w_m2 = wet_share(scene) * 2.5 / PSYCHROMETRIC_PA_K * excess_pa
    both_ways_w_m2k = 1.0 / 0.13 + 1.0 / (0.22 / 0.77 + 0.04)
    assert both_ways_w_m2k * np.mean(dry_degc - found) == pytest.approx(spent_w_m2.mean(), rel=1e-6)


def test_a_buried_line_of_heat_spreads_as_the_closed_form_says():
    """Flux at a surface of fixed temperature: q' d / (pi (x² + d²)), Carslaw and Jaeger, by images."""
    depth_m, side_m = 0.05, 0.005
    wall = face((layer("solid", 30.0, 1.0, 1.4),), 1e-6, 0.0, (1, 8000), side_m)
    heat = np.zeros(wall.shape)
    heat[:, 4000] = 1.0 / side_m
    flux = wall.rise_k(heat, depth_m)[0] / 1e-6
    away_m = (np.arange(8000) - 4000) * side_m
    closed = depth_m / (np.pi * (away_m**2 + depth_m**2))
    assert flux[3900:4100] == pytest.approx(closed[3900:4100], rel=0.01)


def test_layers_and_depths_agree_with_a_finite_volume_solution():
    """Plaster on brick with heat in the brick: the grid of the conduction solver gives the same rise."""
    layers = (layer("plaster", 0.02, 0.5, 1.1), layer("brick", 0.20, 0.8, 1.4))
    columns, side_m, depth_m = 40, 0.02, 0.055
    wall = face(layers, 0.13, 25.0, (2, columns), side_m)
    heat = np.zeros(wall.shape)
    heat[:, 16:20] = 300.0
    along = graded_edges_m(np.linspace(0.0, columns * side_m, columns + 1), 0.005)
    through = graded_edges_m([0.0, 0.02, 0.05, 0.06, 0.22], 0.001, 1.3, coarsest_m=0.01)
    body = Body(along, through)
    body.paint([None, (0.0, 0.02)], layers[0].material)
    body.paint([None, (0.02, 0.22)], layers[1].material)
    body.heat([(16 * side_m, 20 * side_m), (0.05, 0.06)], 300.0 / 0.01)
    body.expose(1, "low", "inside")
    body.expose(1, "high", "outside")
    field = steady(body, {"inside": 0.13, "outside": 0.04}).at({"inside": 0.0, "outside": 0.0})
    middles = np.stack([(np.arange(columns) + 0.5) * side_m, np.zeros(columns)], axis=1)
    assert wall.rise_k(heat, depth_m)[0] == pytest.approx(field.temperature_degc(middles, "inside"), abs=0.03)


def test_a_wet_band_agrees_with_a_finite_volume_solution():
    """Brick with a wet strip 0.2 m wide: conduction and evaporation solved on a grid give the same."""
    columns, side_m = 40, 0.02
    wall = face((BRICK,), 0.13, 25.0, (2, columns), side_m)
    wet = np.zeros(wall.shape)
    wet[:, 15:25] = 1.0
    dry_degc = np.full(wall.shape, 20.0 - 25.0 * 0.13 / (0.17 + 0.22 / 0.77))
    found = wall.evaporating_degc(dry_degc, wet, 2.5, CLIMATE.vapour_pressure_pa)[0]
    body = Body(
        graded_edges_m(np.linspace(0.0, columns * side_m, columns + 1), 0.01),
        graded_edges_m([0.0, 0.22], 0.001, 1.3, coarsest_m=0.01),
    )
    body.paint([None, None], BRICK.material)
    body.expose(1, "low", "inside")
    body.expose(1, "high", "outside")
    grid = steady_with_evaporation(
        body,
        {"inside": 0.13, "outside": 0.04},
        {"inside": 20.0, "outside": -5.0},
        lambda centres: np.abs(centres[:, 0] - 0.4) < 0.1,
        relative_humidity=0.5,
    )
    middles = (np.arange(columns) + 0.5) * side_m
    order = np.argsort(grid.centres_m[:, 0])
    expected = np.interp(middles, grid.centres_m[order, 0], grid.temperature_degc[order])
    assert found == pytest.approx(expected, abs=0.03)
    assert found.min() < 12.5 < found.max() - 0.3


def test_a_pipe_warms_and_its_leak_widens_the_trace_between_cold_rims():
    """The trace bulges at the leak, and where water evaporates beside it the wall is colder than dry."""
    pipe = Heat(
        name="pipe",
        shape=Run(points_m=((0.0, 0.5), (1.5, 0.5)), width_m=0.03),
        power_w_m2=600.0,
        depth_m=0.03,
    )
    leak = Heat(name="leak", shape=Spot(centre_m=(0.7, 0.5), radius_m=0.10), power_w_m2=350.0, depth_m=0.02)
    wet = Stain(name="blob", shape=Spot(centre_m=(0.7, 0.45), radius_m=0.25))
    scene = replace(SCENE, wall=INNER, heats=(pipe, leak), stains=(wet,))
    dry = changed_degc(replace(scene, heats=(pipe,), stains=()), np.full(scene.shape, 20.0))
    found = changed_degc(scene, np.full(scene.shape, 20.0))
    across_m, up_m = (axis.ravel() for axis in plane_m(scene))
    at_leak, away = np.argmin(np.abs(across_m - 0.7)), np.argmin(np.abs(across_m - 1.2))
    below = np.argmin(np.abs(up_m - 0.27))
    assert dry.min() > 20.0
    assert found[below, at_leak] < 19.0 < found[below, away]
    warm = [
        np.count_nonzero(column > (20.0 + dry[:, away].max()) / 2.0)
        for column in (found[:, at_leak], dry[:, away])
    ]
    assert warm[0] > 1.3 * warm[1]


def test_an_old_stain_shows_on_the_photo_only():
    """Without water nothing evaporates, and the frame is that of the plain wall."""
    old = replace(SCENE, stains=(replace(EVERYWHERE, wetness=0.0),))
    pictures = [seen(scene, np.random.default_rng(1)) for scene in (old, replace(SCENE, stains=()))]
    assert np.allclose(pictures[0].true_surface_degc, pictures[1].true_surface_degc, atol=1e-6)


def test_a_picture_of_a_wet_wall_keeps_the_factor_of_the_dry_one():
    """The factor is the wall's; the surface and its humidity are what they are with the water."""
    wet, dry = (seen(s, np.random.default_rng(2)) for s in (SCENE, replace(SCENE, stains=())))
    assert np.array_equal(wet.true_factor, dry.true_factor)
    assert truth_at(wet, wet.sound).surface_degc < truth_at(dry, dry.sound).surface_degc - 0.5
    assert truth_at(wet, wet.sound).humidity > truth_at(dry, dry.sound).humidity


def test_an_inner_wall_has_the_temperature_of_its_room():
    """No outdoor air lies behind it, whatever the weather."""
    picture = seen(replace(SCENE, wall=INNER, stains=()), np.random.default_rng(3))
    assert np.allclose(picture.true_surface_degc, 20.0)


def test_a_corner_is_not_flat():
    """Water is only known on flat walls, and the error says so."""
    corner = OuterCorner(layers=(BRICK,), film=FILM)
    with pytest.raises(TypeError, match="flat walls"):
        face_of(replace(SCENE, wall=corner))
