"""Indoors and outdoors side by side, hour by hour, and the errors of what logged them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.damp.seasons.memory import MEMORY_H
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.surroundings import half_width, humidity_half_width
from thermalkit.measured import FloatArray
from thermalkit.site.loggers import LoggerSeries, hourly, joined
from thermalkit.site.model import ClimateKeys, LoggerKeys, RoomKeys

if TYPE_CHECKING:
    import pandas as pd

HOURS_A_DAY = 24
SHORTEST_H = 14 * HOURS_A_DAY
_DRIEST, _DAMPEST = 0.01, 1.0

Times = NDArray[np.datetime64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """Air of one room and outdoors on one grid of hours; arrays of shape (hours,), NaN where not logged.

    `time` is the start of each hour in UTC. Humidities are fractions over water. The grid begins some
    days before the room's first hour, for what the wall remembers. `outdoor` is None where monthly means
    of the climate stand for the outdoor air.
    """

    time: Times
    indoor_degc: FloatArray
    indoor_humidity: FloatArray
    outdoor_degc: FloatArray
    outdoor_humidity: FloatArray
    room: LoggerKeys
    outdoor: LoggerKeys | None

    @property
    def together(self) -> NDArray[np.bool_]:
        """Hours with room air and outdoor temperature, shape (hours,)."""
        return np.isfinite(self.indoor_degc + self.indoor_humidity + self.outdoor_degc)

    @property
    def hours(self) -> int:
        """How many hours were logged indoors and outdoors."""
        return int(np.count_nonzero(self.together))

    @property
    def missing_h(self) -> int:
        """Hours within the room's record that one of the two did not log."""
        indoors = np.flatnonzero(np.isfinite(self.indoor_degc))
        return int(indoors[-1] - indoors[0] + 1 - self.hours) if self.hours else 0

    @property
    def is_long_enough(self) -> bool:
        """Whether it may stand for a season: fourteen days of both."""
        return self.hours >= SHORTEST_H

    def mean_climate(self) -> Record:
        """The means of all hours with both, as a record of one hour."""
        known = self.together
        return replace(
            self,
            time=self.time[known][:1],
            indoor_degc=_mean_of(self.indoor_degc[known]),
            indoor_humidity=_mean_of(self.indoor_humidity[known]),
            outdoor_degc=_mean_of(self.outdoor_degc[known]),
            outdoor_humidity=_mean_of(self.outdoor_humidity[known]),
        )


def _mean_of(values: FloatArray) -> FloatArray:
    logged = values[np.isfinite(values)]
    return np.array([np.mean(logged) if logged.size else np.nan])


def room_of(case: Case, frame: str) -> RoomKeys | None:
    """The room of a frame."""
    return case.site.frames[frame].room


def loggers_of(case: Case) -> tuple[LoggerSeries, ...]:
    """Every logger of the site; files of one that was read out more than once as one."""
    return kept(case, "loggers", lambda: joined(case.site.loggers.values()))


def files_of(case: Case, keys: LoggerKeys) -> tuple[str, ...]:
    """Path of every file that a logger was read from."""
    return next((item.files for item in loggers_of(case) if item.keys.id == keys.id), (keys.file,))


def logger_of(case: Case, place: str, room: RoomKeys | None = None) -> list[LoggerSeries]:
    """Loggers of a kind of place, the longest first; of one room only where it is given.

    A logger without a room belongs to the only room there is.
    """
    only = len(case.site.keys.rooms) == 1
    found = [
        series
        for series in loggers_of(case)
        if series.keys.place == place
        and holds(series, "temperature_degc")
        and (room is None or series.keys.room == room.id or (series.keys.room is None and only))
    ]
    return sorted(found, key=lambda series: -len(hourly(series)))


def holds(series: LoggerSeries, column: str) -> bool:
    """Whether a logger wrote any value of a quantity; columns without one may still be there."""
    return column in series.table and bool(series.table[column].notna().any())


def record_of(case: Case, room: RoomKeys) -> Record | None:
    """The room's record; None without a logger of temperature and humidity or without any outdoors."""
    rooms = [s for s in logger_of(case, "room", room) if holds(s, "relative_humidity")]
    outdoors = logger_of(case, "outdoor")
    climate = case.site.keys.climate
    if not rooms or not (outdoors or has_monthly_temperature(climate)):
        return None
    indoor = hourly(rooms[0])
    grid = _grid(indoor)
    tables = [hourly(series).reindex(grid) for series in outdoors]
    logged = [int(table["temperature_degc"].notna().sum()) for table in tables]
    best = int(np.argmax(logged)) if outdoors else None
    outdoor = _monthly(climate, grid) if best is None else tables[best]
    inside = indoor.reindex(grid)
    return Record(
        time=grid.tz_convert(None).to_numpy(),
        indoor_degc=_column(inside, "temperature_degc"),
        indoor_humidity=np.clip(_column(inside, "relative_humidity"), _DRIEST, _DAMPEST),
        outdoor_degc=_column(outdoor, "temperature_degc"),
        outdoor_humidity=np.clip(_column(outdoor, "relative_humidity"), _DRIEST, _DAMPEST),
        room=rooms[0].keys,
        outdoor=None if best is None else outdoors[best].keys,
    )


def has_monthly_temperature(climate: ClimateKeys | None) -> bool:
    """Whether the site file gives outdoor temperatures month by month."""
    return climate is not None and climate.monthly_air_temperature_degc is not None


def _grid(indoor: pd.DataFrame) -> pd.DatetimeIndex:
    import pandas as pd

    first = indoor.index[0] - pd.Timedelta(hours=MEMORY_H)
    return pd.date_range(first, indoor.index[-1], freq="1h")


def _monthly(climate: ClimateKeys | None, grid: pd.DatetimeIndex) -> pd.DataFrame:
    """Monthly means as if they were logged."""
    import pandas as pd

    month = np.asarray(grid.month) - 1
    columns: dict[str, FloatArray] = {}
    if climate is not None and climate.monthly_air_temperature_degc is not None:
        columns["temperature_degc"] = np.array(climate.monthly_air_temperature_degc)[month]
    if climate is not None and climate.monthly_relative_humidity_percent is not None:
        columns["relative_humidity"] = np.array(climate.monthly_relative_humidity_percent)[month] / 100.0
    return pd.DataFrame(columns, index=grid)


def _column(table: pd.DataFrame, name: str) -> FloatArray:
    return table[name].to_numpy(dtype=np.float64) if name in table else np.full(len(table), np.nan)


def temperature_error_k(case: Case, keys: LoggerKeys, assumed: str, typical_degc: float) -> FloatArray:
    """Error of a logger's temperature, the same in every hour, shape (draws,).

    Loggers have errors of their own, also where one entry of the site file describes several.
    """
    instrument = case.site.keys.instruments[keys.instrument] if keys.instrument else None
    return case.draws.rectangular(
        f"{assumed} logger {keys.id}", half_width(case, instrument, assumed, typical_degc)
    )


def humidity_error(case: Case, keys: LoggerKeys) -> FloatArray:
    """Error of a logger's humidity as a fraction, the same in every hour, shape (draws,)."""
    instrument = case.site.keys.instruments[keys.instrument] if keys.instrument else None
    width = humidity_half_width(case, instrument)
    return case.draws.rectangular(f"relative-humidity-accuracy logger {keys.id}", width) / 100.0
