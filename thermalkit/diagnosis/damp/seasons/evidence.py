"""What the record of a place answers of the questions that tell sources of water apart."""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.damp.causes.evidence import HIGH_HUMIDITY, LONG_ENOUGH_H, LOW_HUMIDITY
from thermalkit.diagnosis.damp.seasons.air import (
    LONG_WET_H,
    SUMMER_FROM_DEGC,
    has_seen_summer,
    hours_below_outdoor_dew_point,
)
from thermalkit.diagnosis.damp.seasons.climate import SHORTEST_H, room_of
from thermalkit.diagnosis.damp.seasons.excess import balance_of, excess_of
from thermalkit.diagnosis.damp.seasons.series import PlaceSeries, interval, place_series
from thermalkit.diagnosis.damp.seasons.spells import hours_at_least
from thermalkit.diagnosis.damp.seasons.timing import timing_answers, timings_of
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.places import Place

HEATING_BELOW_DEGC = 12.0  # own choice: outdoors cool enough for a cold surface to show


def season_evidence(case: Case, place: Place) -> dict[str, str]:
    """Outcomes by question, as in the table of sources; questions that stay open are left out."""
    answers = timing_answers(timings_of(case, place))
    series, room = place_series(case, place), room_of(case, place.mark.frame)
    if series is not None and series.logged_h >= SHORTEST_H and series.known.any():
        answers |= _surface_humidity(series, case.site.is_cooled(room))
        answers |= _outdoor_dew_point(series)
    excess = excess_of(case, room) if room is not None else None
    balance = balance_of(case, excess) if excess is not None else None
    if balance is not None and balance.outcome is not None:
        answers["moisture-balance"] = balance.outcome
    return answers


def _surface_humidity(series: PlaceSeries, is_cooled: bool) -> dict[str, str]:
    """Only what holds at both ends of the interval; low humidity counts only in season."""
    highest = interval(np.nanmax(series.humidity, axis=0), "")
    damp = interval(hours_at_least(series.humidity, HIGH_HUMIDITY), "h")
    if damp.low >= LONG_ENOUGH_H:
        return {"logger-humidity": "above-80"}
    outdoor = series.mean_outdoor_degc
    is_in_season = outdoor >= SUMMER_FROM_DEGC if is_cooled else outdoor < HEATING_BELOW_DEGC
    if not is_in_season:
        return {}
    if highest.high <= LOW_HUMIDITY:
        return {"logger-humidity": "never-above-70"}
    is_between = highest.low > LOW_HUMIDITY and damp.high < LONG_ENOUGH_H
    return {"logger-humidity": "between"} if is_between else {}


def _outdoor_dew_point(series: PlaceSeries) -> dict[str, str]:
    hours = hours_below_outdoor_dew_point(series)
    if hours is None:
        return {}
    wet = interval(hours, "h")
    if wet.low >= LONG_WET_H:
        return {"dew-point": "above-wall"}
    return {"dew-point": "below-wall"} if has_seen_summer(series) and wet.high < LONG_WET_H else {}
