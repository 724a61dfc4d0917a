"""A map of mould over a frame costs a hundredth of stepping every pixel."""

import time

import numpy as np

from thermalkit.physics.envelope import surface_temperature_from_factor_degc
from thermalkit.physics.moist_air import surface_humidity, vapour_pressure_pa
from thermalkit.physics.mould import mould_class, mould_index, mould_map

PIXELS = 480 * 640
STEPPED = 1000


def invented_year():
    """A heated room in a damp year of 8760 hours: indoors, outdoors and vapour pressure."""
    h = np.arange(8760)
    walk = np.convolve(
        np.random.default_rng(1).normal(0.0, 0.6, h.size + 99), 0.97 ** np.arange(100), "valid"
    )
    day = np.cos(2 * np.pi * h / 24)
    outdoor = 9.5 - 7.5 * np.cos(2 * np.pi * (h - 480) / 8760) - 3.0 * day + walk
    pressure = vapour_pressure_pa(outdoor, 0.82) + 25.0 * np.clip(20.0 - outdoor, 0.0, 20.0) * (
        1.0 + 0.3 * day
    )
    return 20.0 + 0.8 * day, outdoor, pressure


def test_map_is_a_hundred_times_faster_than_its_pixels(benchmark):
    """A thousand pixels stepped in one go, times their share of the frame, against the whole map."""
    indoor, outdoor, pressure = invented_year()
    klass = mould_class("very sensitive")
    frame = np.random.default_rng(2).uniform(0.35, 0.95, (480, 640))
    mapped = benchmark.pedantic(lambda: mould_map(frame, indoor, outdoor, pressure, klass), rounds=1)

    start = time.perf_counter()
    mould_map(frame, indoor, outdoor, pressure, klass)
    seconds_mapped = time.perf_counter() - start

    start = time.perf_counter()
    surface = surface_temperature_from_factor_degc(frame.ravel()[:STEPPED], indoor[:, None], outdoor[:, None])
    index = mould_index(surface, surface_humidity(pressure[:, None], surface), klass)
    seconds_stepped = (time.perf_counter() - start) * PIXELS / STEPPED

    benchmark.extra_info["times_faster"] = seconds_stepped / seconds_mapped
    apart = np.abs(mapped.ravel()[:STEPPED] - index.max(axis=0))
    benchmark.extra_info["largest_difference"] = float(apart.max())
    assert index.max() > 3.0
    assert apart.max() < 0.01
    assert seconds_stepped / seconds_mapped > 100.0
