"""Hours of a forecast in which a question can be answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from thermalkit.diagnosis.needs import WeatherNeed
from thermalkit.site.loggers import LoggerSeries, hourly, read_logger
from thermalkit.site.model import LoggerKeys
from thermalkit.site.zones import zone_of

if TYPE_CHECKING:
    import pandas as pd

DAY_H = 24
DRY_MM = 0.1  # own choice: less does not wet a wall
SUNNY_W_M2 = (
    120.0  # threshold of sunshine duration, there for the direct beam; used here for what a sensor sees
)
CLOUDY_PERCENT = 75.0  # own choice: six eighths
DAYLIGHT = range(7, 20)  # own choice, where only cloud cover is known


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day of a forecast: usable spans as (first hour, hour after the last), and what is against the rest.

    `against` counts hours by reason: difference, steady, wind, rain, sun, or unknown for hours whose
    day before the forecast does not hold.
    """

    day: date
    spans: tuple[tuple[int, int], ...]
    against: Mapping[str, int]


def read_forecast(path: Path, clock: str = "UTC") -> LoggerSeries:
    """A forecast: time, temperature, and where there are wind, rain, cloud cover or radiation.

    Raises
    ------
    ReadingError
        It is no such table; every problem by row.
    """
    return read_logger(path, LoggerKeys(id="forecast", file=path.name, place="outdoor", clock=clock))


def usable_days(
    series: LoggerSeries, need: WeatherNeed, indoor_degc: float, clock: str = "UTC"
) -> tuple[Day, ...]:
    """What each day of a forecast allows.

    Parameters
    ----------
    series : LoggerSeries
        Three-hourly or denser; hours in between are filled in along a straight line.
    need : WeatherNeed
        What the question needs.
    indoor_degc : float
        Air temperature indoors.
    clock : str
        Zone in which days and hours are told.
    """
    table = _each_hour(series).tz_convert(zone_of(clock))
    against = _against(table, need, indoor_degc)
    days = []
    for _, hours in against.groupby(against.index.date):  # type: ignore[attr-defined]
        free = [int(moment.hour) for moment, row in hours.iterrows() if not row.any()]  # type: ignore[attr-defined]
        counts = {str(name): int(count) for name, count in hours.sum().items() if count}
        days.append(Day(day=hours.index[0].date(), spans=_spans(free), against=counts))
    return tuple(days)


def _each_hour(series: LoggerSeries) -> pd.DataFrame:
    table = hourly(series)
    filled = table.interpolate(limit=5, limit_area="inside")
    if "rain_mm" in table:
        filled["rain_mm"] = table["rain_mm"].fillna(0.0)
    return filled


def _against(table: pd.DataFrame, need: WeatherNeed, indoor_degc: float) -> pd.DataFrame:
    """For each hour whether a reason speaks against it; what is not in the forecast speaks for nothing."""
    import pandas as pd

    outdoor = table["temperature_degc"]
    before = outdoor.rolling(DAY_H, min_periods=DAY_H)
    reasons = {
        "unknown": before.mean().isna(),
        "difference": (indoor_degc - outdoor < need.difference_k)
        | (indoor_degc - before.mean() < need.difference_k),
        "steady": (before.max() - outdoor > need.steady_k) | (outdoor - before.min() > need.steady_k),
    }
    if "wind_speed_m_s" in table:
        reasons["wind"] = table["wind_speed_m_s"] > need.wind_m_s
    if "rain_mm" in table:
        reasons["rain"] = table["rain_mm"].rolling(int(need.dry_h), min_periods=1).sum() > DRY_MM
    sunny = _sunny(table)
    if sunny is not None:
        reasons["sun"] = sunny.astype(float).rolling(int(need.no_sun_h), min_periods=1).max() > 0
    return pd.DataFrame(reasons)


def _sunny(table: pd.DataFrame) -> pd.Series[bool] | None:
    """Hours in which the sun may reach a wall; None where the forecast does not tell."""
    if "radiation_w_m2" in table:
        sunny: pd.Series[bool] = table["radiation_w_m2"] > SUNNY_W_M2
        return sunny
    if "cloud_cover_percent" in table:
        by_day = table.index.hour.isin(DAYLIGHT)  # type: ignore[attr-defined]
        open_sky: pd.Series[bool] = (table["cloud_cover_percent"] < CLOUDY_PERCENT) & by_day
        return open_sky
    return None


def _spans(hours: list[int]) -> tuple[tuple[int, int], ...]:
    """Hours that follow each other, as spans.

    Examples
    --------
    >>> _spans([5, 6, 7, 22, 23])
    ((5, 8), (22, 24))
    """
    spans: list[tuple[int, int]] = []
    for hour in hours:
        if spans and spans[-1][1] == hour:
            spans[-1] = (spans[-1][0], hour + 1)
        else:
            spans.append((hour, hour + 1))
    return tuple(spans)
