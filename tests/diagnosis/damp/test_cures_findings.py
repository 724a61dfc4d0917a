"""What a damp case says of cures: from invented sites, by hand where the answer is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from thermalkit.diagnosis.damp.cures import cure_charts, cure_findings
from thermalkit.diagnosis.damp.cures.elsewhere import WORTH_WORKING_ON
from thermalkit.diagnosis.damp.cures.inside import years_inside
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.places import place
from thermalkit.diagnosis.run import accept, walk
from thermalkit.language import render
from thermalkit.physics.moist_air import saturation_pressure_pa
from thermalkit.scenes import Options, random_corner, random_scene, seen, write_site
from thermalkit.site.folder import read_site

CLIMATE = {
    "climate": {
        "design_winter_temperature_degc": -8.0,
        "monthly_air_temperature_degc": [1.0, 2.0, 5.0, 9.0, 13.0, 16.0, 18.0, 18.0, 14.0, 10.0, 5.0, 2.0],
        "monthly_relative_humidity_percent": [85, 82, 78, 75, 74, 75, 76, 77, 80, 83, 86, 87],
        "source": "invented",
    }
}
MOIST = {"rooms": [{"air_temperature_degc": 20.0, "relative_humidity_percent": 58.0, "volume_m3": 30.0}]}
DAY = {"weather": {"air_temperature_degc": 2.0, "mean_24h_air_temperature_degc": 2.0}}
WALL = {
    "elements": [
        {
            "id": "outer",
            "room": "room",
            "kind": "wall",
            "layers": [
                {"material": "dense plaster", "thickness_mm": 15.0},
                {"material": "brick outer leaf", "thickness_mm": 235.0},
            ],
        }
    ]
}
LIMITS = limit_sets()["DE-dwelling"]


@pytest.fixture
def site(tmp_path):
    """A site with one corner; `about` lies over what its scene wrote, `files` beside it."""

    def made(*about, files=None):
        rng = np.random.default_rng(3)
        picture = seen(random_scene(rng, random_corner(rng)), rng, Options(contact=True))
        tables = {}
        for one in (MOIST, DAY, *about):
            tables = {**tables, **{k: merged(tables.get(k), v) for k, v in one.items()}}
        write_site(tmp_path / "site", [picture], about=tables, marks=("suspect", "sound"))
        for name, text in (files or {}).items():
            path = tmp_path / "site" / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return read_site(tmp_path / "site")

    return made


def merged(below, above):
    if isinstance(below, dict):
        return {**below, **above}
    if isinstance(below, list) and below and above:
        return [{**below[0], **above[0]}]
    return above


def case_and_place(site, factor=0.55):
    """The suspect place of a site as if its temperature factor were known."""
    case = Case(site=site)
    walk("damp", case, accept)
    found = place(case, case.decided["suspect"][0], LIMITS)
    known = np.full(case.draws.size, factor)
    return case, replace(found, factor=known, factor_as_found=known)


def found(site, sources=None, factor=0.55, **options):
    case, item = case_and_place(site, factor)
    return {
        f.code.removeprefix("damp.cure."): f for f in cure_findings(case, item, LIMITS, sources, **options)
    }


def said(finding, language="en"):
    return render(finding.statement, language)


def quantities(finding):
    return {q.term.id: q.measured for q in finding.quantities}


@pytest.mark.parametrize("language", ["en", "de"])
def test_everything_can_be_said_in_both_languages(site, language):
    read = site(CLIMATE, WALL, {"costs": {"heat_price_per_kwh": 0.10, "currency": "EUR"}})
    case, item = case_and_place(read)
    everything = dict.fromkeys(
        ("ground", "bridged", "rain", "plumbing", "air-leak", "construction", "salts", "condensation"), 0.3
    )
    findings = list(cure_findings(case, item, LIMITS, everything))
    assert len(findings) > 12
    for one in findings:
        parts = [one.statement, *one.cautions, *one.sources]
        parts += [sentence for step in one.next_steps for sentence in (step.step, step.by)]
        assert all(render(part, language) for part in parts)
    for chart in cure_charts(case, item, LIMITS):
        assert render(chart.title, language)
        assert render(chart.summary, language)


def test_a_sound_place_needs_no_cure(site):
    case, item = case_and_place(site(CLIMATE))
    sound = replace(item, mark=replace(item.mark, role="sound"))
    assert not list(cure_findings(case, sound, LIMITS))
    assert not list(cure_charts(case, sound, LIMITS))


def test_each_weather_has_its_finding(site):
    """The limit's conditions, the month that asks most and the design winter."""
    case, item = case_and_place(site(CLIMATE))
    alone = [f for f in cure_findings(case, item, LIMITS) if f.code == "damp.cure.alone"]
    assert [f.statement.values["situation"].id for f in alone] == [
        "damp.cure.at.limit",
        "damp.cure.at.month",
        "damp.cure.at.winter",
    ]
    assert alone[1].statement.values["situation"].values["month"].id == "damp.cure.month.1"


def test_without_a_climate_the_visit_stands_in(site):
    findings = found(site())
    assert findings["alone"].statement.values["situation"].id == "damp.cure.at.visit"
    assert not [code for code in findings if code.startswith(("cost", "months", "hours"))]


def test_a_warm_wall_needs_nothing(site):
    findings = found(site(CLIMATE), factor=0.95)
    assert findings["alone"].statement.id == "damp.cure.alone.nothing"
    assert not findings["alone"].cautions
    assert set(findings) == {"alone"}


def test_the_limit_s_conditions_by_hand(site):
    """By hand: f 0.55 at 20/-5 °C is 8.75 °C; 80 % of its saturation over that of 20 °C is 38.5 %."""
    case, item = case_and_place(site(CLIMATE))
    first = next(f for f in cure_findings(case, item, LIMITS) if f.code == "damp.cure.alone")
    expected = 80.0 * 1125.0 / 2337.0  # Pa at 8.75 and 20 °C, steam tables
    assert quantities(first)["highest-room-humidity"].value == pytest.approx(expected, abs=0.2)


def test_insulation_at_the_limit_s_conditions_by_hand(site):
    """By hand: f 0.55 is 0.306, the criterion's 0.705 is 0.597 m²K/W with R_si 0.25; 0.29 over 0.35 to 1."""
    case, item = case_and_place(site(CLIMATE))
    added = quantities(next(f for f in cure_findings(case, item, LIMITS) if f.code == "damp.cure.alone"))
    assert added["added-resistance"].low == pytest.approx(0.29, abs=0.02)
    assert added["added-resistance"].high == pytest.approx(0.29 / 0.35, abs=0.05)


@pytest.mark.parametrize(("rate", "is_said"), [(0.5, True), (None, False)])
def test_a_known_air_change_gives_an_absolute_one(site, rate, is_said):
    """Only then; the number is the ratio's times the present one."""
    read = site(CLIMATE, {"rooms": [{"relative_humidity_percent": 50.0}]})
    case, item = case_and_place(read, 0.70)
    alone = [
        f for f in cure_findings(case, item, LIMITS, air_change_per_h=rate) if f.code == "damp.cure.alone"
    ]
    ventilation = alone[1].statement.values["ventilation"]
    assert (ventilation.id == "damp.cure.with-air-change") == is_said
    if is_said:
        needed = ventilation.values["needed"]
        ratio = quantities(alone[1])["ventilation-ratio"]
        assert (needed.low, needed.high) == pytest.approx((0.5 * ratio.low, 0.5 * ratio.high), abs=0.01)


def test_more_moisture_never_lowers_what_is_needed(site):
    """A moister room needs no less air, warmth or insulation, draw by draw."""
    from thermalkit.diagnosis.damp.cures.situations import weathers

    needs = []
    for percent in (45.0, 60.0):
        read = site(CLIMATE, {"rooms": [{"relative_humidity_percent": percent}]})
        case, item = case_and_place(read)
        needs.append(weathers(case, item, LIMITS).present[0])
    for name in ("ventilation_ratio", "extra_warmth_k", "added_resistance_m2k_w"):
        assert np.all(getattr(needs[1], name) >= getattr(needs[0], name)), name


def test_flues_are_asked_for_before_any_air_is_drawn(site):
    for answer in ("yes", "no", "unknown"):
        findings = found(site(CLIMATE, {"rooms": [{"open_flued_appliance": answer}]}))
        for code in ("alone", "combined", "inside"):
            assert f"caution.flue.{answer}" in [c.id for c in findings[code].cautions]


def test_nobody_is_blamed(site):
    """No sentence of a finding tells people that they live wrongly."""
    findings = found(site(CLIMATE))
    text = " ".join(said(f) + " ".join(render(s.step, "en") for s in f.next_steps) for f in findings.values())
    assert not any(word in text.lower() for word in ("occupant", "tenant", "lifestyle", "should", "fault"))


@pytest.mark.parametrize("name", ["ground", "bridged", "rain", "plumbing", "construction"])
def test_water_from_elsewhere_is_stopped_dried_repaired_and_looked_at_again(site, name):
    finding = found(site(WALL), {name: 0.6, "condensation": 0.2})[f"elsewhere-{name}"]
    assert [step.step.id for step in finding.next_steps] == [
        f"damp.cure.stop.{name}",
        "damp.cure.dry",
        "damp.cure.repair",
        "damp.cure.look-again",
    ]
    assert "damp.cure.caution.services" in [c.id for c in finding.cautions]


def test_drying_takes_a_month_for_25_mm(site):
    """By hand: 250 mm dry in 2.5 months at best (both faces, half a month each 25 mm), in 20 at worst."""
    drying = quantities(found(site(WALL), {"rain": 0.6})["elsewhere-rain"])["drying-time"]
    assert 2.5 * 30.4 <= drying.low < drying.value < drying.high <= 20.0 * 30.4
    assert drying.low < 4.0 * 30.4
    assert drying.high > 15.0 * 30.4
    assert (
        found(site(), {"rain": 0.6})["elsewhere-rain"].statement.values["drying"].id
        == "damp.cure.drying.rule"
    )


def test_unlikely_sources_are_not_worked_on(site):
    findings = found(
        site(), {"rain": WORTH_WORKING_ON - 0.01, "plumbing": WORTH_WORKING_ON, "condensation": 0.5}
    )
    assert "elsewhere-plumbing" in findings
    assert "elsewhere-rain" not in findings


def test_condensation_is_left_alone_where_it_is_ruled_out(site):
    findings = found(site(CLIMATE), {"rain": 0.96, "condensation": 0.01, "unknown": 0.03})
    assert set(findings) == {"elsewhere-rain", "again"}


def test_a_ruled_out_source_has_no_chart(site):
    case, item = case_and_place(site(CLIMATE))
    assert len(list(cure_charts(case, item, LIMITS))) == 2
    assert not list(cure_charts(case, item, LIMITS, {"rain": 0.97, "condensation": 0.02, "unknown": 0.01}))


def test_a_window_is_not_insulated_inside(site):
    findings = found(site(CLIMATE, {"frames": [{"subject": "opening"}]}))
    assert "inside" not in findings
    assert "combined" in findings


def test_a_warm_day_is_no_weather_to_plan_by(site):
    """By hand: 4 K above outdoors is heating, a room as warm as outdoors in every month is not."""
    warm = {**CLIMATE["climate"], "monthly_air_temperature_degc": [19.0] * 12}
    findings = found(site({"climate": {**warm, "design_winter_temperature_degc": 18.5}}))
    assert findings["alone"].statement.values["situation"].id == "damp.cure.at.visit"
    assert not [code for code in findings if code.startswith("months")]


def test_success_lies_beyond_the_old_interval_and_the_limit(site):
    findings = found(site(CLIMATE), factor=0.55)
    assert findings["again"].statement.values["least"].value == pytest.approx(LIMITS.factor)
    wet = found(site(CLIMATE), {"rain": 0.6}, factor=0.90)["again"].statement
    assert wet.values["least"].value == pytest.approx(0.90)
    already_best = found(site(CLIMATE), {"rain": 0.6}, factor=0.99)["again"].statement
    assert already_best.id == "damp.cure.again.humidity"


def test_no_airing_while_it_is_moister_outdoors(site):
    """By hand: 26 °C and 90 % outdoors have a dew point of 24 °C, above any wall of a room at 20 °C."""
    humid = {
        "weather": {
            "air_temperature_degc": 26.0,
            "mean_24h_air_temperature_degc": 26.0,
            "relative_humidity_percent": 90.0,
        }
    }
    findings = found(site(CLIMATE, humid))
    assert quantities(findings["humid-outdoors"])["outdoor-dew-point"].value == pytest.approx(24.2, abs=0.3)
    assert findings["humid-outdoors"].statement.id == "damp.cure.humid-outdoors.harmful"
    assert "alone" not in findings
    case, item = case_and_place(site(CLIMATE, humid))
    assert not list(cure_charts(case, item, LIMITS))


def test_a_cooled_room_gets_no_advice_of_a_heated_one(site):
    findings = found(site(CLIMATE, {"site": {"climate_mode": "cooling"}}))
    assert findings["humid-outdoors"].statement.id == "damp.cure.humid-outdoors.cooled"
    assert not {"alone", "combined", "inside"} & set(findings)
    own = found(site(CLIMATE, {"rooms": [{"climate_mode": "cooling"}]}))
    assert "humid-outdoors" in own


def test_running_costs_follow_the_price(site):
    """Twice the price is twice the money, and none is said without a price; the heat is the same."""
    texts, heat = [], []
    for costs in ({}, {"costs": {"heat_price_per_kwh": 0.10, "currency": "EUR"}}):
        finding = found(site(CLIMATE, costs))["cost-insulation"]
        texts.append(finding.statement.values["money"].id)
        heat.append(quantities(finding)["season-heat"].value)
    assert texts == ["damp.cure.cost.no-price", "damp.cure.cost.money"]
    assert heat[0] == heat[1]
    money = finding.statement.values["money"].values["money"]
    assert money.value == pytest.approx(0.10 * heat[0], abs=0.1)
    assert money.unit == "EUR"


def test_insulation_saves_what_a_hand_calculation_says(site):
    """By hand: 0.306 m²K/W and a film of 0.13 lose 2.3 W/m²K; insulation saves a good part of that."""
    heat = quantities(found(site(CLIMATE))["cost-insulation"])["season-heat"]
    months = [t for t in CLIMATE["climate"]["monthly_air_temperature_degc"] if t < 15.0]
    whole = sum((20.0 - t) * 730.5 for t in months) / 1000.0 / (0.13 + 0.306)
    assert 0.3 * whole < heat.value < whole


def test_inside_insulation_is_checked_where_the_wall_is_known(site):
    assert found(site(CLIMATE, WALL))["inside"].statement.id.startswith("damp.cure.inside.checked.")
    assert found(site(CLIMATE))["inside"].statement.id == "damp.cure.inside.unchecked"
    strange = {"elements": [{**WALL["elements"][0], "layers": [{"material": "cob", "thickness_mm": 400.0}]}]}
    assert found(site(CLIMATE, strange))["inside"].statement.id == "damp.cure.inside.unchecked"
    assert found(site(WALL))["inside"].statement.id == "damp.cure.inside.unchecked"


def test_a_vapour_open_board_inside_wets_a_brick_wall_in_winter(site):
    """Common practice: 60 mm of open board inside a cold brick wall gather water behind them.

    By hand for January: behind 1.5 m²K/W the brick is at about 5 °C, its saturation 870 Pa lies below the
    room's 1350 Pa, while the board resists vapour as 0.2 m of air and the brick as 3.8 m.
    """
    case, item = case_and_place(site(CLIMATE, WALL))
    years = years_inside(case, item, 1.5)
    assert years is not None
    assert years[0].most_held_g_m2 <= years[1].most_held_g_m2 <= years[2].most_held_g_m2
    assert years[1].condenses


def logger_text(degc, percent, days=20):
    start = datetime(2026, 1, 1, tzinfo=UTC)
    rows = [f"{(start + timedelta(hours=h)).isoformat()},{degc},{percent}" for h in range(24 * days)]
    return "\n".join(["time,temperature_degc,relative_humidity_percent", *rows]) + "\n"


LOGGERS = {
    "loggers": [
        {"id": "in", "file": "loggers/in.csv", "place": "room", "room": "room", "instrument": "hygro"},
        {"id": "out", "file": "loggers/out.csv", "place": "outdoor", "instrument": "outdoor"},
    ]
}


@pytest.mark.parametrize(("factor", "percent"), [(0.30, 100.0), (0.98, 0.0)])
def test_even_loggers_lie_all_above_or_all_below(site, factor, percent):
    """By hand: 20 °C and 58 % against 0 °C: f 0.30 condenses at every hour, f 0.98 stays near 60 %."""
    files = {"loggers/in.csv": logger_text(20.0, 58.0), "loggers/out.csv": logger_text(0.0, 85.0)}
    read = site(LOGGERS, CLIMATE, files=files)
    case, item = case_and_place(read, factor)
    from thermalkit.diagnosis.damp.cures.over_time import hours_left
    from thermalkit.diagnosis.damp.cures.remedy import remedies
    from thermalkit.diagnosis.damp.cures.situations import weathers

    situation = weathers(case, item, LIMITS).present[0]
    assert situation.is_logged
    finding = next(hours_left(case, item, "x", situation, remedies(situation)))
    assert quantities(finding)["time-damp"].value == percent


def test_loggers_narrow_what_one_visit_leaves_open(site):
    """The excess of twenty logged days, by hand: 0.58 of 2337 Pa less 0.85 of 611 Pa."""
    from thermalkit.diagnosis.damp.cures.room import room_moisture

    files = {"loggers/in.csv": logger_text(20.0, 58.0), "loggers/out.csv": logger_text(0.0, 85.0)}
    logged = room_moisture(Case(site=site(LOGGERS, files=files)), "wall")
    visited = room_moisture(Case(site=site()), "wall")
    assert np.median(logged.excess_pa) == pytest.approx(0.58 * 2337.0 - 0.85 * 611.0, rel=0.01)
    assert np.std(logged.excess_pa) < np.std(visited.excess_pa)


def test_few_days_of_loggers_are_not_enough(site):
    files = {"loggers/in.csv": logger_text(20.0, 58.0, 5), "loggers/out.csv": logger_text(0.0, 85.0, 5)}
    assert "hours" not in found(site(LOGGERS, CLIMATE, files=files))


def test_the_chart_s_first_line_is_the_criterion(site):
    """By hand: at 20 °C in January 80 % of saturation at the wall's surface over that of 20 °C."""
    case, item = case_and_place(site(CLIMATE))
    chart = next(cure_charts(case, item, LIMITS))
    surface = 1.0 + 0.55 * (20.0 - 1.0)
    expected = 80.0 * saturation_pressure_pa(surface) / saturation_pressure_pa(20.0)
    assert chart.series[0].y[chart.series[0].x.index(20.0)] == pytest.approx(expected, abs=0.1)
    assert all(
        low <= y <= high
        for low, y, high in zip(*[getattr(chart.series[0], n) for n in ("low", "y", "high")], strict=True)
    )
    insulated = np.array([series.y for series in chart.series[:3]])
    assert np.all(np.diff(insulated, axis=0) >= 0.0)


def test_two_runs_are_equal(site):
    read = site(CLIMATE, WALL)
    assert found(read, {"rain": 0.4}) == found(read, {"rain": 0.4})
