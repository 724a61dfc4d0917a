"""Weeks of weather, the room that follows them, and files in which loggers write them."""

from datetime import UTC, datetime

import numpy as np
import pytest

from thermalkit.physics.moist_air import saturation_pressure_pa
from thermalkit.scenes import Climate
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.logger_files import GERMAN, ISO, TWELVE_HOURS, logger_bytes, read_by
from thermalkit.scenes.series import (
    Rain,
    Weather,
    cooled_by_water_degc,
    room_humidity,
    surface_degc,
    weather,
    wetness_after_rain,
)
from thermalkit.site.loggers import read_logger
from thermalkit.site.model import LoggerKeys

CLIMATE = Climate(indoor_degc=20.0, indoor_humidity=0.5, outdoor_mean_degc=3.0, outdoor_swing_k=2.0, hour=9.0)


def steady_weather(degc=0.0, humidity=0.85, hours=480):
    flat = np.ones(hours)
    return Weather(
        hours=np.arange(float(hours)),
        temperature_degc=degc * flat,
        humidity=humidity * flat,
        rain_mm=0.0 * flat,
        wind_m_s=flat,
    )


def test_weather_ends_in_the_climate_of_the_visit():
    """Temperature at the visit, and the mean of its last day; longer ago the days differ."""
    found = weather(CLIMATE, np.random.default_rng(1), days=15, humidity=0.85)
    assert found.hours.size == 15 * 24 + 1
    assert found.temperature_degc[-1] == pytest.approx(CLIMATE.outdoor_degc)
    assert found.temperature_degc[-24:].mean() == pytest.approx(3.0)
    assert np.ptp(found.temperature_degc[:240].reshape(10, 24).mean(axis=1)) > 1.0


def test_rain_falls_when_it_is_said_and_makes_air_humid():
    """All of it within the hours given."""
    rain = Rain(first_h=40.0, hours=10.0, total_mm=12.0, wind_m_s=7.0)
    found = weather(CLIMATE, np.random.default_rng(2), days=14, humidity=0.8, rains=(rain,))
    assert found.rain_mm[40:50].sum() == pytest.approx(found.rain_mm.sum())
    assert found.rain_mm.sum() == pytest.approx(12.0, rel=0.5)
    assert np.all(found.humidity[40:50] >= 0.96)
    assert np.all(found.wind_m_s[40:50] == 7.0)


@pytest.mark.parametrize(
    ("kg_per_day", "changes", "volume", "indoor", "outdoor", "humidity", "printed"),
    [
        (10.0, 0.5, 250.0, 20.0, 0.0, 0.85, 0.4150),
        (8.0, 0.5, 200.0, 20.0, 5.0, 0.85, 0.5101),
        (10.0, 0.3, 180.0, 19.0, 2.0, 0.90, 0.7627),
        (14.0, 0.4, 220.0, 21.0, -5.0, 0.80, 0.4912),
    ],
)
def test_a_room_settles_at_its_moisture_balance(
    kg_per_day, changes, volume, indoor, outdoor, humidity, printed
):
    """ISO 13788 moisture balance (from memory), worked separately: p_i = p_e + G R_v T_i/(n V)."""
    air = steady_weather(outdoor, humidity)
    release = np.full(air.hours.size, kg_per_day / 24.0)
    found = room_humidity(
        air, np.full(air.hours.size, indoor), release, volume_m3=volume, air_change_per_h=changes
    )
    assert found[-1] == pytest.approx(printed, abs=0.001)


def test_a_room_falls_back_with_its_air_change():
    """After the release stops the excess falls by 1/e in 1/n hours."""
    air, indoor = steady_weather(), np.full(480, 20.0)
    release = np.where(np.arange(480) < 240, 0.4, 0.0)
    found = room_humidity(air, indoor, release, volume_m3=250.0, air_change_per_h=0.5)
    excess = found * saturation_pressure_pa(indoor) - air.vapour_pressure_pa
    assert excess[241] / excess[239] == pytest.approx(np.exp(-1.0), rel=1e-6)


def test_a_surface_settles_where_the_layers_say():
    """Steady air: 20 - 20 · 0.13/(0.13 + 0.22/0.77 + 0.04) by hand."""
    found = surface_degc(
        (layer("brick", 0.22, 0.77, 1.4),), steady_weather(), np.full(480, 20.0), film_m2k_w=0.13
    )
    assert found == pytest.approx(20.0 * (1.0 - 0.13 / (0.17 + 0.22 / 0.77)), abs=0.02)


def test_a_leaky_place_wets_with_rain_and_dries_after_it():
    """Dry before, wettest at its end, 1/e of that one drying time later."""
    air = steady_weather(hours=200)
    air.rain_mm[50:60], air.wind_m_s[50:60] = 2.0, 8.0
    found = wetness_after_rain(air, full_mm=10.0, drying_h=40.0)
    assert np.all(found[:50] == 0.0)
    assert int(np.argmax(found)) == 59
    assert found[99] / found[59] == pytest.approx(np.exp(-1.0))
    late = wetness_after_rain(air, full_mm=10.0, drying_h=40.0, lag_h=6.0)
    assert int(np.argmax(late)) == 65


def test_a_wet_surface_on_an_outside_wall_reads_as_worked_by_hand():
    """Dry 13.2 °C with brick of 220 mm: 12.3 °C where it is wet all over, dry where it is not."""
    found = cooled_by_water_degc(
        np.array([13.2, 13.2]),
        np.array([1.0, 0.0]),
        np.array([20.0, 20.0]),
        np.array([0.5, 0.5]),
        film_m2k_w=0.13,
        conductance_behind_w_m2k=1.0 / (0.22 / 0.714 + 0.04),
    )
    assert found == pytest.approx([12.3, 13.2], abs=0.05)


@pytest.mark.parametrize("dialect", [ISO, GERMAN, TWELVE_HOURS])
def test_what_a_logger_wrote_is_read_back(dialect, tmp_path):
    """In every dialect, to half the last digit written; °F has coarser ones."""
    rng = np.random.default_rng(4)
    temperature = read_by(np.linspace(2.0, 19.0, 400), rng, noise=0.1)
    humidity = np.full(400, 64.2)
    humidity[7] = np.nan
    content = logger_bytes(
        datetime(2026, 1, 5), 1.0, {"temperature": temperature, "humidity": humidity}, dialect
    )
    (tmp_path / "room.csv").write_bytes(content)
    keys = LoggerKeys.model_validate({"id": "room", "file": "loggers/room.csv", "place": "room"})
    found = read_logger(tmp_path / "room.csv", keys).table
    assert found.index[0] == datetime(2026, 1, 5, tzinfo=UTC)
    assert found["temperature_degc"].to_numpy() == pytest.approx(temperature, abs=0.0501)
    read = found["relative_humidity"].to_numpy()
    assert np.isnan(read[7])
    assert read[8] == pytest.approx(0.642)
