"""One logger's series, and what may be asked of it: hourly means, how long, how far off another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.errors import OutOfDomain
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray
from thermalkit.site.model import LoggerKeys

if TYPE_CHECKING:
    import pandas as pd

SHORTEST_DAYS = 14.0  # common practice: two weeks hold two weekends and a change of weather
GAP_STEPS = 3.0
_FEWEST_PAIRS = 5
_SUMMED = "rain_mm"
_CIRCULAR = "wind_from_deg"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """From the last row before a gap to the first one after it."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoggerSeries:
    """A time series, checked.

    `table` is indexed by UTC time in order, without repeats, with the columns `temperature_degc` and
    `relative_humidity` (a fraction), and where recorded `co2_ppm`, `rain_mm`, `wind_speed_m_s`,
    `wind_from_deg`, `cloud_cover_percent`, `radiation_w_m2` and `heat_flux_w_m2`; NaN where nothing was read.
    `step_s` is the median time from row to row, NaN for a single row. Offsets of the site file are applied.
    `assumed` says what was taken for granted. `parts` are the keys of the files it was joined from, where
    several.
    """

    keys: LoggerKeys
    table: pd.DataFrame
    step_s: float
    gaps: tuple[Gap, ...]
    assumed: tuple[Sentence, ...]
    parts: tuple[LoggerKeys, ...] = ()

    @property
    def files(self) -> tuple[str, ...]:
        """Path of every file it was read from."""
        return tuple(keys.file for keys in self.parts or (self.keys,))

    @property
    def span(self) -> tuple[datetime, datetime]:
        """First and last moment, in UTC."""
        index = self.table.index
        return index[0].to_pydatetime(), index[-1].to_pydatetime()


def gaps_in(index: pd.DatetimeIndex) -> tuple[float, tuple[Gap, ...]]:
    """Median step in seconds, and where the next row lies more than three steps away."""
    if len(index) < 2:
        return float("nan"), ()
    steps = _steps_s(index)
    step = float(np.median(steps))
    wide = np.flatnonzero(steps > GAP_STEPS * step)
    return step, tuple(
        Gap(start=index[int(i)].to_pydatetime(), end=index[int(i) + 1].to_pydatetime()) for i in wide
    )


def _steps_s(index: pd.DatetimeIndex) -> FloatArray:
    return np.diff(index.tz_convert(None).to_numpy()) / np.timedelta64(1, "s")


def hourly(series: LoggerSeries) -> pd.DataFrame:
    """Means of the hours that hold at least half of the rows expected; NaN for all others.

    Returns
    -------
    DataFrame, one row for each hour from the first to the last, labelled by its start in UTC
        Rain is the sum of an hour, wind direction the mean of directions.

    Notes
    -----
    A row every 10 minutes makes six an hour; an hour with two of them is left out.
    """
    import pandas as pd

    table = series.table
    step = series.step_s if np.isfinite(series.step_s) else 3600.0
    expected = max(1.0, 3600.0 / step)
    hours = table.resample("1h")
    enough = hours.count() >= expected / 2.0
    means = hours.mean()
    if _SUMMED in table:
        means[_SUMMED] = table[_SUMMED].resample("1h").sum(min_count=1)
    if _CIRCULAR in table:
        angle = np.radians(table[_CIRCULAR])
        parts = pd.DataFrame({"east": np.sin(angle), "north": np.cos(angle)}).resample("1h").mean()
        means[_CIRCULAR] = np.degrees(np.arctan2(parts["east"], parts["north"])) % 360.0
    return means.where(enough)


def days_covered(series: LoggerSeries) -> float:
    """Days that rows stand for, gaps not counted; NaN steps of a single row count as none."""
    if len(series.table) < 2:
        return 0.0
    steps = _steps_s(series.table.index)  # type: ignore[arg-type]
    return float((steps[steps <= GAP_STEPS * series.step_s].sum() + series.step_s) / 86_400.0)


def is_long_enough(series: LoggerSeries, days: float = SHORTEST_DAYS) -> bool:
    """Whether a season may be judged from it; fewer days show the weather of these days."""
    return days_covered(series) >= days


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide:
    """How far one logger was off another while they lay side by side, with standard uncertainties.

    Add the offsets to the first logger to make it agree with the second. NaN where one of them did
    not record the quantity.
    """

    offset_k: float
    standard_uncertainty_k: float
    offset_percent_rh: float
    standard_uncertainty_percent_rh: float
    pairs: int


def side_by_side_offset(a: LoggerSeries, b: LoggerSeries, start: datetime, end: datetime) -> SideBySide:
    """Mean of b - a over the time they lay side by side, on top of offsets already applied.

    Rows are paired where they lie at most half a step apart. Successive rows of a slow sensor say
    much the same, so the count of pairs is reduced by their correlation; what the display rounds
    away is added.

    Parameters
    ----------
    a, b : LoggerSeries
        The logger to be corrected, and the better one.
    start, end : datetime
        With offset from UTC; leave out the time in which the sensors still settle.

    Raises
    ------
    OutOfDomain
        No such time, or fewer than 5 pairs of rows in it.

    Source
    ------
    JCGM 100:2008, 4.2.3 (mean), F.2.2.1 (resolution). Fewer independent values in a correlated
    series: first-order autoregression, n (1 - r) / (1 + r), common practice.
    """
    import pandas as pd

    if start.tzinfo is None or end.tzinfo is None or end <= start:
        raise OutOfDomain(say("logger.no-span", start=str(start), end=str(end)))
    within = [s.table.loc[pd.Timestamp(start) : pd.Timestamp(end)] for s in (a, b)]
    half = np.nanmax([a.step_s, b.step_s]) / 2.0 if len(within[0]) and len(within[1]) else 0.0
    pairs = pd.merge_asof(
        within[0],
        within[1],
        left_index=True,
        right_index=True,
        direction="nearest",
        tolerance=timedelta(seconds=float(half)),
        suffixes=("_a", "_b"),
    )
    pairs = pairs.dropna(subset=["temperature_degc_a", "temperature_degc_b"])
    if len(pairs) < _FEWEST_PAIRS:
        raise OutOfDomain(
            say("logger.few-pairs", count=len(pairs), start=str(start), end=str(end), least=_FEWEST_PAIRS)
        )
    offset_k, u_k = _mean_difference(pairs, a, b, "temperature_degc")
    offset_rh, u_rh = _mean_difference(pairs, a, b, "relative_humidity")
    return SideBySide(
        offset_k=offset_k,
        standard_uncertainty_k=u_k,
        offset_percent_rh=100.0 * offset_rh,
        standard_uncertainty_percent_rh=100.0 * u_rh,
        pairs=len(pairs),
    )


def _mean_difference(
    pairs: pd.DataFrame, a: LoggerSeries, b: LoggerSeries, quantity: str
) -> tuple[float, float]:
    """Mean of b - a and its standard uncertainty."""
    both = pairs[[f"{quantity}_a", f"{quantity}_b"]].dropna().to_numpy(dtype=np.float64)
    if len(both) < _FEWEST_PAIRS:
        return float("nan"), float("nan")
    difference = both[:, 1] - both[:, 0]
    independent = _independent(difference)
    resolution = sum(_resolution(s.table[quantity].to_numpy(dtype=np.float64)) ** 2 for s in (a, b)) / 12.0
    variance = float(np.var(difference, ddof=1)) / independent + resolution
    return float(np.mean(difference)), float(np.sqrt(variance))


def _independent(values: FloatArray) -> float:
    """Number of independent values that a correlated run of values is worth, 1 to n."""
    centred = values - np.mean(values)
    power = float(np.sum(centred**2))
    if power < 1e-18:
        return float(len(values))
    r = float(np.sum(centred[1:] * centred[:-1])) / power
    return float(np.clip(len(values) * (1.0 - r) / (1.0 + r), 1.0, len(values)))


def _resolution(values: FloatArray) -> float:
    """Smallest step between readings of a whole series; 0 where they never changed."""
    steps = np.diff(np.unique(np.round(values[np.isfinite(values)], 9)))
    return float(steps.min()) if len(steps) else 0.0
