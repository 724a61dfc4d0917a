"""Evaporation together with conduction."""

import numpy as np
import pytest

from thermalkit.physics import evaporation
from thermalkit.physics.conduction import Body, IllPosed, Material, NotConverged, graded_edges_m
from thermalkit.physics.evaporation import steady_with_evaporation
from thermalkit.physics.moist_air import wet_surface_temperature_degc

approx = pytest.approx
FILMS, CLIMATE = {"inside": 0.13, "outside": 0.04}, {"inside": 20.0, "outside": -5.0}


def wall(height_m=None):
    """220 mm brick behind 13 mm plaster, in one or two dimensions."""
    through = graded_edges_m([0.0, 0.013, 0.233], 0.003, 1.4)
    body = (
        Body(through) if height_m is None else Body(through, graded_edges_m([0.0, 1.0, height_m], 0.02, 1.3))
    )
    rest = [None] * (len(body.shape) - 1)
    body.paint([(0.0, 0.013), *rest], Material(name="plaster", conductivity_w_mk=0.57))
    body.paint([(0.013, 0.233), *rest], Material(name="brick", conductivity_w_mk=0.77))
    body.expose(0, "low", "inside")
    body.expose(0, "high", "outside")
    return body


def everywhere(centres_m):
    return np.ones(len(centres_m), dtype=bool)


def test_wet_outside_wall():
    """Separate heat balance (own example): 20 °C/0.50 inside, -5 outside, dry 13.2, wet 12.3 °C."""
    found = steady_with_evaporation(wall(), FILMS, CLIMATE, everywhere, relative_humidity=0.50)
    assert found.dry_degc == approx([13.2], abs=0.05)
    assert found.temperature_degc == approx([12.3], abs=0.05)


@pytest.mark.parametrize("humidity", [0.3, 0.5, 0.9])
def test_one_dimension_is_the_heat_balance_of_a_point(humidity):
    """`wet_surface_temperature_degc`, proven by itself; in damp air vapour condenses and warms."""
    found = steady_with_evaporation(wall(), FILMS, CLIMATE, everywhere, relative_humidity=humidity)
    behind = 1.0 / (0.013 / 0.57 + 0.220 / 0.77 + 0.04)
    point = wet_surface_temperature_degc(
        20.0,
        humidity,
        convective_w_m2k=2.5,
        radiative_w_m2k=1 / 0.13 - 2.5,
        conductance_behind_w_m2k=behind,
        temperature_behind_degc=-5.0,
    )
    assert found.temperature_degc == approx([float(point)], abs=1e-4)
    assert (found.evaporation_kg_s > 0.0) == (found.temperature_degc[0] < found.dry_degc[0])


def test_a_wet_patch_cools_its_neighbours():
    """Wet below 1 m: wet far below, dry far above, in between a smooth passage within both."""
    found = steady_with_evaporation(
        wall(2.0), FILMS, CLIMATE, lambda centres_m: centres_m[:, 1] < 1.0, relative_humidity=0.50
    )
    height_m = found.centres_m[:, 1]
    fall = found.dry_degc - found.temperature_degc
    assert fall[np.argmin(height_m)] == approx(0.9, abs=0.06)
    assert abs(fall[np.argmax(height_m)]) < 0.02
    assert np.all(np.diff(fall[np.argsort(height_m)]) < 1e-9)
    assert np.all(found.evaporation_w_m2[height_m > 1.0] == 0.0)
    assert np.all(found.evaporation_w_m2[height_m < 1.0] > 0.0)


def test_nothing_wet_changes_nothing():
    found = steady_with_evaporation(
        wall(), FILMS, CLIMATE, lambda centres_m: centres_m[:, 0] > 1.0, relative_humidity=0.50
    )
    assert found.temperature_degc == approx(found.dry_degc, abs=1e-9)
    assert found.evaporation_kg_s == 0.0


def test_a_wet_face_needs_a_film():
    with pytest.raises(IllPosed, match="wet faces without film"):
        steady_with_evaporation(
            wall(), {"inside": 0.0, "outside": 0.04}, CLIMATE, everywhere, relative_humidity=0.5
        )


def test_a_room_that_is_not_there_is_named():
    with pytest.raises(IllPosed, match="no environment 'cellar'"):
        steady_with_evaporation(wall(), FILMS, CLIMATE, everywhere, room="cellar", relative_humidity=0.5)


def test_a_balance_that_does_not_settle_is_refused(monkeypatch):
    monkeypatch.setattr(evaporation, "_ITERATIONS", 1)
    with pytest.raises(NotConverged, match="within 1 rounds"):
        steady_with_evaporation(wall(), FILMS, CLIMATE, everywhere, relative_humidity=0.5)
