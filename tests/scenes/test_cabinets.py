"""Invented cabinets against the fin equation, by hand, and by what their faults mean."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from thermalkit.errors import WritingError
from thermalkit.imaging.mark import mark_mask
from thermalkit.physics.conductors import conductor_film_w_m2k, current_rise_k, fin_length_m
from thermalkit.scenes.cabinet_cases import FAULTS, random_cabinet
from thermalkit.scenes.cabinet_pictures import frames_of
from thermalkit.scenes.cabinet_site import shown, write_cabinets
from thermalkit.scenes.cabinets import Air, Pole, warmth
from thermalkit.site.folder import read_site

STILL = Air(temperature_degc=25.0, stratification_k_m=0.0)
POLE = Pole(
    id="F1",
    current_a=50.0,
    rated_a=63.0,
    area_mm2=16.0,
    device_ohm=0.0,
    joint_ohm=0.0,
    to_body_w_k=0.1,
    body_w_k=0.1,
)


def test_far_from_its_terminal_a_conductor_has_the_rise_of_its_current():
    """Balance of a long wire, its film found by repetition (fin equation without a gradient)."""
    found = warmth([POLE], STILL, 0.4)
    rise_k = 10.0
    for _ in range(40):
        film = conductor_film_w_m2k(POLE.wire.outer_diameter_m, rise_k, 25.0)
        rise_k = float(current_rise_k(POLE.wire, 50.0, film, 25.0))
    assert found.metal_degc[0, -1] - 25.0 == pytest.approx(rise_k, rel=0.02)


def test_a_joint_falls_to_a_share_e_over_one_fin_length():
    """A small joint, so that the film hardly changes; Carslaw and Jaeger 4.3, within 6 %."""
    before = warmth([POLE], STILL, 0.6)
    after = warmth([replace(POLE, joint_ohm=0.05 / 50.0**2)], STILL, 0.6)
    added_k = after.metal_degc[0] - before.metal_degc[0]
    rise_k = float(before.metal_degc[0, -1]) - 25.0
    fin_m = float(fin_length_m(POLE.wire, conductor_film_w_m2k(POLE.wire.outer_diameter_m, rise_k, 25.0)))
    near, far = (float(np.interp(x, before.along_m, added_k)) for x in (0.02, 0.02 + fin_m))
    assert far / near == pytest.approx(np.exp(-1.0), rel=0.06)


def test_the_heat_of_a_joint_leaves():
    """What the joint brings equals what conductor and body lose more, within 2 %."""
    hot = replace(POLE, joint_ohm=1.0 / 50.0**2, current_a=50.0)
    before, after = (warmth([pole], STILL, 0.4, between_w_k=0.0) for pole in (POLE, hot))
    rise_k = float(after.body_degc[0]) - 25.0
    body_w = POLE.body_w_k * (rise_k / 30.0) ** 0.18 * rise_k
    through_w = POLE.to_body_w_k * float((after.terminal_degc - after.body_degc)[0])
    assert through_w == pytest.approx(body_w, rel=0.01)
    assert float(after.terminal_degc[0] - before.terminal_degc[0]) > 1.0


def test_a_third_is_healthy_and_every_fault_occurs():
    """Of three hundred drawn: counted with the scatter of that many."""
    rng = np.random.default_rng(1)
    drawn = Counter(random_cabinet(rng).fault for _ in range(300))
    assert set(drawn) == {"none", "warm", *FAULTS}
    assert 0.25 < (drawn["none"] + drawn["warm"]) / 300 < 0.42


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_shows_where_it_is(fault):
    """The suspect is warmer than its like neighbours at the place that the fault is about."""
    rng = np.random.default_rng([3, FAULTS.index(fault)])
    cabinet = random_cabinet(rng, fault)
    found, i = cabinet.warmth(), cabinet.suspect
    other = len(cabinet.poles) - 1 if fault == "overload" else i - 1
    ends, bodies, level = found.terminal_degc, found.body_degc, found.metal_degc[:, -1]
    where = {"connection": ends, "device": bodies, "neighbour": bodies, "neutral": level, "unbalance": level}
    if fault == "reflection":
        assert ends[i] == pytest.approx(ends[other], abs=6.0)
    else:
        values = where.get(fault, level)
        assert values[i] > values[other] + 2.0


def test_a_person_wanders_in_bright_metal_and_nowhere_else():
    """Between two frames the terminals change, the conductors do not."""
    rng = np.random.default_rng(8)
    cabinet = random_cabinet(rng, "reflection")
    one, two = frames_of(cabinet, rng)
    marks = {mark.id: mark for mark in one.marks}
    name = cabinet.poles[cabinet.suspect].id
    change_k = np.abs(one.apparent_degc - two.apparent_degc)
    assert change_k[mark_mask(marks[name], cabinet.shape)].mean() > 3.0
    assert change_k[mark_mask(marks[f"{name} cable"], cabinet.shape)].mean() < 1.0
    assert np.array_equal(one.true_surface_degc, two.true_surface_degc)


def test_the_site_says_what_was_read_and_the_truth_what_is(tmp_path):
    """The door reads the folder; currents lie within the clamp meter's accuracy."""
    rng = np.random.default_rng(9)
    cabinet = random_cabinet(rng, "connection")
    write_cabinets(tmp_path, [shown(cabinet, rng)])
    site = read_site(tmp_path)
    for keys, pole in zip(site.keys.circuits, cabinet.poles, strict=True):
        assert keys.measured_current_a == pytest.approx(pole.current_a, rel=0.035)
    assert {mark.role for mark in site.keys.marks} == {"terminal", "conductor", "device"}
    assert "invented" in (tmp_path / "README.md").read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    rng = np.random.default_rng(9)
    with pytest.raises(WritingError, match="file"):
        write_cabinets(tmp_path / "file", [shown(random_cabinet(rng), rng)])
