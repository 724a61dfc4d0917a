"""Humidity at a place hour by hour, as draws.

100 draws stand for all: they lie evenly along the surface humidity that each draw gives in the mean
climate of the record. That orders the draws nearly as any hour does, so that medians and ends of
intervals come out as from all draws, at a hundredth of the work.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.damp.seasons.climate import (
    Record,
    Times,
    holds,
    humidity_error,
    logger_of,
    record_of,
    room_of,
    temperature_error_k,
)
from thermalkit.diagnosis.damp.seasons.memory import remembered_degc
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.places import Place
from thermalkit.measured import COVERAGE, FloatArray, Measured
from thermalkit.physics.moist_air import (
    saturation_temperature_degc,
    surface_humidity,
    vapour_pressure_over_water_pa,
)
from thermalkit.site.loggers import LoggerSeries, hourly
from thermalkit.site.model import LoggerKeys

DRAWS = 100


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceSeries:
    """What the surface of a place went through; arrays of shape (hours, draws), NaN where not known.

    Humidity is a fraction, above 1 where water condenses. `outdoor_dew_point_degc` is None without an
    outdoor humidity; `outdoor_degc` (hours,) is the air outdoors. `logged_h` counts the hours that all
    loggers it takes recorded, `missing_h` those in between that do not count. `is_direct` tells that a
    logger lay on the surface.
    """

    time: Times
    surface_degc: FloatArray
    humidity: FloatArray
    outdoor_dew_point_degc: FloatArray | None
    outdoor_degc: FloatArray
    mean_outdoor_degc: float
    logged_h: int
    missing_h: int
    loggers: tuple[LoggerKeys, ...]
    is_direct: bool

    @property
    def has_own_humidity(self) -> bool:
        """Whether the surface's humidity was logged, be it from the room's air or out of the wall."""
        return self.is_direct and len(self.loggers) == 1

    @property
    def known(self) -> NDArray[np.bool_]:
        """Hours that count, shape (hours,)."""
        return np.isfinite(self.humidity[:, 0])


def evenly(order_by: FloatArray, count: int) -> NDArray[np.intp]:
    """Indices of `count` draws that lie evenly along a result, in its order."""
    order = np.argsort(order_by, kind="stable")
    steps = min(count, order.size)
    return order[((np.arange(steps) + 0.5) / steps * order.size).astype(np.intp)]


def interval(draws: FloatArray, unit: str) -> Measured:
    """Median and central 95 % interval of a few evenly laid draws: each is the middle of its share."""
    tail = (1.0 - COVERAGE) / 2.0
    low, value, high = np.quantile(draws, [tail, 0.5, 1.0 - tail], method="hazen")
    return Measured(value=float(value), low=float(low), high=float(high), unit=unit)


def place_series(case: Case, place: Place) -> PlaceSeries | None:
    """Surface humidity of a place over time; None where loggers or temperature factor are missing.

    A logger on the surface counts before the temperature factor.
    """
    factor = None if place.factor_as_found is None else place.factor_as_found.tobytes()
    on_surface = surface_logger(case, place)
    key = ("series", place.mark, None if on_surface is None else on_surface.keys.id, factor)
    return kept(case, key, lambda: _place_series(case, place))


def _place_series(case: Case, place: Place) -> PlaceSeries | None:
    room = room_of(case, place.mark.frame)
    if room is None:
        return None
    record = record_of(case, room)
    on_surface = surface_logger(case, place)
    if on_surface is not None and holds(on_surface, "relative_humidity"):
        return _as_logged(case, on_surface, record)
    if record is None:
        return None
    if on_surface is not None:
        return _with_surface(case, record, on_surface)
    return None if place.factor_as_found is None else _from_factor(case, place, record)


def surface_logger(case: Case, place: Place) -> LoggerSeries | None:
    """The logger on a place: it bears the mark's name, or logger and suspect place are the room's only."""
    room = room_of(case, place.mark.frame)
    if room is None:
        return None
    there = logger_of(case, "surface", room)
    name = place.mark.id.casefold()
    for series in there:
        if name in (series.keys.id.casefold(), (series.keys.position or "").casefold()):
            return series
    if len(there) != 1:
        return None
    suspects = [m for m in case.decided.get("suspect", ()) if room_of(case, m.frame) == room]
    return there[0] if suspects == [place.mark] else None


def _from_factor(case: Case, place: Place, record: Record) -> PlaceSeries | None:
    factor = place.factor_as_found
    if factor is None or not record.hours:
        return None
    shift, warmer = outdoor_error_k(case, record), indoor_error_k(case, record)
    mean, every = record.mean_climate(), np.arange(case.draws.size)
    outdoor = mean.outdoor_degc + shift
    surface = outdoor + factor * (mean.indoor_degc + warmer - outdoor)
    chosen = evenly(surface_humidity(indoor_vapour_pa(case, mean, every)[0], surface), DRAWS)
    past = outdoor_as_felt_degc(case, record, place.mark.frame, chosen) + shift[chosen]
    surface = past + factor[chosen] * (record.indoor_degc[:, None] + warmer[chosen] - past)
    return _series(case, record, surface, chosen, None)


def _with_surface(case: Case, record: Record, on_surface: LoggerSeries) -> PlaceSeries | None:
    """Temperature from the logger on the surface, vapour from the room's."""
    read = on_grid(on_surface, record.time, "temperature_degc")
    known = np.isfinite(read) & record.together
    if not known.any():
        return None
    typical, every = float(np.mean(read[known])), np.arange(case.draws.size)
    error = temperature_error_k(case, on_surface.keys, "contact-accuracy", typical)
    pressure = indoor_vapour_pa(case, record.mean_climate(), every)[0]
    chosen = evenly(surface_humidity(pressure, typical + error), DRAWS)
    return _series(case, record, read[:, None] + error[chosen], chosen, on_surface.keys)


def _as_logged(case: Case, on_surface: LoggerSeries, record: Record | None) -> PlaceSeries:
    """Both temperature and humidity from the logger on the surface."""
    table = hourly(on_surface)
    time = table.index.tz_convert(None).to_numpy()  # type: ignore[attr-defined]
    read = table["temperature_degc"].to_numpy(dtype=np.float64)
    damp = np.clip(table["relative_humidity"].to_numpy(dtype=np.float64), 0.01, 1.0)
    error = humidity_error(case, on_surface.keys)
    warmer = temperature_error_k(case, on_surface.keys, "contact-accuracy", float(np.nanmean(read)))
    chosen = evenly(error, DRAWS)
    surface = np.where(np.isfinite(damp), read, np.nan)[:, None] + warmer[chosen]
    over_water = np.clip(damp[:, None] + error[chosen], 0.01, 1.0)
    humidity = surface_humidity(vapour_pressure_over_water_pa(surface, over_water), surface)
    outdoor = np.full(time.size, np.nan)
    if record is not None:
        _, here, there = np.intersect1d(time, record.time, return_indices=True)
        outdoor[here] = record.outdoor_degc[there]
    known = np.isfinite(humidity[:, 0])
    return PlaceSeries(
        time=time,
        surface_degc=surface,
        humidity=humidity,
        outdoor_dew_point_degc=None if record is None else _moved(case, record, time, chosen),
        outdoor_degc=outdoor,
        mean_outdoor_degc=_mean(outdoor[known]),
        logged_h=int(np.count_nonzero(known)),
        missing_h=int(np.count_nonzero(~known)),
        loggers=(on_surface.keys,),
        is_direct=True,
    )


def _series(
    case: Case,
    record: Record,
    surface: FloatArray,
    chosen: NDArray[np.intp],
    directly: LoggerKeys | None,
) -> PlaceSeries:
    humidity = surface_humidity(indoor_vapour_pa(case, record, chosen), surface)
    known = np.isfinite(humidity[:, 0])
    inside = np.flatnonzero(np.isfinite(record.indoor_degc))
    return PlaceSeries(
        time=record.time,
        surface_degc=surface,
        humidity=humidity,
        outdoor_dew_point_degc=outdoor_dew_point_degc(case, record, chosen),
        mean_outdoor_degc=_mean(record.outdoor_degc[known]),
        outdoor_degc=record.outdoor_degc,
        logged_h=record.hours,
        missing_h=int(inside[-1] - inside[0] + 1 - np.count_nonzero(known)),
        loggers=tuple(keys for keys in (record.room, record.outdoor, directly) if keys),
        is_direct=directly is not None,
    )


def _mean(values: FloatArray) -> float:
    logged = values[np.isfinite(values)]
    return float(np.mean(logged)) if logged.size else float("nan")


def indoor_error_k(case: Case, record: Record) -> FloatArray:
    """Error of the room's thermometer, shape (draws,)."""
    return temperature_error_k(case, record.room, "air-temperature-accuracy", _mean(record.indoor_degc))


def outdoor_error_k(case: Case, record: Record) -> FloatArray:
    """Error outdoors: of the thermometer, or of these weeks against the climate's mean, shape (draws,)."""
    if record.outdoor is not None:
        return temperature_error_k(case, record.outdoor, "outdoor-air-accuracy", _mean(record.outdoor_degc))
    row = case.assumed("off-monthly-mean")
    return case.draws.between("off-monthly-mean climate", row.low, row.high)


def outdoor_as_felt_degc(case: Case, record: Record, frame: str, chosen: NDArray[np.intp]) -> FloatArray:
    """Outdoor temperature as a wall of a frame remembers it, errors left out, shape (hours, draws)."""
    if record.outdoor is None:
        return np.broadcast_to(record.outdoor_degc[:, None], (record.time.size, chosen.size))
    row = case.assumed("wall-lag")
    lag = case.draws.between(f"wall-lag {frame}", row.low, row.high)[chosen]
    return remembered_degc(record.outdoor_degc, lag)


def indoor_vapour_pa(case: Case, record: Record, chosen: NDArray[np.intp]) -> FloatArray:
    """Vapour pressure indoors, shape (hours, draws)."""
    temperature = record.indoor_degc[:, None] + indoor_error_k(case, record)[chosen]
    phi = record.indoor_humidity[:, None] + humidity_error(case, record.room)[chosen]
    return vapour_pressure_over_water_pa(temperature, np.clip(phi, 0.01, 1.0))


def outdoor_vapour_pa(case: Case, record: Record, chosen: NDArray[np.intp]) -> FloatArray | None:
    """Vapour pressure outdoors, shape (hours, draws); None where nobody logged it."""
    if record.outdoor is None or not np.isfinite(record.outdoor_humidity).any():
        return None
    temperature = record.outdoor_degc[:, None] + outdoor_error_k(case, record)[chosen]
    phi = record.outdoor_humidity[:, None] + humidity_error(case, record.outdoor)[chosen]
    return vapour_pressure_over_water_pa(temperature, np.clip(phi, 0.01, 1.0))


def outdoor_dew_point_degc(case: Case, record: Record, chosen: NDArray[np.intp]) -> FloatArray | None:
    """Dew point of the outdoor air, shape (hours, draws); None where nobody logged its humidity."""
    pressure = outdoor_vapour_pa(case, record, chosen)
    return None if pressure is None else saturation_temperature_degc(pressure)


def _moved(case: Case, record: Record, time: Times, chosen: NDArray[np.intp]) -> FloatArray | None:
    """Outdoor dew point at the hours of another grid, NaN where it does not reach."""
    dew_point = outdoor_dew_point_degc(case, record, chosen)
    if dew_point is None:
        return None
    moved = np.full((time.size, chosen.size), np.nan)
    _, here, there = np.intersect1d(time, record.time, return_indices=True)
    moved[here] = dew_point[there]
    return moved


def on_grid(series: LoggerSeries, time: Times, column: str) -> FloatArray:
    """Hourly means of a logger at the hours of another grid, NaN where it has none."""
    table = hourly(series)
    if column not in table:
        return np.full(time.size, np.nan)
    moved = np.full(time.size, np.nan)
    hours = table.index.tz_convert(None).to_numpy()  # type: ignore[attr-defined]
    _, here, there = np.intersect1d(time, hours, return_indices=True)
    moved[here] = table[column].to_numpy(dtype=np.float64)[there]
    return moved
