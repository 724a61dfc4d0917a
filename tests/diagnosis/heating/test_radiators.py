"""Findings of single radiators: what is said, with which numbers, and what is left unsaid."""

import os
from dataclasses import replace

import numpy as np
import pytest

from thermalkit.diagnosis.heating import STEPS, findings, survey
from thermalkit.diagnosis.heating.radiators import compared, remarks
from thermalkit.diagnosis.heating.radiators.output import output_findings, wall_findings, zone_quantities
from thermalkit.diagnosis.heating.radiators.reading import (
    exponent,
    output_w,
    pipes,
    rated_w,
    shown,
    water,
    zone_ratios,
)
from thermalkit.diagnosis.heating.radiators.steps import propose_hidden, propose_outlines
from thermalkit.diagnosis.heating.radiators.subject import radiators
from thermalkit.diagnosis.heating.radiators.weighed import known, named, table, weighed
from thermalkit.diagnosis.heating.radiators.wording import cause_finding
from thermalkit.language import render
from thermalkit.measured import Draws, measured
from thermalkit.scenes.radiator_sites import true_zones
from thermalkit.scenes.radiators import Finish, radiator_seen, without_fault
from thermalkit.scenes.random_radiators import random_radiator

PLATE = {"rated_output_w": 1000.0, "exponent": 1.3}
CLAMPED = {"flow_degc": 55.0, "return_degc": 45.0, "instrument": "clamp", **PLATE}


def only(case):
    (item,) = radiators(case)
    return item


def test_every_column_of_the_table_sums_to_one():
    """A likelihood is a chance: over the outcomes of a question it is one."""
    likelihood = np.exp(table().log_likelihood)
    for question in table().questions.values():
        rows = [table().rows[question.id, outcome] for outcome in question.outcomes]
        assert likelihood[rows].sum(axis=0) == pytest.approx(1.0)
    assert np.exp(table().log_prior).sum() == pytest.approx(1.0)


def test_output_by_pipes_is_that_of_en_442(plain):
    """1000 W at 55/45 in 20 °C with n 1.3 give 515 W (0.6^1.3 by hand); 10 K make 44.3 kg/h."""
    case, _ = plain(**CLAMPED)
    item = only_pipes(case)
    found = list(output_findings(case, item, None))
    (finding,) = found
    values = {q.term.id: q.measured for q in finding.quantities}
    room = item.room.air_temperature_degc
    by_hand = 1000.0 * ((50.0 - room) / 50.0) ** 1.3
    assert values["radiator-output"].low < by_hand < values["radiator-output"].high
    assert values["radiator-output"].value == pytest.approx(by_hand, rel=0.06)
    assert values["water-flow"].low < by_hand / (4186.0 * 10.0) * 3600.0 < values["water-flow"].high
    assert finding.statement.id == "heating.output.by-pipes"


def only_pipes(case):
    case.decided = {"frames": (), "radiator": ()}
    return only(case)


def test_output_by_picture_holds_the_true_one(case_of, without_patterns):
    """Fresh healthy radiators with the plate known: the interval holds what the panel really gives."""
    inside = []
    for seed in range(24):
        rng = np.random.default_rng([5, seed])
        scene = random_radiator(rng, "none")
        picture = radiator_seen(scene, rng)
        tables = [
            {
                "id": "radiator",
                "room": "radiator",
                "frame": "radiator",
                "type": scene.type,
                "rated_output_w": round(scene.panel.rated_w, 1),
                "exponent": round(scene.panel.exponent, 3),
            }
        ]
        case = case_of([picture], 1000, radiators=tables)
        item = only(case)
        given = output_w(case, item, shown(case, item))
        if given is None:
            continue
        found = measured(given, "W")
        inside.append(found.low <= picture.state.output_w <= found.high)
    assert len(inside) >= 20
    assert np.mean(inside) >= 0.85


def test_without_a_plate_the_output_is_less_sure(plain):
    """By type and front ± 15 %, from the plate ± 3 %."""
    widths = []
    for entry in ({}, PLATE):
        case, _ = plain(**entry)
        found = measured(rated_w(case, only(case)), "W")
        widths.append((found.high - found.low) / found.value)
    assert widths[0] == pytest.approx(0.285, abs=0.01)
    assert widths[1] == pytest.approx(0.057, abs=0.005)


def test_a_radiator_without_size_and_plate_has_no_output(plain):
    """Nothing is invented."""
    case, _ = plain(height_mm=None, length_mm=None)
    assert rated_w(case, only(case)) is None
    assert list(output_findings(case, only(case), shown(case, only(case)))) == []
    assert list(wall_findings(case, only(case), None)) == []


def test_a_healthy_radiator_works_and_a_cool_one_too(plain):
    """Lukewarm but even at a low flow temperature is no fault, and is said so."""
    for flow, id in ((60.0, "works"), (38.0, "works-low")):
        case, _ = plain(
            scene={"flow_degc": flow, "design_drop_k": 0.12 * flow},
            tables={"heating": {"flow_degc": flow}},
        )
        item = only(case)
        finding = cause_finding(case, item, shown(case, item))
        assert finding.statement.id == f"heating.radiator.{id}"
        assert finding.next_steps == ()


def test_too_early_a_picture_is_not_weighed(plain):
    """Below 45 minutes the front still warms up: it can look like anything."""
    case, _ = plain(scene={"minutes": 10.0}, minutes_steady=10.0)
    item = only(case)
    assert "front" not in known(case, item, shown(case, item))
    finding = cause_finding(case, item, shown(case, item))
    assert "heating.note.unsettled" in {reason.id for reason in finding.reasons}
    assert "heating.next.wait" in {step.step.id for step in finding.next_steps}
    assert [r.statement.id for r in remarks(case)] == ["heating.remark.unsettled"]
    assert list(compared(case)) == []


def test_chrome_is_called_out_and_metallic_paint_widens(plain):
    """Chrome shows the room; metallic paint still shows the pattern. Gloss paint is not mentioned."""
    bright = Finish(name="chrome", emissivity=0.12)
    case, _ = plain(scene={"finish": bright})
    item = only(case)
    assert shown(case, item) is None
    assert [r.statement.id for r in remarks(case)] == ["heating.remark.mirror"]
    case, _ = plain(scene={"finish": Finish(name="metallic-paint", emissivity=0.6)})
    assert shown(case, only(case)) is not None
    assert [r.statement.id for r in remarks(case)] == ["heating.remark.metallic"]
    case, _ = plain(scene={"finish": Finish(emissivity=0.9)})
    assert list(remarks(case)) == []


def test_head_and_room_decide_between_too_little_water_and_a_warm_room(plain):
    """The same picture: with the head open and a cold room it lacks water, else the head has throttled."""
    scene = {"flow_share": 0.15}
    said = {}
    for head, warm in (("open", "no"), ("throttling", "yes"), ("unknown", "unknown")):
        case, _ = plain(scene=scene, head=head, warmer_than_set=warm)
        said[head] = named(weighed(case, only(case)))
    assert said == {"open": "starved", "throttling": "satisfied", "unknown": "unknown"}


def test_pipes_answer_for_themselves(plain):
    """Cold flow pipe, large, usual and small drop; between them nothing is claimed."""
    house = {"heating": {"flow_degc": 60.0}}
    expected = {
        (24.0, 21.0): "no-flow",
        (55.0, 24.0): "large-drop",
        (55.0, 45.0): "usual-drop",
        (55.0, 54.0): "small-drop",
        (55.0, 36.5): None,
    }
    for (flow, back), outcome in expected.items():
        case, _ = plain(flow_degc=flow, return_degc=back, instrument="clamp", tables=house)
        case.decided |= {"radiator": ()}
        case.decided["frames"] = ()
        assert known(case, only(case), None).get("water") == outcome


def test_swapped_pipes_are_not_claimed_where_the_connection_is_unknown(plain):
    """Water that rises at one end may be meant to."""
    case, _ = plain(fault="swapped", seed=21, connection="unknown")
    assert known(case, only(case), shown(case, only(case))).get("front") != "rising"


def test_water_by_picture_says_so(plain):
    """Without pipe readings the drop comes from the front, wider."""
    case, picture = plain(**PLATE)
    item = only(case)
    found = shown(case, item)
    passing = water(case, item, found)
    assert pipes(case, item) is None
    assert not passing.from_pipes
    true_k = picture.scene.flow_degc - picture.state.return_degc
    drop = measured(passing.drop_k, "K")
    assert drop.low < true_k < drop.high


def test_heat_into_the_wall_behind(plain):
    """More through a poor wall; less with a lining; nothing said of an inner wall."""
    tables = {"weather": {"air_temperature_degc": -2.0}}
    values = {}
    for u in (0.24, 1.6):
        case, _ = plain(on_outer_wall="yes", wall_transmittance_w_m2k=u, tables=tables)
        (finding,) = wall_findings(case, only(case), shown(case, only(case)))
        values[u] = [q.measured.value for q in finding.quantities]
    assert values[1.6][0] > 4.0 * values[0.24][0]
    assert all(lined < bare for bare, lined in values.values())
    case, _ = plain(on_outer_wall="no", tables=tables)
    assert list(wall_findings(case, only(case), shown(case, only(case)))) == []


def test_the_proposed_outline_is_the_front_without_its_pipes(plain):
    """Four corners within a few pixels of the true ones, named as in the site file."""
    case, picture = plain(tables={"marks": []})
    (proposed,) = propose_outlines(case)
    assert proposed["id"] == "radiator"
    assert np.abs(np.array(proposed["points"]) - np.array(picture.scene.corners)).max() < 7.0
    assert propose_hidden(case) == []
    cold, _ = plain(scene={"flow_degc": 21.0}, tables={"marks": []})
    assert propose_outlines(cold) == []


def test_every_explanation_has_its_sentences(plain):
    """Whatever is named, both languages can say it, with what comes next."""
    case, _ = plain(fault="air", seed=3)
    item = only(case)
    for answers in (
        {"bled": "air-came", "gurgles": "yes"},
        {"pin": "stuck", "front": "cold"},
        {"water-colour": "black", "front": "cold-middle"},
        {"front": "rising"},
        {"head": "throttling", "front": "cold"},
        {"front": "cold-bottom", "head": "open", "others": "warmer"},
    ):
        case.decided["answers"] = {f"{item.id}: {q}": o for q, o in answers.items()}
        finding = cause_finding(case, item, None)
        for language in ("en", "de"):
            texts = (
                finding.statement,
                *finding.reasons,
                *finding.cautions,
                *(s.step for s in finding.next_steps),
            )
            assert all(render(text, language) for text in texts)
        assert finding.cautions


def test_a_whole_case_has_findings_and_a_survey(plain):
    """Every step of the investigation has a title, and the survey is usable."""
    case, _ = plain(**PLATE)
    assert survey(case).usable
    codes = {finding.code for finding in findings(case)}
    assert codes >= {"heating.radiator", "heating.output"}
    assert all(render(step.title, language) for step in STEPS for language in ("en", "de"))
    item = only(case)
    assert {q.term.id for q in zone_quantities(case, item, shown(case, item))} == {
        "warm-share",
        "top-ratio",
        "bottom-ratio",
    }
    assert np.median(exponent(case, item)) == pytest.approx(1.3)


SHARED = ("output-by-type", "output-by-plate", "exponent-by-type", "water-above-surface", "emissivity")
PAIRS = int(os.environ.get("THERMALKIT_SCENES", "44"))


@pytest.mark.slow
def test_changes_between_visits_hold_the_true_ones_as_often_as_they_say(case_of, without_patterns):
    """Before and after with other flow, room and camera error: nineteen of twenty, by so few radiators.

    The usual run takes a few pairs, so that its bounds are wider; THERMALKIT_SCENES=400 takes enough for
    92.5 to 98.5 %.
    """
    inside = [
        ok
        for seed in range(3000, 3000 + PAIRS)
        for ok in changes_held(case_of, np.random.default_rng([99, seed]))
    ]
    assert len(inside) > PAIRS
    low, high = (0.925, 0.985) if PAIRS >= 400 else (0.90, 1.0)
    assert low <= np.mean(inside) <= high


def changes_held(case_of, rng):
    """Whether the change of each ratio of one radiator lies within its interval."""
    scene = random_radiator(rng)
    if scene.finish.name != "paint" or scene.fault in ("shut", "satisfied"):
        return []
    later = replace(
        without_fault(scene),
        flow_degc=scene.flow_degc + rng.uniform(-8.0, 8.0),
        room_degc=scene.room_degc + rng.uniform(-1.5, 1.5),
        camera=replace(scene.camera, offset_k=rng.uniform(-2.0, 2.0)),
    )
    found, truth = [], []
    shared = tuple(f"{name} radiator" for name in SHARED)
    for which, draws in ((scene, Draws(1000)), (later, Draws(1000, visit="later", shared=shared))):
        picture = radiator_seen(which, rng)
        case = case_of([picture], 1000)
        case.draws = draws
        found.append(zone_ratios(case, only(case), shown(case, only(case))))
        truth.append(true_zones(picture))
    held = []
    for name in ("top", "bottom"):
        if all(name in ratios for ratios in found):
            change = measured(found[1][name] - found[0][name], "")
            held.append(change.low <= truth[1][name] - truth[0][name] <= change.high)
    return held
