"""What may be asked of a series: hourly means, days covered, how far off another it is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.site.loggers import (
    LoggerSeries,
    days_covered,
    hourly,
    is_long_enough,
    side_by_side_offset,
)
from thermalkit.site.loggers.series import gaps_in
from thermalkit.site.model import LoggerKeys

START = datetime(2026, 1, 1, tzinfo=UTC)
KEYS = LoggerKeys.model_validate({"id": "a", "file": "a.csv", "place": "room"})


def series(temperature, minutes=10, start=START, keep=None, **columns):
    """A series of these temperatures; `keep` picks its rows."""
    index = pd.date_range(start, periods=len(temperature), freq=f"{minutes}min", name="time")
    columns = {"temperature_degc": temperature, "relative_humidity": 0.5, **columns}
    table = pd.DataFrame(columns, index=index)
    table = table if keep is None else table.iloc[keep]
    step_s, gaps = gaps_in(table.index)
    return LoggerSeries(keys=KEYS, table=table, step_s=step_s, gaps=gaps, assumed=())


def test_hours_with_less_than_half_of_their_rows_are_empty():
    """Three rows of six are enough, two are not; an hour without rows is there and empty."""
    keep = [0, 1, 2, 6, 7, *range(18, 24)]
    means = hourly(series(np.arange(24.0), keep=keep))["temperature_degc"]
    assert means.index.tolist() == [pd.Timestamp(START) + pd.Timedelta(hours=h) for h in range(4)]
    assert means.to_numpy() == pytest.approx([1.0, np.nan, np.nan, 20.5], nan_ok=True)


def test_each_quantity_needs_its_own_rows():
    """A humidity sensor that failed does not take the temperature with it."""
    humidity = np.where(np.arange(6) < 2, 0.6, np.nan)
    means = hourly(series(np.full(6, 20.0), relative_humidity=humidity))
    assert means["temperature_degc"].tolist() == [20.0]
    assert np.isnan(means["relative_humidity"].iloc[0])


def test_rain_adds_up_and_wind_has_a_mean_direction():
    """Between 350° and 10° lies north, not south."""
    means = hourly(series(np.zeros(2), minutes=30, rain_mm=[0.2, 0.4], wind_from_deg=[350.0, 20.0]))
    assert means["rain_mm"].tolist() == pytest.approx([0.6])
    assert means["wind_from_deg"].tolist() == pytest.approx([5.0])


def test_rows_further_apart_than_an_hour_stand_for_their_own_hour():
    """Nothing is put in between."""
    means = hourly(series([1.0, 2.0], minutes=180))["temperature_degc"]
    assert means.to_numpy() == pytest.approx([1.0, np.nan, np.nan, 2.0], nan_ok=True)


def test_a_season_needs_two_weeks_without_the_gaps():
    """Fourteen days from first to last with a day missing are thirteen."""
    full = series(np.zeros(14 * 144))
    assert days_covered(full) == pytest.approx(14.0)
    assert is_long_enough(full)
    gappy = series(np.zeros(14 * 144), keep=[i for i in range(14 * 144) if not 500 <= i < 644])
    assert days_covered(gappy) == pytest.approx(13.0, abs=11 / 1440)
    assert not is_long_enough(gappy)
    assert len(gappy.gaps) == 1


def test_a_single_row_covers_nothing():
    """It has no step."""
    one = series([20.0])
    assert np.isnan(one.step_s)
    assert days_covered(one) == 0.0
    assert hourly(one)["temperature_degc"].tolist() == [20.0]


def off(a, b, hours=1):
    return side_by_side_offset(a, b, START, START + timedelta(hours=hours))


def test_offset_of_two_loggers_side_by_side():
    """The mean difference and its standard uncertainty s/sqrt(n), JCGM 100:2008, 4.2.3, by hand.

    Differences 0.1, 0.3, 0.3, 0.1, ...: s = 0.1 sqrt(n/(n-1)); rows of a minute resolve 0.001 K.
    """
    base = np.round(20.0 + 0.001 * (np.arange(61) % 2), 3)
    pattern = np.tile([0.1, 0.3, 0.3, 0.1], 16)[:61]
    found = off(series(base, minutes=1), series(base + pattern, minutes=1))
    assert found.pairs == 61
    assert found.offset_k == pytest.approx(pattern.mean())
    expected = np.std(pattern, ddof=1) / np.sqrt(61)
    assert found.standard_uncertainty_k == pytest.approx(expected, rel=0.05)
    assert found.offset_percent_rh == 0.0


def test_a_slow_sensor_gives_fewer_independent_rows():
    """An autoregressive difference of r = 0.9 is worth n (1 - r) / (1 + r) rows; its mean scatters as told.

    The scatter is that of 400 such hours, drawn here, not that of the formula.
    """
    rng = np.random.default_rng(1)
    means, told = [], []
    for _ in range(400):
        noise = np.zeros(240)
        for i in range(1, 240):
            noise[i] = 0.9 * noise[i - 1] + rng.normal(0.0, 0.1)
        found = off(series(np.zeros(240), minutes=1), series(noise, minutes=1), hours=4)
        means.append(found.offset_k)
        told.append(found.standard_uncertainty_k)
    assert np.std(means) == pytest.approx(np.mean(told), rel=0.25)


def test_what_the_display_rounds_away_stays_uncertain():
    """Two readings to 0.5 K that never differ are uncertain by 0.5/sqrt(12) each.

    JCGM 100:2008, F.2.2.1.
    """
    steps = np.repeat([20.0, 20.5], 30)
    found = off(series(steps, minutes=1), series(steps, minutes=1))
    assert found.offset_k == 0.0
    assert found.standard_uncertainty_k == pytest.approx(0.5 / np.sqrt(6.0))


def test_clocks_that_differ_by_less_than_half_a_step_are_paired():
    """Rows at :00 and :02 belong together."""
    a, b = series(np.full(20, 20.0)), series(np.full(20, 20.4), start=START + timedelta(minutes=2))
    assert off(a, b).offset_k == pytest.approx(0.4)


def test_a_quantity_only_one_of_them_has_is_unknown():
    """Two thermometers say nothing on humidity."""
    a = series(np.full(20, 20.0), relative_humidity=np.nan)
    found = off(a, series(np.full(20, 20.0)))
    assert np.isnan(found.offset_percent_rh)
    assert np.isnan(found.standard_uncertainty_percent_rh)


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        (START, START, "is no time span"),
        (START.replace(tzinfo=None), START + timedelta(hours=1), "is no time span"),
        (START, START + timedelta(minutes=20), "3 pairs of rows"),
        (START - timedelta(days=2), START - timedelta(days=1), "0 pairs of rows"),
    ],
)
def test_hours_without_enough_rows(start, end, words):
    """What was asked and what is needed are named."""
    a = series(np.full(20, 20.0))
    with pytest.raises(OutOfDomain, match=words):
        side_by_side_offset(a, a, start, end)
