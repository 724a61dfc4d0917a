"""Intervals hold the truth as often as they say, and are no wider than their inputs ask for.

The scenes know more than the estimator: two-dimensional conduction, films that change along the
surface, a periodic day, vignetting, drift, dead pixels, things in the way. Every second one comes
with a contact reading on its sound place. THERMALKIT_SCENES=1000 asks for more of them.
"""

from __future__ import annotations

import os
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import quantity
from thermalkit.diagnosis.judging import limit_sets, verdict
from thermalkit.diagnosis.places import place
from thermalkit.measured import measured
from thermalkit.scenes import Options, random_scene, seen, truth_at, write_site
from thermalkit.site.folder import read_site

SCENES = int(os.environ.get("THERMALKIT_SCENES", "200"))
LIMITS = limit_sets()["DE-dwelling"]

pytestmark = pytest.mark.slow


@dataclass(frozen=True)
class Result:
    """What one scene gave: value, low, high and truth of both quantities."""

    has_reference: bool
    factor: tuple[float, float, float, float]
    humidity: tuple[float, float, float, float]
    factor_verdict: str
    plain_factor_width: float
    plain_humidity_width: float


def examined(seed: int) -> Result:
    """One fresh scene, written as a site folder, read back, and judged at its suspect mark."""
    rng = np.random.default_rng([2026, seed])
    picture = seen(random_scene(rng), rng, Options(contact=seed % 2 == 0))
    with tempfile.TemporaryDirectory() as folder:
        write_site(Path(folder) / "site", [picture])
        site = read_site(Path(folder) / "site")
    found = place(Case(site=site), picture.suspect, LIMITS)
    truth = truth_at(picture, picture.suspect)
    factor, humidity = measured(found.factor, ""), measured(found.humidity_percent, "%")
    widths = plain_widths(site, picture, rng)
    return Result(
        has_reference=seed % 2 == 0,
        factor=(factor.value, factor.low, factor.high, truth.factor),
        humidity=(humidity.value, humidity.low, humidity.high, 100.0 * truth.humidity),
        factor_verdict=verdict(quantity("temperature-factor", factor), LIMITS.factor_limit),
        plain_factor_width=widths[0],
        plain_humidity_width=widths[1],
    )


def plain_widths(site, picture, rng) -> tuple[float, float]:
    """Widths by a Monte Carlo of the stated inputs written on its own.

    Plain random draws about the true values, T to the fourth power instead of the band, the saturation
    pressure of Magnus as ISO 13788 prints it.
    """
    n = 4000

    def rectangular(width):
        return rng.uniform(-width, width, n)

    truth = truth_at(picture, picture.suspect)
    frame = site.frames[picture.frame]
    emissivity = 0.93 + rectangular(0.02)
    reflected = frame.keys.reflected_temperature_degc + rectangular(1.0)
    accuracy = 0.5 if picture.written.contact_degc is not None else max(2.0, 0.02 * abs(truth.surface_degc))
    seen_k4 = (truth.surface_degc + 273.15) ** 4 * 0.93 + 0.07 * (np.mean(reflected) + 273.15) ** 4
    surface = ((seen_k4 - (1.0 - emissivity) * (reflected + 273.15) ** 4) / emissivity) ** 0.25 - 273.15
    if picture.written.contact_degc is not None:
        surface = truth.surface_degc + (surface - surface.mean()) * 0.2
    surface = (
        surface
        + rectangular(accuracy)
        + rectangular(0.2)
        + rng.normal(0.0, picture.scene.camera.noise_k / 3.0, n)
    )
    weather, room = site.keys.weather, frame.room
    lag, warmest = rng.uniform(0.1, 2.5, n), rng.uniform(13.5, 16.5, n)
    swing = rng.uniform(*{"overcast": (0.5, 3.0), "broken": (1.5, 5.0), "clear": (3.0, 8.0)}[weather.sky], n)
    taken = frame.keys.taken_at
    phase = 2.0 * np.pi * (taken.hour + taken.minute / 60.0 - warmest) / 24.0
    outdoor = (
        weather.mean_24h_air_temperature_degc + rectangular(0.5) + swing * np.exp(-lag) * np.cos(phase - lag)
    )
    indoor = room.air_temperature_degc + rectangular(0.5)
    factor = np.clip((surface - outdoor) / (indoor - outdoor), 0.0, 1.0)
    carried = factor / (factor + (1.0 - factor) * 0.25 / rng.uniform(0.13, 0.25, n))
    moist = np.clip(room.relative_humidity_percent + rectangular(3.0), 1.0, 100.0)
    humidity = moist * magnus_pa(indoor) / magnus_pa(surface)
    return tuple(float(np.subtract(*np.quantile(x, [0.975, 0.025]))) for x in (carried, humidity))


def magnus_pa(temperature_degc):
    """ISO 13788 Annex E over water, written out again."""
    return 610.5 * np.exp(17.269 * temperature_degc / (237.3 + temperature_degc))


@cache
def results() -> tuple[Result, ...]:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        return tuple(pool.map(examined, range(SCENES), chunksize=25))


@pytest.mark.parametrize("name", ["factor", "humidity"])
def test_the_95_percent_intervals_hold_the_truth(name):
    """92.5 to 98.5 % of fresh scenes."""
    rows = np.array([getattr(result, name) for result in results()])
    held = np.mean((rows[:, 1] <= rows[:, 3]) & (rows[:, 3] <= rows[:, 2]))
    assert 0.925 <= held <= 0.985


@pytest.mark.parametrize("name", ["factor", "humidity"])
def test_intervals_are_not_padded(name):
    """Median width at most 1.3 times that of the stated inputs alone."""
    rows = np.array([getattr(result, name) for result in results()])
    plain = np.array([getattr(result, f"plain_{name}_width") for result in results()])
    assert np.median(rows[:, 2] - rows[:, 1]) <= 1.3 * np.median(plain)


def test_a_reference_decides_what_lies_clear_of_the_limit():
    """At least 80 % of places 0.10 or more from the limit are decided, at most 2 % wrongly."""
    clear = [r for r in results() if r.has_reference and abs(r.factor[3] - LIMITS.factor) >= 0.10]
    decided = [r for r in clear if r.factor_verdict != "inconclusive"]
    wrong = [r for r in decided if (r.factor_verdict == "indicated") != (r.factor[3] < LIMITS.factor)]
    assert len(clear) >= SCENES / 4
    assert len(decided) >= 0.80 * len(clear)
    assert len(wrong) <= 0.02 * len(clear)
