"""Invented radiators: heat is conserved, faults look as they do, a set of scenes is as varied as promised."""

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.scenes.panel_water import Deposit, Panel, panel_state
from thermalkit.scenes.radiators import CONNECTIONS, panel_places, radiator_seen, without_fault
from thermalkit.scenes.random_radiators import FAULTS, random_radiator

WATER_J_KGK = 4186.0
PANEL = Panel(length_m=1.2, height_m=0.6, rated_w=1500.0, connection=CONNECTIONS["top-bottom-opposite"])
ROOM, FLOW, DESIGN_KG_S = 20.0, 60.0, 0.0215


def excess(panel, share=1.0):
    return panel_state(panel, FLOW, ROOM, DESIGN_KG_S * share).cells_degc - ROOM


@pytest.mark.parametrize("connection", sorted(CONNECTIONS))
@pytest.mark.parametrize("share", [0.1, 0.4, 1.0, 2.0])
def test_the_water_loses_what_the_room_gets(connection, share):
    """Energy balance of the settled panel."""
    state = panel_state(replace(PANEL, connection=CONNECTIONS[connection]), FLOW, ROOM, DESIGN_KG_S * share)
    lost_w = state.flow_kg_s * WATER_J_KGK * (FLOW - state.return_degc)
    assert state.output_w == pytest.approx(lost_w, rel=0.01)


def test_half_the_water_gives_four_fifths_of_the_heat():
    """The rule of the trade at 80/60/20 (from memory), though here water also mixes and rises."""
    panel = replace(PANEL, rated_w=1500.0)
    whole = 1500.0 * (48.86 / 49.83) ** 1.3 / WATER_J_KGK / 20.0
    outputs = [panel_state(panel, 80.0, 20.0, whole * share).output_w for share in (0.5, 1.0)]
    assert outputs[0] / outputs[1] == pytest.approx(0.807, abs=0.03)


def test_air_leaves_the_top_cold():
    """Above its surface hardly any excess, below it nearly all."""
    cells = excess(replace(PANEL, air_depth=0.25))
    assert cells[0].mean() < 0.45 * excess(PANEL)[0].mean()
    assert cells[len(cells) // 2 :].mean() > 0.75 * excess(PANEL)[len(cells) // 2 :].mean()


def test_a_deposit_leaves_the_middle_of_the_bottom_cold():
    """Colder there than at the end where the water leaves, and than without it."""
    cells = excess(replace(PANEL, deposits=(Deposit(middle=0.5, half_width=0.3, height=0.2),)))
    middle = cells[-3:, cells.shape[1] // 2].mean()
    assert middle < 0.6 * excess(PANEL)[-3:].mean()
    assert middle < 0.6 * cells[-3:, -1].mean()


def test_little_water_lies_in_layers():
    """Warm top, cold bottom, hardly any difference along the length."""
    cells = excess(PANEL, 0.15)
    rows = cells.mean(axis=1)
    assert np.all(np.diff(rows) < 0.0)
    assert rows[-1] < 0.35 * rows[0]
    assert np.ptp(cells[len(cells) // 2]) < 0.15 * FLOW - ROOM * 0.15


def test_swapped_pipes_warm_the_end_with_the_pipes():
    """Water rises at the first channels and leaves: the far end stays cold."""
    one, other = CONNECTIONS["top-bottom-same"]
    cells = excess(replace(PANEL, connection=(other, one)))
    assert cells[:, :2].mean() > 1.6 * cells[:, -4:].mean()


def test_a_panel_warms_up_from_the_inlet():
    """After a few minutes the bottom is still cold, after an hour it has settled."""
    settled = excess(PANEL)
    early, late = (
        panel_state(PANEL, FLOW, ROOM, DESIGN_KG_S, minutes).cells_degc - ROOM for minutes in (4.0, 90.0)
    )
    assert early[-1].mean() < 0.5 * settled[-1].mean()
    assert late == pytest.approx(settled, abs=0.6)


def test_a_third_is_healthy_and_half_of_those_are_throttled_or_cool():
    """As promised for the statistic; the same seed gives the same scenes."""
    scenes = [random_radiator(np.random.default_rng(seed)) for seed in range(600)]
    healthy = [scene for scene in scenes if scene.fault == "none"]
    special = [scene for scene in healthy if scene.is_throttled or scene.flow_degc <= 45.0]
    assert len(healthy) / len(scenes) == pytest.approx(1.0 / 3.0, abs=0.06)
    assert len(special) / len(healthy) == pytest.approx(0.5, abs=0.11)
    assert {scene.fault for scene in scenes} == {"none", *FAULTS}
    assert random_radiator(np.random.default_rng(5)) == random_radiator(np.random.default_rng(5))


def test_the_picture_shows_the_panel_where_its_outline_is():
    """Inside the outline it is warmer than anything but its pipes; the outline lies within the picture."""
    scene = replace(
        random_radiator(np.random.default_rng(8), "none"), flow_share=1.0, furniture=None, flow_degc=60.0
    )
    seen = radiator_seen(scene, np.random.default_rng(8))
    along, down = panel_places(scene)
    inside = (along > 0.03) & (along < 0.97) & (down > 0.05) & (down < 0.95)
    above = (along > 0.1) & (along < 0.9) & (down < -0.1)
    assert np.percentile(seen.apparent_degc[inside], 5) > np.percentile(seen.apparent_degc[above], 95)
    points = np.array(seen.outline.points)
    assert points.min() >= 0.0
    assert np.all(points <= np.subtract(scene.shape, 1))


def test_without_its_fault_a_radiator_is_healthy():
    """For how large a fault shows: same view, same room, full water."""
    for fault in FAULTS:
        scene = random_radiator(np.random.default_rng(4), fault)
        sound = without_fault(scene)
        assert sound.fault == "none"
        assert sound.corners == scene.corners
        assert panel_state(sound.panel, 60.0, 20.0, sound.design_flow_kg_s).output_w > 0.0


def test_metal_mirrors_the_room():
    """A bright finish shows far less than the water inside it."""
    scene = random_radiator(np.random.default_rng(8), "none")
    bright = replace(scene, finish=replace(scene.finish, name="chrome", emissivity=0.15))
    along, down = panel_places(scene)
    inside = (along > 0.1) & (along < 0.9) & (down > 0.1) & (down < 0.5)
    shown = [radiator_seen(s, np.random.default_rng(1)).apparent_degc[inside].mean() for s in (scene, bright)]
    assert shown[1] - scene.room_degc < 0.4 * (shown[0] - scene.room_degc)
