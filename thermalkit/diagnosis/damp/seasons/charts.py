"""Charts of what happens over time, as data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from thermalkit.diagnosis.damp.seasons.air import hours_below_outdoor_dew_point
from thermalkit.diagnosis.damp.seasons.climate import HOURS_A_DAY, SHORTEST_H, room_of
from thermalkit.diagnosis.damp.seasons.excess import Excess, excess_of
from thermalkit.diagnosis.damp.seasons.growth import FIRST_GROWTH, VISIBLE, growth_of
from thermalkit.diagnosis.damp.seasons.months import months_of
from thermalkit.diagnosis.damp.seasons.series import PlaceSeries, place_series
from thermalkit.diagnosis.damp.seasons.thinning import band, cells, maxima, means, moments, step_h
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Axis, Chart, Series
from thermalkit.diagnosis.judging import LimitSet
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray
from thermalkit.physics.envelope import moisture_excess_pa
from thermalkit.site.model import RoomKeys

_STEP_NAMES = {1: "hour", 24: "day", 168: "week", 720: "month", 8760: "year"}
_OUTDOOR_DEGC = np.arange(-10.0, 21.0, 5.0)


def season_charts(case: Case, places: Iterable[Place], limits: LimitSet) -> Iterator[Chart]:
    """Charts of every suspect place, then of the rooms they lie in."""
    suspects = [place for place in places if place.mark.role == "suspect"]
    for place in suspects:
        series = place_series(case, place)
        if series is not None and series.logged_h >= SHORTEST_H and series.known.any():
            yield _humidity(case, place, series, limits)
            yield _mould(case, place, series)
            yield from _dew_point(case, place, series)
    rooms = [room for place in suspects if (room := room_of(case, place.mark.frame)) is not None]
    for room in dict.fromkeys(rooms):
        yield from _months(case, room, suspects, limits)
        excess = excess_of(case, room)
        if excess is not None:
            yield _excess(room, excess)


def _humidity(case: Case, place: Place, series: PlaceSeries, limits: LimitSet) -> Chart:
    time, humidity = series.time[_within(series)], 100.0 * series.humidity[_within(series)]
    step = _step_h(series, len(time))
    x = moments(time, step)
    low, middle, high = band(means(humidity, step), 1)
    lines = [Series(name=say(f"damp.season.mean.{_STEP_NAMES[step]}"), x=x, y=middle, low=low, high=high)]
    if step > 1:
        name = say(f"damp.season.highest.{_STEP_NAMES[step]}")
        lines.append(Series(name=name, x=x, y=cells(np.median(maxima(humidity, step), axis=1), 1)))
    limit = 100.0 * limits.surface_humidity
    known = [value for value in middle if value is not None]
    return Chart(
        id=f"season-humidity {place.mark.frame} {place.mark.id}",
        title=say("damp.season.chart.humidity", place=place_label(case, place.mark)),
        summary=say(
            "damp.season.chart.humidity.summary",
            place=place_label(case, place.mark),
            lowest=_percent(min(known)),
            highest=_percent(max(known)),
            step=say(f"damp.season.step.{_STEP_NAMES[step]}"),
        ),
        x=_time_axis(),
        y=Axis(title=say("damp.season.axis.humidity"), unit="%"),
        series=tuple(lines),
        limits=(
            (limit, say("damp.season.line.limit", limit=_percent(limit))),
            (100.0, say("damp.season.line.condensing")),
        ),
        place=place_label(case, place.mark),
    )


def _mould(case: Case, place: Place, series: PlaceSeries) -> Chart:
    growth = growth_of(case, series)
    step = step_h(len(growth.time))
    x = moments(growth.time, step)
    lines = []
    for name, index in growth.index.items():
        low, middle, high = band(maxima(index, step), 2)
        title = say(f"damp.season.material.{name.replace(' ', '-')}")
        lines.append(Series(name=title, x=x, y=middle, low=low, high=high))
    greatest = growth.greatest()
    return Chart(
        id=f"season-mould {place.mark.frame} {place.mark.id}",
        title=say("damp.season.chart.mould", place=place_label(case, place.mark)),
        summary=say(
            "damp.season.chart.mould.summary",
            place=place_label(case, place.mark),
            low=Number(greatest.low, "", 1),
            high=Number(greatest.high, "", 1),
        ),
        x=_time_axis(),
        y=Axis(title=say("term.mould-index")),
        series=tuple(lines),
        limits=(
            (FIRST_GROWTH, say("damp.season.line.first-growth")),
            (VISIBLE, say("damp.season.line.visible")),
        ),
        place=place_label(case, place.mark),
    )


def _dew_point(case: Case, place: Place, series: PlaceSeries) -> Iterator[Chart]:
    """Surface and outdoor dew point, where the two ever cross."""
    hours, dew_point = hours_below_outdoor_dew_point(series), series.outdoor_dew_point_degc
    if hours is None or dew_point is None or not hours.any():
        return
    within = _within(series)
    step = _step_h(series, int(np.count_nonzero(within)))
    x = moments(series.time[within], step)
    lines = []
    for id, values in (("surface", series.surface_degc), ("outdoor-dew-point", dew_point)):
        low, middle, high = band(means(values[within], step), 1)
        lines.append(Series(name=say(f"damp.season.line.{id}"), x=x, y=middle, low=low, high=high))
    label = place_label(case, place.mark)
    yield Chart(
        id=f"season-dew-point {place.mark.frame} {place.mark.id}",
        title=say("damp.season.chart.dew-point", place=label),
        summary=say(
            "damp.season.chart.dew-point.summary",
            place=label,
            hours=Number(float(np.median(hours)), "h", 0),
            step=say(f"damp.season.step.{_STEP_NAMES[step]}"),
        ),
        x=_time_axis(),
        y=Axis(title=say("damp.season.axis.temperature"), unit="°C"),
        series=tuple(lines),
        place=label,
    )


def _months(case: Case, room: RoomKeys, places: list[Place], limits: LimitSet) -> Iterator[Chart]:
    months = months_of(case, room, limits)
    if months is None:
        return
    bars = Series(
        name=say("damp.season.line.required"),
        x=tuple(str(month) for month in range(1, 13)),
        y=cells(np.maximum(months.required, 0.0), 3),
        style="bars",
    )
    reached = tuple(
        (
            round(float(np.median(place.factor)), 3),
            say("damp.season.line.place", place=place_label(case, place.mark)),
        )
        for place in places
        if place.factor is not None and room_of(case, place.mark.frame) == room
    )
    yield Chart(
        id=f"season-months {room.id}",
        title=say("damp.season.chart.months", room=room.label),
        summary=say(
            "damp.season.chart.months.summary",
            room=room.label,
            month=say(f"damp.season.month.{months.critical_month}"),
            factor=Number(months.highest, "", 2),
        ),
        x=Axis(title=say("damp.season.axis.month"), kind="category"),
        y=Axis(title=say("term.temperature-factor")),
        series=(bars,),
        limits=reached,
        place=room.label,
    )


def _excess(room: RoomKeys, excess: Excess) -> Chart:
    step = max(HOURS_A_DAY, step_h(len(excess.hourly_pa)))
    pressure = means(excess.hourly_pa[:, None], step)[:, 0]
    known = np.where(np.isfinite(excess.hourly_pa), excess.record.outdoor_degc, np.nan)
    outdoor = means(known[:, None], step)[:, 0]
    both = np.isfinite(pressure + outdoor)
    points = Series(
        name=say(f"damp.season.mean.{_STEP_NAMES[step]}"),
        x=tuple(round(v, 1) + 0.0 for v in outdoor[both].tolist()),
        y=cells(pressure[both], 0),
        style="points",
    )
    return Chart(
        id=f"season-excess {room.id}",
        title=say("damp.season.chart.excess", room=room.label),
        summary=say(
            "damp.season.chart.excess.summary",
            room=room.label,
            value=Number(float(np.median(excess.mean_pa)), "Pa", 0),
            outdoor=Number(excess.mean_outdoor_degc, "degC", 0),
        ),
        x=Axis(title=say("damp.season.axis.outdoor"), unit="°C"),
        y=Axis(title=say("term.moisture-excess"), unit="Pa"),
        series=(points, *(_class_line(humidity_class) for humidity_class in (1, 2, 3, 4))),
        place=room.label,
    )


def _class_line(humidity_class: int) -> Series:
    ends: FloatArray = moisture_excess_pa(humidity_class, _OUTDOOR_DEGC)
    name = say("damp.season.line.class", humidity_class=humidity_class)
    return Series(name=name, x=tuple(_OUTDOOR_DEGC.tolist()), y=cells(ends, 0))


def _step_h(series: PlaceSeries, hours: int) -> int:
    """Hours a point stands for: at least a day where the factor is used, which knows no quick changes."""
    return step_h(hours) if series.is_direct else max(HOURS_A_DAY, step_h(hours))


def _within(series: PlaceSeries) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """From the first known hour to the last."""
    known = np.flatnonzero(series.known)
    within = np.zeros(series.time.size, dtype=np.bool_)
    within[known[0] : known[-1] + 1] = True
    return within


def _time_axis() -> Axis:
    return Axis(title=say("damp.season.axis.time"), kind="time")


def _percent(value: float) -> Number:
    return Number(value, "%", 0)
