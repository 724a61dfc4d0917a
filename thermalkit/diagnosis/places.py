"""How moist is the air at a marked place: now, and at the conditions a limit is stated for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.conditions import LEAST_DIFFERENCE_K, has_late_sun, is_covered_late
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.judging import LimitSet
from thermalkit.diagnosis.surface import View, naming, spot_degc, statistics_of, view
from thermalkit.diagnosis.surroundings import RoomAir, indoor_degc, outdoor_degc, room_air
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray
from thermalkit.physics.envelope import (
    surface_temperature_from_factor_degc,
    temperature_factor,
    temperature_factor_at_film,
)
from thermalkit.physics.moist_air import surface_humidity, vapour_pressure_pa


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A mark with what was measured there; draws of shape (draws,), None where it cannot be given.

    `factor_as_found` holds for the film that was there, `factor` for the limit's. Humidities are in
    percent, for the report.
    """

    mark: Mark
    surface_degc: FloatArray
    factor_as_found: FloatArray | None
    factor: FloatArray | None
    humidity_percent: FloatArray | None
    humidity_at_conditions_percent: FloatArray | None


def place(case: Case, mark: Mark, limits: LimitSet) -> Place:
    """Everything that can be said of a marked place.

    A suspect place is read at its coldest measurable spot, any other as the mean of its pixels.
    """
    with naming(case, mark.frame, mark.id):
        seen = view(case, mark.frame)
        air = room_air(case, seen.frame.room)
        surface = surface_draws_degc(case, seen, mark)
        as_found = factor_as_found_draws(case, seen, mark, surface, air)
        factor = None if as_found is None else factor_draws(case, seen, mark, as_found, limits)
        return Place(
            mark=mark,
            surface_degc=surface,
            factor_as_found=as_found,
            factor=factor,
            humidity_percent=_humidity_now(surface, air),
            humidity_at_conditions_percent=None
            if factor is None
            else _humidity_at_conditions(factor, limits),
        )


def surface_draws_degc(case: Case, seen: View, mark: Mark) -> FloatArray:
    """Surface temperature that a mark stands for, shape (draws,)."""
    statistics = statistics_of(case, mark)
    coldest = statistics.coldest if mark.role == "suspect" else None
    apparent = statistics.mean_degc if coldest is None else coldest.temperature_degc
    return spot_degc(case, seen, apparent, mark.id)


def factor_as_found_draws(
    case: Case, seen: View, mark: Mark, surface: FloatArray, air: RoomAir | None
) -> FloatArray | None:
    """Temperature factor with the film that was there, shape (draws,).

    None where the difference between indoors and outdoors is too small or was not read.
    """
    outdoor = outdoor_degc(case, seen.frame)
    if air is None or outdoor is None:
        return None
    indoor = indoor_degc(case, air)
    if abs(float(np.median(indoor - outdoor))) < LEAST_DIFFERENCE_K:
        return None
    if has_late_sun(case):
        row = case.assumed("sun-on-surface")
        surface = surface - case.draws.between(f"sun-on-surface {mark.frame}", row.low, row.high)
    return np.clip(temperature_factor(surface, indoor, outdoor), 0.0, 1.0)


def factor_draws(case: Case, seen: View, mark: Mark, as_found: FloatArray, limits: LimitSet) -> FloatArray:
    """Temperature factor at the limit's surface resistance, shape (draws,).

    The film really present lies between that of a free wall and of a sheltered corner, and is carried
    to the limit's (exact for one-dimensional heat flow).
    """
    row = case.assumed("film-covered" if is_covered_late(seen.frame) else "film")
    film = case.draws.between(f"film {mark.frame} {mark.id}", row.low, row.high)
    return temperature_factor_at_film(as_found, film, limits.film_m2k_w)


def _humidity_now(surface: FloatArray, air: RoomAir | None) -> FloatArray | None:
    if air is None or air.vapour_pressure_pa is None:
        return None
    return 100.0 * surface_humidity(air.vapour_pressure_pa, surface)


def _humidity_at_conditions(factor: FloatArray, limits: LimitSet) -> FloatArray:
    surface = surface_temperature_from_factor_degc(factor, limits.indoor_degc, limits.outdoor_degc)
    pressure = vapour_pressure_pa(limits.indoor_degc, limits.indoor_humidity)
    return 100.0 * surface_humidity(pressure, surface)
