"""Air change of a room from the way its carbon dioxide thins out when people have left."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.decisions import Case
from thermalkit.measured import FloatArray
from thermalkit.physics.ventilation import air_change_from_decay
from thermalkit.site.loggers import LoggerSeries

OUTDOOR_PPM = 420.0  # common practice: outdoor air in the twenties of this century
_LEAST_START_PPM = 300.0  # above outdoors; less tells little
_LEAST_FALL = 0.5  # share of the excess that has to go
_NOISE_PPM = 20.0
_LEAST_H = 1.5
_FEWEST_DECAYS = 3  # own choice: one night says how the windows stood that night


def measured_air_change(case: Case, room: str | None) -> tuple[float, float] | None:
    """Range of the air changes an hour that a room's decays show; None with fewer than three of them.

    Decays of different days differ by wind and windows more than each is uncertain, so their own spread
    from the lowest to the highest is the range.
    """
    for series in case.site.loggers.values():
        if series.keys.place == "room" and series.keys.room == room and "co2_ppm" in series.table:
            found = decays_per_hour(series)
            if found.size >= _FEWEST_DECAYS:
                return float(found.min()), float(found.max())
    return None


def decays_per_hour(series: LoggerSeries) -> FloatArray:
    """Air change of every long fall of carbon dioxide, shape (decays,).

    A fall counts from 300 ppm above outdoors on where at least half of that goes within 1.5 hours or more
    without a gap.
    """
    table = series.table["co2_ppm"].dropna()
    hours = (table.index - table.index[0]).total_seconds().to_numpy() / 3600.0
    above = table.to_numpy(dtype=np.float64) - OUTDOOR_PPM
    breaks = (np.diff(above) > _NOISE_PPM) | (np.diff(hours) > 3.0 * series.step_s / 3600.0)
    falls = [
        _fall(above, part)
        for part in np.split(np.arange(above.size), np.flatnonzero(breaks) + 1)
        if part.size and above[part].max() >= _LEAST_START_PPM
    ]
    found = [
        air_change_from_decay(hours[part], above[part] + OUTDOOR_PPM, OUTDOOR_PPM).per_hour
        for part in falls
        if hours[part[-1]] - hours[part[0]] >= _LEAST_H
        and above[part[-1]] <= (1.0 - _LEAST_FALL) * above[part[0]]
    ]
    return np.array([value for value in found if np.isfinite(value) and value > 0.0])


def _fall(above: FloatArray, part: NDArray[np.intp]) -> NDArray[np.intp]:
    """From the last reading near the highest, as people sitting on keep it level, down to a tenth of it."""
    highest = above[part].max()
    thinning = part[np.flatnonzero(above[part] >= 0.9 * highest)[-1] :]
    faint = np.flatnonzero(above[thinning] < 0.1 * highest)
    return thinning[: faint[0]] if faint.size else thinning
