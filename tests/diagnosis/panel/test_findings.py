"""What is said of a cabinet: order, limits, refusals, cautions."""

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.diagnosis.panel import findings, survey
from thermalkit.diagnosis.panel.examined import examined, fullest_load_a
from thermalkit.diagnosis.run import kinds
from thermalkit.language import LANGUAGES, catalogue, render

LIVE_WORK = ("tighten", "open", "touch", "nachziehen", "öffnen", "berühren", "anziehen")
SAFE = (
    *("isolat", "isolier", "freischalt", "shutdown", "abschalt", "nothing", "nichts", "without", "ohne"),
    *("opened by", "permit", "erlaub", "geöffnet"),
)


def codes(case):
    return [finding.code for finding in findings(case)]


def suspect(case, cabinet):
    """The circuit that has the fault."""
    name = cabinet.poles[cabinet.suspect].id
    return next(item for item in examined(case) if item.way.id == name)


def test_the_kind_is_found_by_being_there():
    assert "panel" in kinds()


def test_the_exception_comes_first_and_the_healthy_are_listed(cabinet_case):
    """One bad joint among six circuits."""
    case, cabinet = cabinet_case()
    found = list(findings(case))
    assert found[0].code == "panel.like"
    assert cabinet.poles[cabinet.suspect].id in found[0].place
    quiet = [finding for finding in found if finding.code == "panel.in-order"]
    assert len(quiet) == 1
    assert render(quiet[0].statement, "en").count("F") == 5


def test_urgency_comes_from_like_parts(cabinet_case):
    """An invented joint of some 27 K is a major discrepancy by ANSI/NETA MTS (above 15 K)."""
    case, _ = cabinet_case()
    found = list(findings(case))
    assert found[0].verdict == "indicated"
    assert found[0].limit.value == 3.0
    assert "panel.over-air" not in codes(case)


def test_without_a_like_neighbour_the_rise_over_air_counts(cabinet_case):
    """One circuit of another rating alone in its cabinet."""
    case, cabinet = cabinet_case()
    site = case.site
    lonely = [
        circuit.model_copy(update={"rated_current_a": 10.0 * (i + 1)})
        for i, circuit in enumerate(site.keys.circuits)
    ]
    case.site = replace(site, keys=site.keys.model_copy(update={"circuits": tuple(lonely)}))
    found = [finding for finding in findings(case) if finding.code == "panel.over-air"]
    assert found
    assert found[0].limit.value == 10.0
    assert cabinet.poles[cabinet.suspect].id in found[0].place


def test_the_trap_of_the_type_test_is_told(cabinet_case):
    """105 °C at the terminal, 70 °C for PVC: the stricter is named, nothing is judged by the first."""
    case, _ = cabinet_case()
    (insulation,) = (finding for finding in findings(case) if finding.code == "panel.insulation")
    assert insulation.limit.value == 70.0
    told = render(insulation.reasons[0], "en")
    assert "105" in told
    assert "no limit for service" in told
    assert "insulation is the stricter" in told


def test_a_load_too_far_is_refused(cabinet_case):
    """2.5 times the load of the frame at most."""
    case, _ = cabinet_case(circuits={"expected_peak_current_a": 500.0})
    refused = [finding for finding in findings(case) if finding.code == "panel.at-load"]
    assert refused
    assert all(finding.statement.id == "panel.at-load.refused" for finding in refused)
    assert all(finding.verdict is None for finding in refused)


def test_the_expected_peak_counts_before_the_rating(cabinet_case):
    case, cabinet = cabinet_case(circuits={"expected_peak_current_a": 70.0})
    assert fullest_load_a(suspect(case, cabinet).way) == 70.0


def test_power_and_resistance_hold_the_truth(cabinet_case):
    """I² R of the invented joint, less that of its likes."""
    case, cabinet = cabinet_case()
    item, pole = suspect(case, cabinet), cabinet.poles[cabinet.suspect]
    usual = np.median([p.joint_ohm for i, p in enumerate(cabinet.poles) if i != cabinet.suspect])
    for draws, true in (
        (item.joint.power_w, pole.current_a**2 * (pole.joint_ohm - usual)),
        (item.joint.resistance_mohm, 1000.0 * (pole.joint_ohm - usual)),
    ):
        low, high = np.quantile(draws, [0.025, 0.975])
        assert low < true < high


def test_too_little_conductor_in_view_separates_nothing(cabinet_case):
    """Traces cut to a third of a fin length: no joint, and the reason says how much is needed."""
    case, cabinet = cabinet_case()
    short = []
    for mark in case.decided["conductors"]:
        (top, column), _ = mark.points
        short.append(replace(mark, points=((top, column), (top + 30.0, column))))
    case.decided["conductors"] = tuple(short)
    item = suspect(case, cabinet)
    assert not item.reading.along.is_enough
    assert item.joint is None
    told = [render(r, "en") for f in findings(case) if f.code == "panel.cause" for r in f.reasons]
    assert any("cannot be separated" in text for text in told)


def test_bright_terminals_have_no_temperature(cabinet_case):
    """Emissivity below 0.5: refused, and something insulated is asked for."""
    case, _ = cabinet_case("none", seed=23, circuits={"terminal_surface": "bright metal"})
    assert all(item.reading.terminal_degc is None for item in examined(case))
    told = [finding for finding in findings(case) if finding.code == "panel.bright"]
    assert len(told) == 1
    assert "insulated" in render(told[0].reasons[0], "en")
    assert not any(
        quantity.term.id == "terminal-temperature" for f in findings(case) for quantity in f.quantities
    )


def test_a_frame_of_low_emissivity_gives_no_temperature(cabinet_case):
    case, _ = cabinet_case("none", seed=23)
    frames = {
        name: replace(frame, keys=frame.keys.model_copy(update={"emissivity": 0.3}))
        for name, frame in case.site.frames.items()
    }
    case.site = replace(case.site, frames=frames)
    assert all(item.reading.terminal_degc is None for item in examined(case))
    assert all(item.reading.along is None for item in examined(case))


def test_behind_a_cover_nothing_is_judged(cabinet_case):
    case, _ = cabinet_case(cabinets={"seen": "opaque cover"})
    assert codes(case) == ["panel.covered"]


def test_a_window_without_its_transmission_gives_no_temperature(cabinet_case):
    case, _ = cabinet_case(cabinets={"seen": "infrared window"})
    assert all(item.reading.terminal_degc is None for item in examined(case))
    assert "panel.window" in codes(case)


def test_a_window_with_its_transmission_is_undone(cabinet_case):
    """The same picture behind a window of 80 % stands for a hotter terminal: further from 28 °C by 1/0.8."""
    plain, cabinet = cabinet_case()
    open_k = np.median(suspect(plain, cabinet).reading.terminal_degc)
    case, _ = cabinet_case(cabinets={"seen": "infrared window", "window_transmission": 0.8})
    behind = np.median(suspect(case, cabinet).reading.terminal_degc)
    around = case.site.frames["row"].keys.reflected_temperature_degc
    assert behind - around == pytest.approx((open_k - around) / 0.8, rel=0.06)


def test_what_could_not_be_read_is_not_in_order(cabinet_case):
    """A window that lets a tenth through: no circuit is called sound."""
    case, _ = cabinet_case(cabinets={"seen": "infrared window", "window_transmission": 0.1})
    assert "panel.not-read" in codes(case)
    assert "panel.in-order" not in codes(case)


def test_circuits_without_current_are_alike(cabinet_case):
    """Nothing flows in any of them: they compare, and nothing is carried."""
    case, _ = cabinet_case("none", seed=23, circuits={"measured_current_a": 0.0})
    assert all(item.excess.likes for item in examined(case))
    assert "panel.at-load" not in codes(case)


def test_a_frame_from_far_too_near_is_no_error(cabinet_case):
    """A distance that cannot be makes conductors too short to follow, no more."""
    case, _ = cabinet_case()
    frames = {
        name: replace(frame, keys=frame.keys.model_copy(update={"distance_m": 0.05}))
        for name, frame in case.site.frames.items()
    }
    case.site = replace(case.site, frames=frames)
    assert "panel.joint" not in codes(case)


def test_a_low_load_is_said_with_what_it_hides(cabinet_case):
    """Below 40 % of the rating."""
    case, _ = cabinet_case(circuits={"rated_current_a": 200.0})
    said = [render(remark.statement, "en") for remark in survey(case).remarks]
    assert any("Less than 40 %" in text for text in said)
    assert any("can look healthy" in text for text in said)


def test_a_changed_load_is_said(cabinet_case):
    case, _ = cabinet_case(circuits={"minutes_since_load_changed": 10.0})
    said = [render(remark.statement, "en") for remark in survey(case).remarks]
    assert any("less than an hour" in text for text in said)


def test_more_current_than_the_rating_is_a_finding(cabinet_case):
    """Invented overload of a whole circuit."""
    case, cabinet = cabinet_case("none", seed=23, circuits={"rated_current_a": 25.0})
    item = examined(case)[0]
    assert item.answers["load"] == "above-rated"
    assert item.leading == "overload"
    assert "panel.load" in codes(case)
    assert cabinet.poles[0].current_a > 25.0


def test_the_first_remark_says_for_whom_it_is(cabinet_case):
    """And a permit that nobody named is said to be missing."""
    case, _ = cabinet_case()
    first, second = survey(case).remarks[:2]
    assert first.statement.id == "panel.conditions.qualified"
    assert second.statement.id == "panel.conditions.no-permit"
    case.decided["permit"] = "PTW 7"
    assert "PTW 7" in render(survey(case).remarks[1].statement, "en")


def test_every_judgement_carries_the_caution(cabinet_case):
    case, _ = cabinet_case()
    for finding in findings(case):
        assert any(caution.id == "panel.caution.qualified" for caution in finding.cautions), finding.code


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_done_under_voltage(language):
    """Advice that opens, touches or tightens isolates first, or says that it does not."""
    advice = {
        id: text.lower()
        for id, text in catalogue(language).items()
        if id.startswith(("panel.repair.", "panel.when.", "panel.cause.measure."))
    }
    assert len(advice) > 15
    for id, text in advice.items():
        if any(word in text for word in LIVE_WORK):
            assert any(word in text for word in SAFE), id


def test_marks_without_a_circuit_and_circuits_without_a_mark_are_said(cabinet_case):
    case, _ = cabinet_case()
    site = case.site
    renamed = [
        circuit.model_copy(update={"id": "X9"}) if i == 0 else circuit
        for i, circuit in enumerate(site.keys.circuits)
    ]
    case.site = replace(site, keys=site.keys.model_copy(update={"circuits": tuple(renamed)}))
    assert {"panel.not-marked", "panel.no-circuit"} <= set(codes(case))
