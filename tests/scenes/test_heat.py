"""True heat flows of invented walls, by hand where a wall is plain, and walls drawn from details."""

import numpy as np
import pytest

from thermalkit.imaging.mark import Mark
from thermalkit.physics.detail_result import detail_result
from thermalkit.physics.details.lintel import Lintel
from thermalkit.physics.details.shutter_box import ShutterBox
from thermalkit.scenes import Climate, FlatWall, Scene, random_scene, seen
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.heat import random_house, true_extra_w_k, true_flow_w_m2k
from thermalkit.scenes.junctions import Junction
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.walls import Film, section

COLD = Climate(indoor_degc=20.0, indoor_humidity=0.5, outdoor_mean_degc=0.0, outdoor_swing_k=1.0, hour=7.0)


def test_the_flow_of_a_plain_wall_is_its_transmittance():
    """1/(0.15 + 0.24/0.6 + 0.04), by hand; between two of its places nothing is extra."""
    rng = np.random.default_rng(1)
    wall = FlatWall(
        layers=(layer("brick", 0.24, 0.6, 1.4),),
        film=Film(open_m2k_w=0.15, sheltered_m2k_w=0.15),
        sheltered_at_m=0.0,
    )
    camera = random_scene(rng).camera
    picture = seen(Scene(wall=wall, climate=COLD, camera=camera, errors=Errors(), things=()), rng)
    rows, columns = picture.scene.shape
    whole = Mark(
        frame="wall", id="all", shape="patch", points=((0, 0), (0, columns - 1), (rows - 1, columns - 1))
    )
    assert true_flow_w_m2k(picture, whole) == pytest.approx(1.0 / (0.15 + 0.24 / 0.6 + 0.04), rel=1e-3)
    assert true_extra_w_k(picture) == pytest.approx(0.0, abs=1e-4)


def test_a_house_has_one_day_and_one_set_of_instruments():
    house = random_house(np.random.default_rng(3), 3)
    assert len({p.scene.climate for p in house}) == len({p.scene.errors for p in house}) == 1
    assert len({p.frame for p in house}) == 3
    assert len({p.scene.camera.offset_k for p in house}) == 3
    assert all(true_extra_w_k(p) > 0.0 for p in house)


@pytest.mark.parametrize("detail", [Lintel(), ShutterBox(cover_mm=25.0)], ids=["lintel", "shutter box"])
def test_a_junction_is_as_cold_as_its_calculation(detail):
    """Factors at 0.25 m²K/W along the wall, by the detail's own finer grid."""
    wall = Junction(detail=detail, name="edge", film=Film(open_m2k_w=0.15, sheltered_m2k_w=0.15))
    along = np.linspace(0.01, 0.8, 30)
    calculated = detail_result(detail)
    expected = np.interp(along, calculated.along_m, calculated.factors)
    assert section(wall, along).factor == pytest.approx(expected, abs=0.01)
    assert wall.cause == "edge"


def test_below_the_edge_lies_the_frame():
    """Set back from the wall's face, and cut off 100 mm on."""
    wall = Junction(detail=Lintel(), name="edge", film=Film(open_m2k_w=0.15, sheltered_m2k_w=0.15))
    frame, wall_face = wall.points_m(np.array([-0.5, 0.5]))
    assert frame[0] < 0.0
    assert frame[1] == pytest.approx(-0.095)
    assert wall_face.tolist() == [0.0, 0.5]
