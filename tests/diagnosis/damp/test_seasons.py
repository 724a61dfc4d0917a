"""What happens over time at a place."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.damp.causes import table
from thermalkit.diagnosis.damp.seasons import season_charts, season_evidence, season_findings
from thermalkit.diagnosis.damp.seasons.growth import growth_of
from thermalkit.diagnosis.damp.seasons.memory import remembered_degc
from thermalkit.diagnosis.damp.seasons.series import evenly, interval, place_series
from thermalkit.diagnosis.damp.seasons.spells import highest_mean, hours_at_least, longest_spell_h
from thermalkit.diagnosis.damp.seasons.thinning import MOST_POINTS, means, step_h
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.language import LANGUAGES, render
from thermalkit.physics.moist_air import (
    saturation_pressure_pa,
    surface_humidity,
    vapour_pressure_over_water_pa,
    vapour_pressure_pa,
)

LIMITS = limit_sets()["GB-dwelling"]
DAY_RAD_PER_H = 2.0 * np.pi / 24.0
FORTNIGHT = 20 * 24


def weather(hours, seed=1, mean=4.0):
    """Invented hours of a mild winter: days, and spells of some days."""
    rng = np.random.default_rng(seed)
    t = np.arange(hours)
    spells = np.convolve(rng.normal(0.0, 3.0, hours + 71), np.ones(72) / 8.5, "valid")
    return mean + 3.0 * np.sin(DAY_RAD_PER_H * (t - 9.0)) + spells


def by_code(findings, code):
    return next(f for f in findings if f.code == f"damp.season.{code}")


# What the wall remembers


@pytest.mark.parametrize("lag", [0.3, 1.0, 2.5])
def test_a_daily_swing_arrives_damped_and_late(lag):
    """By exp(-x) and x radians, as in a semi-infinite solid (Carslaw and Jaeger, 2.6)."""
    t = np.arange(30 * 24)
    felt = remembered_degc(10.0 + 4.0 * np.cos(DAY_RAD_PER_H * t), np.array([lag, lag + 0.001]))[240:, 0]
    expected = 10.0 + 4.0 * np.exp(-lag) * np.cos(DAY_RAD_PER_H * t[240:] - lag)
    assert felt == pytest.approx(expected, abs=0.12)


def test_steady_weather_is_felt_as_it_is():
    assert remembered_degc(np.full(300, -3.0), np.array([0.1, 2.5]))[200] == pytest.approx([-3.0, -3.0])


def test_weather_that_is_not_on_record_is_not_felt():
    """Neither at the start nor after a long gap; a short gap leaves enough."""
    outdoor = np.full(600, 5.0)
    outdoor[300:400] = np.nan
    outdoor[200:203] = np.nan
    felt = remembered_degc(outdoor, np.array([0.1, 2.5]))
    assert np.isnan(felt[0]).all()
    assert np.isnan(felt[390]).all()
    assert np.isfinite(felt[[199, 204, 299, 520]]).all()


# Counting


def test_spells_end_at_a_gap():
    """Counted by hand: 2 + 3 hours, the longest 3, not 6 across the gap."""
    values = np.array([0.5, 0.8, 0.9, np.nan, 0.85, 0.9, 0.8, 0.79])[:, None]
    assert hours_at_least(values, 0.8) == 5
    assert longest_spell_h(values, 0.8) == 3


def test_highest_mean_by_hand():
    """Of any two neighbours both known: (3 + 5)/2; a window with a gap does not count."""
    values = np.array([1.0, 3.0, 5.0, np.nan, 9.0, 2.0])[:, None]
    assert highest_mean(values, 2, 2) == pytest.approx(5.5)
    assert highest_mean(values[:4], 2, 2) == pytest.approx(4.0)
    assert highest_mean(values[:2], 2, 2) == pytest.approx(2.0)


def test_even_draws_keep_the_interval():
    """A hundred draws laid evenly give the ends of ten thousand: of a normal, -1.960 and 1.960."""
    draws = np.random.default_rng(3).normal(size=10_000)
    found = interval(draws[evenly(draws, 100)], "")
    assert (found.low, found.value, found.high) == pytest.approx((-1.96, 0.0, 1.96), abs=0.06)


def test_long_records_are_thinned():
    assert [step_h(hours) for hours in (900, 8760, 60_000, 900_000)] == [1, 24, 168, 8760]
    assert means(np.array([[1.0], [np.nan], [5.0]]), 2)[:, 0] == pytest.approx([1.0, 5.0])


# The surface over time


def brick_wall(outdoor, indoor, films=(0.13, 0.04), layers=20):
    """Inner surface of 300 mm brick by explicit steps of 60 s, and its steady temperature factor.

    Conductivity 0.8 W/(m K), 1800 kg/m3, 900 J/(kg K): handbook values from memory.
    """
    step = 0.3 / layers
    conductance, capacity = 0.8 / step, 1800.0 * 900.0 * step
    inner, outer = (1.0 / (film + 0.5 / conductance) for film in films)
    wall = np.linspace(indoor[0], outdoor[0], layers)
    surface = []
    for t_out, t_in in zip(outdoor, indoor, strict=True):
        for _ in range(60):
            flow = np.empty(layers + 1)
            flow[0], flow[-1] = inner * (t_in - wall[0]), outer * (wall[-1] - t_out)
            flow[1:-1] = conductance * (wall[:-1] - wall[1:])
            wall = wall + 60.0 * (flow[:-1] - flow[1:]) / capacity
        surface.append(t_in - films[0] * inner * (t_in - wall[0]))
    resistance = 0.3 / 0.8
    return np.array(surface), (resistance + films[1]) / (resistance + sum(films))


def test_a_real_wall_lies_within_the_interval(room_case, series_of, place_of):
    """A brick wall solved hour by hour; its means and hours lie within what the factor gives."""
    outdoor = weather(60 * 24)
    indoor = np.full(outdoor.size, 19.0)
    surface, factor = brick_wall(outdoor, indoor)
    case = room_case(
        series_of("in", "room", indoor, np.full(outdoor.size, 0.60), room="bedroom"),
        series_of("out", "outdoor", outdoor, np.full(outdoor.size, 0.85)),
    )
    found = place_series(case, place_of(factor))
    truth = surface_humidity(vapour_pressure_pa(19.0, 0.60), surface)
    humidity = found.humidity[-surface.size :]
    known = np.isfinite(humidity[:, 0])
    low, high = np.quantile(humidity[known], [0.025, 0.975], axis=1)
    assert np.mean((low <= truth[known]) & (truth[known] <= high)) > 0.95
    middle = np.median(humidity[known], axis=1)
    # A slow wall stands between the range's ends: the middle follows within a few percent.
    assert np.abs(middle - truth[known]).mean() < 0.02


@pytest.mark.parametrize("setback_k", [0.0, 3.0, 6.0])
def test_counts_and_means_hold_where_heating_stops_at_night(room_case, series_of, place_of, setback_k):
    """The factor knows no quick changes; what is reported holds the solved wall's hours, mean and spell."""
    outdoor = weather(60 * 24, seed=2)
    hour = np.arange(outdoor.size) % 24
    indoor = np.where((hour >= 6) & (hour < 22), 20.0, 20.0 - setback_k)
    pressure = vapour_pressure_pa(18.0, 0.63) + 80.0 * np.sin(DAY_RAD_PER_H * hour)
    surface, factor = brick_wall(outdoor, indoor)
    case = room_case(
        series_of("in", "room", indoor, pressure / saturation_pressure_pa(indoor), room="bedroom"),
        series_of("out", "outdoor", outdoor, np.full(outdoor.size, 0.85)),
    )
    found = place_series(case, place_of(factor))
    humidity, known = found.humidity[-outdoor.size :], found.known[-outdoor.size :]
    truth = surface_humidity(pressure, surface)[:, None]
    truth[~known] = np.nan
    for of in (
        lambda values: hours_at_least(values, 0.8),
        lambda values: longest_spell_h(values, 0.8),
        lambda values: np.nanmean(np.minimum(values, 1.0), axis=0),
    ):
        told = interval(of(humidity), "")
        assert told.low <= of(truth)[0] <= told.high


@pytest.mark.parametrize("level", [0.80])
def test_intervals_hold_the_truth_as_often_as_they_say(room_case, series_of, place_of, level):
    """Two hundred rooms with errors of their own; 95 % intervals of share and mean hold in 90 % or more.

    The limit of 180 leaves room for chance: 95 % of 200 less three standard deviations.
    """
    rng = np.random.default_rng(11)
    outdoor = weather(FORTNIGHT)
    indoor, humidity = np.full(FORTNIGHT, 19.0), 0.58 + 0.05 * np.sin(np.arange(FORTNIGHT) / 30.0)
    case = room_case()
    held = np.zeros(2)
    for _ in range(200):
        factor = rng.uniform(0.5, 0.7)
        felt = remembered_degc(outdoor, rng.uniform(0.1, 2.5) + np.array([0.0, 0.001]))[:, 0]
        surface = felt + factor * (indoor - felt)
        truth = surface_humidity(vapour_pressure_pa(indoor, humidity), surface)
        series = (
            series_of(
                "in",
                "room",
                indoor + rng.uniform(-0.5, 0.5),
                humidity + rng.uniform(-0.03, 0.03),
                room="bedroom",
            ),
            series_of("out", "outdoor", outdoor + rng.uniform(-0.5, 0.5), np.full(FORTNIGHT, 0.85)),
        )
        case.site = case.site.__class__(
            **{
                name: getattr(case.site, name)
                for name in ("folder", "keys", "frames", "readings", "files", "notes")
            },
            loggers={s.keys.id: s for s in series},
        )
        found = place_series(case, place_of(factor + rng.uniform(-0.1, 0.1), half_width=0.1))
        values = found.humidity[found.known]
        true = truth[-values.shape[0] :]
        share = interval(hours_at_least(values, level), "h")
        mean = interval(values.mean(axis=0), "")
        held += [
            share.low <= np.count_nonzero(true >= level) <= share.high,
            mean.low <= true.mean() <= mean.high,
        ]
    assert (held >= 180).all(), held


def findings_of(case, place):
    return list(season_findings(case, place, LIMITS))


def wet_case(room_case, series_of, hours=60 * 24, humidity=0.75, **keys):
    outdoor = weather(hours)
    return room_case(
        series_of("in", "room", np.full(hours, 18.0), np.full(hours, humidity), room="bedroom"),
        series_of("out", "outdoor", outdoor, np.full(hours, 0.85)),
        **keys,
    )


def test_a_wet_place_is_indicated(room_case, series_of, place_of):
    """18 °C at 0.75 with f 0.6: the surface stays above 80 % by far."""
    found = findings_of(wet_case(room_case, series_of), place_of(0.6))
    item = by_code(found, "surface-humidity")
    assert item.verdict == "indicated"
    assert item.cautions
    assert {e.reference for e in item.evidence} >= {"loggers/in.csv", "loggers/out.csv"}
    spells = by_code(found, "spells")
    assert spells.quantities[0].measured.value == 100.0


def test_a_dry_place_is_not_indicated(room_case, series_of, place_of):
    found = findings_of(wet_case(room_case, series_of, humidity=0.35), place_of(0.8))
    assert by_code(found, "surface-humidity").verdict == "not indicated"
    mould = by_code(found, "mould-index")
    assert mould.verdict == "not indicated"
    assert mould.statement.values["first"].id == "damp.season.when.not-within"


def test_a_short_record_is_not_judged(room_case, series_of, place_of):
    """Thirteen days of both are too few."""
    found = findings_of(wet_case(room_case, series_of, hours=13 * 24), place_of(0.6))
    assert {f.code for f in found} == {"damp.season.critical-month"}


def test_gaps_are_not_bridged(room_case, series_of, place_of):
    """Ten hours without room air count as missing and in no share."""
    hours = 60 * 24
    damp = np.full(hours, 0.75)
    whole = place_series(wet_case(room_case, series_of), place_of(0.6))
    damp[700:710] = np.nan
    case = room_case(
        series_of("in", "room", np.full(hours, 18.0), damp, room="bedroom"),
        series_of("out", "outdoor", weather(hours), np.full(hours, 0.85)),
    )
    found = place_series(case, place_of(0.6))
    assert found.missing_h - whole.missing_h == 10
    assert by_code(findings_of(case, place_of(0.6)), "spells").statement.id.endswith("gaps")
    assert np.count_nonzero(whole.known) - np.count_nonzero(found.known) == 10


def test_outdoors_logged_before_the_room_leaves_no_hour_out(room_case, series_of, place_of):
    hours = 20 * 24
    case = room_case(
        series_of(
            "in", "room", np.full(hours, 18.0), np.full(hours, 0.6), room="bedroom", start="2026-01-06"
        ),
        series_of("out", "outdoor", weather(hours + 120), np.full(hours + 120, 0.85)),
    )
    assert place_series(case, place_of(0.6)).missing_h == 0


def test_the_climate_stands_in_for_an_outdoor_logger(room_case, series_of, place_of):
    """Wider, since these weeks may have been colder or milder than the month of many years."""
    hours = 30 * 24
    inside = series_of("in", "room", np.full(hours, 18.0), np.full(hours, 0.65), room="bedroom")
    with_climate = room_case(inside)
    logged = room_case(inside, series_of("out", "outdoor", np.full(hours, 4.2), np.full(hours, 0.86)))
    wide, narrow = (
        interval(np.nanmean(place_series(case, place_of(0.6)).humidity, axis=0), "")
        for case in (with_climate, logged)
    )
    assert wide.value == pytest.approx(narrow.value, abs=0.01)
    assert wide.high - wide.low > narrow.high - narrow.low
    assert "off-monthly-mean" in [a.name for a in with_climate.assumptions_used()]


def test_a_logger_on_the_surface_takes_the_factors_place(room_case, series_of, place_of):
    """Its own humidity counts; no factor is needed."""
    hours = 20 * 24
    case = room_case(
        series_of("on-wall", "surface", np.full(hours, 12.0), np.full(hours, 0.9), room="bedroom"),
    )
    found = findings_of(case, place_of())
    item = by_code(found, "surface-humidity")
    assert item.quantities[0].measured.value == pytest.approx(90.0, abs=0.2)
    assert item.quantities[0].measured.low == pytest.approx(87.1, abs=0.3)  # 3 % rectangular: 0.95 of it
    assert item.statement.values["how"].id == "damp.season.how.logger"
    assert "out of the wall" in render(item.statement, "en")


def test_a_surface_thermometer_takes_the_rooms_vapour(room_case, series_of, place_of):
    """Room 20 °C at 0.50 on 12.6 °C: the printed 0.80 of DIN 4108-2."""
    hours = 20 * 24
    case = room_case(
        series_of("cold", "surface", np.full(hours, 12.6), room="bedroom"),
        series_of("in", "room", np.full(hours, 20.0), np.full(hours, 0.50), room="bedroom"),
        series_of("out", "outdoor", np.full(hours, 0.0), np.full(hours, 0.85)),
    )
    found = place_series(case, place_of())
    assert found.is_direct
    assert np.median(found.humidity[-1]) == pytest.approx(0.80, abs=0.005)


def test_a_short_surface_logger_says_so(room_case, series_of, place_of):
    hours = 5 * 24
    case = room_case(
        series_of("on-wall", "surface", np.full(hours, 12.0), np.full(hours, 0.9), room="bedroom")
    )
    item = by_code(findings_of(case, place_of()), "too-short")
    assert "5.0" in render(item.statement, "en")


def test_two_surface_loggers_need_names(room_case, series_of, place_of):
    """Without one that bears the mark's name nobody guesses."""
    hours = 20 * 24
    pair = [
        series_of(id, "surface", np.full(hours, 12.0), np.full(hours, 0.9), room="bedroom") for id in "ab"
    ]
    assert place_series(room_case(*pair), place_of()) is None


# Mould


def test_mould_reaches_its_levels_when_the_paper_says(room_case, series_of, place_of):
    """Pine at 20 °C and 97 %: index 1 after 1.48 weeks, 3 after 2.98 (Hukka and Viitanen 1999)."""
    hours = 6 * 168
    case = room_case(series_of("on", "surface", np.full(hours, 20.0), np.full(hours, 0.97), room="bedroom"))
    growth = growth_of(case, place_series(case, place_of()))
    pine = np.median(growth.index["pine sapwood 1999"], axis=1)
    assert [np.argmax(pine >= level) / 168.0 for level in (1.0, 3.0)] == pytest.approx(
        [1.484, 2.983], abs=0.08
    )


def test_mould_is_a_range_of_days_and_never_one(room_case, series_of, place_of):
    """Timber first, plaster last or not within the record."""
    hours = 8 * 168
    case = room_case(series_of("on", "surface", np.full(hours, 20.0), np.full(hours, 0.97), room="bedroom"))
    item = by_code(findings_of(case, place_of()), "mould-index")
    first = item.statement.values["first"]
    assert first.id == "damp.season.when.from"
    assert first.values["early"] < "2026-01-12"
    growth = growth_of(case, place_series(case, place_of()))
    early, late = growth.reached(0.2)
    assert early < late


def test_mould_holds_still_over_a_gap(room_case, series_of, place_of):
    """A week without readings adds nothing: the index after it is the same as without that week."""
    hours = 5 * 168
    damp = np.full(hours, 0.97)
    damp[336:504] = np.nan
    case = room_case(series_of("on", "surface", np.full(hours, 20.0), damp, room="bedroom"))
    growth = growth_of(case, place_series(case, place_of()))
    short = room_case(
        series_of("on", "surface", np.full(hours - 168, 20.0), np.full(hours - 168, 0.97), room="bedroom")
    )
    expected = growth_of(short, place_series(short, place_of()))
    assert growth.index["sensitive"][-1] == pytest.approx(expected.index["sensitive"][-1])


# Outdoor air on cool surfaces


def summer(room_case, series_of, surface_degc, **more):
    """32 °C at 0.80 outdoors, dew point 28.11 °C (saturation tables); a cool wall."""
    hours = 20 * 24
    return room_case(
        series_of("on", "surface", np.full(hours, surface_degc), room="bedroom"),
        series_of(
            "in", "room", np.full(hours, 26.0), np.full(hours, 0.6), room="bedroom", start="2026-07-01"
        ),
        series_of("out", "outdoor", np.full(hours, 32.0), np.full(hours, 0.80), start="2026-07-01"),
        series_of("on", "surface", np.full(hours, surface_degc), room="bedroom", start="2026-07-01"),
        **more,
    )


def test_summer_condensation_is_named_and_airing_not_advised(room_case, series_of, place_of):
    case = summer(room_case, series_of, 25.0)
    item = by_code(findings_of(case, place_of()), "outdoor-dew-point")
    assert item.statement.id.endswith(".some")
    assert item.quantities[0].measured.value == 480.0
    assert "not advised" in render(item.statement, "en")
    assert season_evidence(case, place_of())["dew-point"] == "above-wall"


def test_a_wall_above_the_outdoor_dew_point_is_a_finding_too(room_case, series_of, place_of):
    case = summer(room_case, series_of, 31.0)
    item = by_code(findings_of(case, place_of()), "outdoor-dew-point")
    assert item.statement.id.endswith(".none")
    assert not item.next_steps
    assert season_evidence(case, place_of())["dew-point"] == "below-wall"


@pytest.mark.parametrize(
    ("surface", "verdict"), [(26.0, "indicated"), (30.5, "not indicated"), (28.11, "inconclusive")]
)
def test_a_cooled_room_is_held_against_outdoor_air(room_case, place_of, surface, verdict):
    """Outdoor air of 32 °C at 0.80 condenses below 28.11 °C (reverse factor 0.611 at 22 °C indoors)."""
    weather = room_case().site.keys.weather.model_copy(
        update={"air_temperature_degc": 32.0, "relative_humidity_percent": 80.0}
    )
    case = room_case(room={"climate_mode": "cooling"}, weather=weather)
    found = findings_of(case, place_of(0.6, surface_degc=surface))
    item = by_code(found, "leaked-air")
    assert item.verdict == verdict
    assert "damp.season.critical-month" not in {f.code for f in found}


def test_a_heated_room_has_no_leaked_air_finding(room_case, place_of):
    assert {f.code for f in findings_of(room_case(), place_of(0.6))} == {"damp.season.critical-month"}


# The year


def test_the_year_asks_for_what_the_worked_example_printed(room_case, place_of):
    """Class 3, worked separately after ISO 13788: January asks for 0.7482."""
    rows = [
        row
        for row in csv.DictReader(
            (Path(__file__).parents[2] / "published" / "required_factor_by_month.csv").open(encoding="utf-8")
        )
        if row["humidity_class"] == "3"
    ]
    case = room_case()
    climate = case.site.keys.climate.model_copy(
        update={
            "monthly_air_temperature_degc": tuple(float(row["outdoor_degc"]) for row in rows),
            "monthly_relative_humidity_percent": tuple(
                100.0 * float(row["outdoor_relative_humidity"]) for row in rows
            ),
        }
    )
    case = room_case(climate=climate)
    for factor, verdict in ((0.70, "indicated"), (0.80, "not indicated"), (0.748, "inconclusive")):
        item = by_code(findings_of(case, place_of(factor)), "critical-month")
        assert item.limit.value == pytest.approx(0.748, abs=0.0005)
        assert item.statement.values["month"].id == "damp.season.month.1"
        assert item.verdict == verdict
    chart = next(c for c in season_charts(case, [place_of(0.7)], LIMITS) if c.id.startswith("season-months"))
    assert chart.series[0].y == pytest.approx([float(row["printed"]) for row in rows], abs=0.0006)


# Evidence


def test_a_place_that_never_comes_near_is_evidence(room_case, series_of, place_of):
    """Outcomes are those of the table of sources."""
    dry = wet_case(room_case, series_of, humidity=0.35)
    assert season_evidence(dry, place_of(0.8))["logger-humidity"] == "never-above-70"
    wet = wet_case(room_case, series_of)
    answers = season_evidence(wet, place_of(0.6))
    assert answers["logger-humidity"] == "above-80"
    for question, outcome in answers.items():
        assert outcome in table().questions[question].outcomes


def test_low_humidity_out_of_season_is_no_evidence(room_case, series_of, place_of):
    """A dry wall in summer says nothing about winter, nor winter about the outdoor dew point."""
    hours = 20 * 24
    case = room_case(
        series_of("in", "room", np.full(hours, 22.0), np.full(hours, 0.35), room="bedroom"),
        series_of("out", "outdoor", np.full(hours, 20.0), np.full(hours, 0.35)),
    )
    assert "logger-humidity" not in season_evidence(case, place_of(0.8))
    winter = wet_case(room_case, series_of, humidity=0.35)
    assert "dew-point" not in season_evidence(winter, place_of(0.8))
    assert "damp.season.outdoor-dew-point" not in {f.code for f in findings_of(winter, place_of(0.8))}


def test_humidity_between_is_said_where_the_interval_allows(room_case, series_of, place_of):
    hours = 20 * 24
    damp = np.full(hours, 0.72)
    damp[::2] = 0.74
    case = room_case(
        series_of("on", "surface", np.full(hours, 14.0), damp, room="bedroom"),
        series_of("in", "room", np.full(hours, 20.0), np.full(hours, 0.5), room="bedroom"),
        series_of("out", "outdoor", np.full(hours, 5.0), np.full(hours, 0.85)),
    )
    assert season_evidence(case, place_of())["logger-humidity"] == "between"


def test_no_logger_no_evidence(room_case, place_of):
    assert season_evidence(room_case(), place_of(0.6)) == {}


# Charts and words


def test_charts_are_short_and_show_gaps(room_case, series_of, place_of):
    """A year of hours is drawn by days; days without readings are empty."""
    hours = 365 * 24
    damp = np.full(hours, 0.75)
    damp[2400:2472] = np.nan
    case = room_case(
        series_of("in", "room", np.full(hours, 18.0), damp, room="bedroom"),
        series_of("out", "outdoor", weather(hours), np.full(hours, 0.85)),
    )
    charts = {c.id.split()[0]: c for c in season_charts(case, [place_of(0.6)], LIMITS)}
    assert {"season-humidity", "season-mould", "season-months", "season-excess"} <= charts.keys()
    for chart in charts.values():
        for line in chart.series:
            assert len(line.x) == len(line.y) <= MOST_POINTS
            assert len(line.low) in (0, len(line.x))
        for language in LANGUAGES:
            assert render(chart.title, language)
            assert render(chart.summary, language)
    humidity = charts["season-humidity"].series[0]
    assert humidity.y.count(None) in (2, 3)
    assert humidity.x[0].endswith("+00:00")
    assert all(lo <= y <= hi for lo, y, hi in zip(humidity.low, humidity.y, humidity.high, strict=True) if y)


def test_every_sentence_reads_in_both_languages(room_case, series_of, place_of):
    case = summer(room_case, series_of, 25.0)
    for item in [
        *findings_of(case, place_of(0.5)),
        *findings_of(wet_case(room_case, series_of), place_of(0.6)),
    ]:
        for language in LANGUAGES:
            assert render(item.statement, language)
            assert all(render(step.step, language) for step in item.next_steps)


def test_humidity_counts_over_water_in_frost(room_case, series_of, place_of):
    """At -10 °C a reading over water is more over ice: saturated air at the dew point of both, 1.10."""
    hours = 20 * 24
    case = room_case(series_of("on", "surface", np.full(hours, -10.0), np.full(hours, 0.80), room="bedroom"))
    found = place_series(case, place_of())
    ratio = 286.27 / 259.9  # over water and over ice, meteorological tables, from memory
    assert np.median(found.humidity[5]) == pytest.approx(0.80 * ratio, rel=0.005)
    assert vapour_pressure_over_water_pa(-10.0, 1.0) / saturation_pressure_pa(-10.0) == pytest.approx(
        ratio, rel=0.005
    )
