"""Weeks of invented weather, and what air and surfaces of a room make of it.

A room's humidity follows from what is released in it and what ventilation carries away; a surface follows
from conduction through its wall in time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from thermalkit.measured import FloatArray
from thermalkit.physics.conduction import Body, graded_edges_m, march, steady
from thermalkit.physics.moist_air import (
    saturation_pressure_pa,
    vapour_pressure_pa,
    wet_surface_temperature_degc,
)
from thermalkit.scenes.buildups import Layers
from thermalkit.scenes.climate import Climate

HOUR_S = 3600.0
_GAS_CONSTANT_VAPOUR = 461.5  # J/(kg K)
_ICE_POINT_KELVIN = 273.15
_SETTLED_H = 60.0  # before its end a fortnight's weather repeats itself day by day
_FADE_H = 48.0
_RAIN_HUMIDITY = 0.96


@dataclass(frozen=True, slots=True, kw_only=True)
class Rain:
    """One spell of rain: first hour counted from the start of the record, hours, mm in all."""

    first_h: float
    hours: float
    total_mm: float
    wind_m_s: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weather:
    """Outdoors at even steps; arrays of shape (n,). `hours` counts from the start of the record."""

    hours: FloatArray
    temperature_degc: FloatArray
    humidity: FloatArray
    rain_mm: FloatArray
    wind_m_s: FloatArray

    @property
    def vapour_pressure_pa(self) -> FloatArray:
        """Of the outdoor air."""
        return vapour_pressure_pa(self.temperature_degc, self.humidity)

    @property
    def step_h(self) -> float:
        """Hours from one entry to the next."""
        return float(self.hours[1] - self.hours[0])


def weather(
    climate: Climate,
    rng: np.random.Generator,
    *,
    days: float,
    humidity: float,
    drift_k: float = 3.0,
    rains: Sequence[Rain] = (),
    step_h: float = 1.0,
) -> Weather:
    """Weather of the days before a visit, ending at the visit.

    A daily swing about a mean that drifts for days; over the last days it settles to the climate of the
    visit, so that a picture calculated for that climate fits the record.

    Parameters
    ----------
    climate : Climate
        Of the visit.
    rng : numpy.random.Generator
    days : float
        Length of the record.
    humidity : float
        Mean of the outdoor air, a fraction.
    drift_k : float
        How far the mean of a day strays, at most about this.
    rains : sequence of Rain
    step_h : float
        From one entry to the next.
    """
    hours = np.arange(round(24.0 * days / step_h) + 1, dtype=np.float64) * step_h
    to_visit_h = hours[-1] - hours
    fade = np.clip((to_visit_h - _SETTLED_H) / _FADE_H, 0.0, 1.0)
    drift = drift_k * fade * _wander(hours, rng)
    angle = climate.since_warmest - 2.0 * np.pi * to_visit_h / 24.0
    temperature = climate.outdoor_mean_degc + climate.outdoor_swing_k * np.cos(angle) + drift
    vapour = humidity * saturation_pressure_pa(climate.outdoor_mean_degc + drift)
    vapour = vapour * (1.0 + 0.05 * fade * _wander(hours, rng))
    rain_mm, wind = np.zeros_like(hours), 1.5 + 0.7 * _wander(hours, rng)
    falls = np.zeros(hours.shape, dtype=np.bool_)
    for rain in rains:
        during = (hours >= rain.first_h) & (hours < rain.first_h + rain.hours)
        rain_mm[during] += rain.total_mm / np.count_nonzero(during) * rng.uniform(0.5, 1.5, during.sum())
        wind[during] = rain.wind_m_s
        falls |= during
    relative = np.clip(vapour / saturation_pressure_pa(temperature), 0.20, 0.99)
    return Weather(
        hours=hours,
        temperature_degc=temperature,
        humidity=np.where(falls, np.maximum(relative, _RAIN_HUMIDITY), relative),
        rain_mm=rain_mm,
        wind_m_s=np.maximum(wind, 0.2),
    )


def room_humidity(
    outside: Weather,
    indoor_degc: FloatArray,
    release_kg_h: FloatArray,
    *,
    volume_m3: float,
    air_change_per_h: float,
) -> FloatArray:
    """Humidity of a room's air by its moisture balance, as a fraction, shape (n,).

    Each step is solved exactly for what is held over it. The first entry is what would last.
    """
    supply = outside.vapour_pressure_pa + (
        release_kg_h
        / (air_change_per_h * volume_m3)
        * _GAS_CONSTANT_VAPOUR
        * (indoor_degc + _ICE_POINT_KELVIN)
    )
    kept = np.exp(-air_change_per_h * outside.step_h)
    vapour = np.array(supply)
    vapour[0] = supply[:24].mean()
    for i in range(1, vapour.size):
        vapour[i] = kept * vapour[i - 1] + (1.0 - kept) * supply[i]
    return np.minimum(vapour / saturation_pressure_pa(indoor_degc), 0.99)


def surface_degc(
    layers: Layers,
    outside: Weather,
    indoor_degc: FloatArray,
    *,
    film_m2k_w: float,
    outer_film_m2k_w: float = 0.04,
) -> FloatArray:
    """Inner surface of a plain outer wall, hour by hour, shape (n,); it starts in balance with day one."""
    body = _through(layers)
    films = {"inside": film_m2k_w, "outside": outer_film_m2k_w}
    day = round(24.0 / outside.step_h)
    start = steady(body, films).at(
        {"inside": float(indoor_degc[:day].mean()), "outside": float(outside.temperature_degc[:day].mean())}
    )
    courses = {"inside": indoor_degc, "outside": outside.temperature_degc}
    steps = march(start, outside.hours * HOUR_S, courses)
    return np.array([field.surface("inside").temperature_degc[0] for field in steps])


def wetness_after_rain(
    outside: Weather, *, full_mm: float, drying_h: float, lag_h: float = 0.0
) -> FloatArray:
    """How wet a leaky place is, 0 to 1, shape (n,): filled by driving rain, drying by itself."""
    driven = outside.rain_mm * outside.wind_m_s / 5.0
    late = np.interp(outside.hours - lag_h, outside.hours, driven)
    wet = np.zeros_like(late)
    for i in range(1, wet.size):
        filled = wet[i - 1] + (1.0 - wet[i - 1]) * (1.0 - np.exp(-late[i] / full_mm))
        wet[i] = filled * np.exp(-outside.step_h / drying_h)
    return wet


def cooled_by_water_degc(
    dry_degc: FloatArray,
    wetness: FloatArray,
    indoor_degc: FloatArray,
    humidity: FloatArray,
    *,
    film_m2k_w: float,
    conductance_behind_w_m2k: float,
    convective_w_m2k: float = 2.5,
) -> FloatArray:
    """A surface that evaporates in part, between dry and wet; shape (n,).

    What lies behind is as warm as makes the surface `dry_degc` when dry.
    """
    behind = dry_degc - (indoor_degc - dry_degc) / film_m2k_w / conductance_behind_w_m2k
    wet_degc = wet_surface_temperature_degc(
        indoor_degc,
        humidity,
        convective_w_m2k=convective_w_m2k,
        radiative_w_m2k=1.0 / film_m2k_w - convective_w_m2k,
        conductance_behind_w_m2k=conductance_behind_w_m2k,
        temperature_behind_degc=behind,
    )
    return dry_degc + wetness * (wet_degc - dry_degc)


def _wander(hours: FloatArray, rng: np.random.Generator) -> FloatArray:
    """A slow wave of several periods of some days, within -1 and 1."""
    periods_h = np.array([70.0, 130.0, 230.0])
    phases = rng.uniform(0.0, 2.0 * np.pi, periods_h.size)
    waves = np.sin(2.0 * np.pi * hours[:, None] / periods_h + phases)
    return np.asarray(waves.mean(axis=1))


def _through(layers: Layers) -> Body:
    depths_m = np.concatenate([[0.0], np.cumsum([item.thickness_m for item in layers])])
    body = Body(graded_edges_m(depths_m, 0.002, 1.5, coarsest_m=0.02))
    for item, near_m, far_m in zip(layers, depths_m, depths_m[1:], strict=False):
        body.paint([(near_m, far_m)], item.material)
    body.expose(0, "low", "inside")
    body.expose(0, "high", "outside")
    return body
