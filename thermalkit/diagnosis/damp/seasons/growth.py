"""Mould index at a place over its record: a range over materials and draws, never one date.

Nobody knows how readily a painted, papered and soiled wall grows mould, so neighbouring classes of
materials stand beside each other. Counting starts from a clean surface with the first known hour; hours
that are missing neither grow nor dry anything.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.damp.seasons.series import PlaceSeries, evenly, interval
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.memo import kept
from thermalkit.measured import COVERAGE, FloatArray, Measured
from thermalkit.physics.mould import critical_humidity, mould_class, mould_index

# Class, and the share of the decline of wood that it shows in dry times (from memory); from timber to
# plaster, as lies behind paint and paper.
CLASSES = {"pine sapwood 1999": 1.0, "sensitive": 0.5, "medium resistant": 0.25}
FIRST_GROWTH, VISIBLE = 1.0, 3.0
DRAWS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Growth:
    """Index at the end of each known hour, shape (known hours, draws), by class."""

    time: np.ndarray[tuple[int], np.dtype[np.datetime64]]
    index: dict[str, FloatArray]

    def greatest(self) -> Measured:
        """Greatest index within the record, over all classes and draws.

        The interval reaches from the lowest end of any class to the highest of any; the value is that of
        the middle class.
        """
        ends = [interval(index.max(axis=0), "") for index in self.index.values()]
        middle = ends[len(ends) // 2]
        low, high = min(e.low for e in ends), max(e.high for e in ends)
        return Measured(value=middle.value, low=low, high=high, unit="")

    def reached(self, level: float) -> tuple[np.datetime64 | None, np.datetime64 | None]:
        """Earliest and latest hour at which the index reaches a level; None: not within the record."""
        tail = (1.0 - COVERAGE) / 2.0
        hours = [_first_hour(index, level) for index in self.index.values()]
        early = min(float(np.quantile(h, tail, method="lower")) for h in hours)
        late = max(float(np.quantile(h, 1.0 - tail, method="higher")) for h in hours)
        return self._moment(early), self._moment(late)

    def _moment(self, hour: float) -> np.datetime64 | None:
        return self.time[int(hour)] if np.isfinite(hour) else None


def growth_of(case: Case, series: PlaceSeries) -> Growth:
    """The index of every class over the known hours of a place."""
    return kept(case, ("growth", series), lambda: _growth_of(series))


def _growth_of(series: PlaceSeries) -> Growth:
    known = series.known
    columns = evenly(np.arange(series.humidity.shape[1], dtype=np.float64), DRAWS)
    surface, humidity = series.surface_degc[known][:, columns], series.humidity[known][:, columns]
    return Growth(
        time=series.time[known],
        index={name: _index(surface, humidity, name, decline) for name, decline in CLASSES.items()},
    )


def _index(surface: FloatArray, humidity: FloatArray, name: str, decline: float) -> FloatArray:
    """As `mould_index`, but only draws that ever reach growth, and only from that hour on, are stepped."""
    klass = mould_class(name)
    theta = np.clip(surface, 0.0, 50.0)
    grows = (humidity >= critical_humidity(theta, lowest_humidity=klass.lowest_humidity)) & (surface > 0.0)
    index = np.zeros(humidity.shape)
    ever = grows.any(axis=0)
    if ever.any():
        first = int(np.argmax(grows.any(axis=1)))
        index[first:, ever] = mould_index(
            surface[first:, ever], humidity[first:, ever], klass, decline=decline
        )
    return index


def _first_hour(index: FloatArray, level: float) -> FloatArray:
    """First hour at a level by draw, infinite where never, shape (draws,)."""
    above = index >= level
    return np.where(above.any(axis=0), np.argmax(above, axis=0), np.inf)
