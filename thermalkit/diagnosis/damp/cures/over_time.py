"""What each cure leaves over: heated months of an average year, hours of a logger, above the limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.damp.cures.remedies import wall_resistance_m2k_w
from thermalkit.diagnosis.damp.cures.remedy import Remedies, Remedy
from thermalkit.diagnosis.damp.cures.situations import Measures, Situation
from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.damp.seasons.climate import room_of
from thermalkit.diagnosis.damp.seasons.excess import excess_of
from thermalkit.diagnosis.damp.seasons.series import (
    indoor_error_k,
    indoor_vapour_pa,
    outdoor_as_felt_degc,
    outdoor_error_k,
    outdoor_vapour_pa,
)
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Axis, Chart, Finding, Series, quantity
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import saturation_pressure_pa

_DRAWS_OVER_TIME = 200
_LEAST = 0.01
_AS_IT_IS = Measures()


def months_left(
    case: Case, place: Place, label: str, months: tuple[Situation, ...], choice: Remedies
) -> Finding:
    """Heated months above the limit, as it is and after each cure as planned."""
    before, *after = (
        quantity("months-above", measured(_count_above(months, m), ""))
        for m in (_AS_IT_IS, *(r.measures for r in choice))
    )
    statement = say(
        "damp.cure.months",
        place=label,
        heated=len(months),
        limit=Number(100.0 * months[0].surface_humidity, "%", 0),
        before=before.shown(),
        **{
            item.kind: say(f"damp.cure.left.{item.kind}", planned=_planned(item), left=left.shown())
            for item, left in zip(choice, after, strict=True)
        },
    )
    return finding(case, place, label, "months", statement, (before,))


def _count_above(months: tuple[Situation, ...], measures: Measures) -> FloatArray:
    above = [month.after(measures).humidity > month.surface_humidity for month in months]
    return np.asarray(np.sum(above, axis=0), dtype=np.float64)


def _planned(item: Remedy) -> Number:
    unit = {"ventilation": "", "warmth": "K", "insulation": "m2K/W"}[item.kind]
    return Number(item.planned, unit, 1)


def months_chart(place: Place, label: str, months: tuple[Situation, ...], choice: Remedies) -> Chart:
    """Humidity at the surface month by month, as it is and after each cure as planned."""
    now = [measured(100.0 * month.humidity, "%") for month in months]
    numbers = tuple(float(month.month or 0) for month in months)
    cured = [
        Series(
            name=say(f"damp.cure.done.{item.kind}", planned=_planned(item)),
            x=numbers,
            y=tuple(_percent(month.after(item.measures)) for month in months),
        )
        for item in choice
    ]
    return Chart(
        id=f"damp.cure.months {place.mark.frame} {place.mark.id}",
        title=say("damp.cure.months.title", place=label),
        summary=say(
            "damp.cure.months.summary",
            highest=Number(max(m.value for m in now), "%", 0),
            **{
                item.kind: Number(max(_percent(month.after(item.measures)) for month in months), "%", 0)
                for item in choice
            },
        ),
        x=Axis(title=say("damp.cure.months.x")),
        y=Axis(title=say("damp.cure.months.y"), unit="%"),
        series=(
            Series(
                name=say("damp.cure.chart.as-it-is"),
                x=numbers,
                y=tuple(round(m.value, 1) for m in now),
                low=tuple(round(m.low, 1) for m in now),
                high=tuple(round(m.high, 1) for m in now),
            ),
            *cured,
        ),
        limits=((100.0 * months[0].surface_humidity, say("damp.cure.months.limit")),),
        place=label,
    )


def _percent(situation: Situation) -> float:
    return round(100.0 * float(np.median(situation.humidity)), 1)


def hours_left(
    case: Case, place: Place, label: str, situation: Situation, choice: Remedies
) -> Iterator[Finding]:
    """Share of the logged hours above the limit, as it is and after each cure as planned.

    Goes by the film that is there. Nothing without two weeks of loggers in the room and outdoors.
    """
    logged = _logged_hours(case, place.mark.frame)
    if logged is None or place.factor_as_found is None:
        return
    before, *after = (
        quantity("time-damp", measured(_share_above(place, situation, logged, m), "%"))
        for m in (_AS_IT_IS, *(r.measures for r in choice))
    )
    statement = say(
        "damp.cure.hours",
        place=label,
        days=Number(logged.days, "", 0),
        limit=Number(100.0 * situation.surface_humidity, "%", 0),
        before=before.shown(),
        **{
            item.kind: say(f"damp.cure.left.{item.kind}", planned=_planned(item), left=left.shown())
            for item, left in zip(choice, after, strict=True)
        },
    )
    yield finding(case, place, label, "hours", statement, (before,))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Hours:
    """What the loggers held against each other, hours that all of it is known; arrays (hours, draws).

    `chosen` are the draws it is worked out for, `outdoor_degc` is what the wall remembers of outdoors.
    """

    chosen: NDArray[np.intp]
    indoor_degc: FloatArray
    indoor_pa: FloatArray
    outdoor_degc: FloatArray
    outdoor_pa: FloatArray

    @property
    def days(self) -> float:
        return len(self.indoor_pa) / 24.0


def _logged_hours(case: Case, frame: str) -> _Hours | None:
    return kept(case, ("logged hours", frame), lambda: _hours(case, frame))


def _hours(case: Case, frame: str) -> _Hours | None:
    room = room_of(case, frame)
    excess = excess_of(case, room) if room is not None else None
    if excess is None:
        return None
    record = excess.record
    chosen = np.arange(0, case.draws.size, max(1, case.draws.size // _DRAWS_OVER_TIME))
    indoor = record.indoor_degc[:, None] + indoor_error_k(case, record)[chosen]
    outdoor = outdoor_as_felt_degc(case, record, frame, chosen) + outdoor_error_k(case, record)[chosen]
    known = np.isfinite(outdoor[:, 0]) & np.isfinite(excess.hourly_pa)
    outdoor_pa = outdoor_vapour_pa(case, record, chosen)
    if outdoor_pa is None or not known.any():
        return None
    return _Hours(
        chosen=chosen,
        indoor_degc=indoor[known],
        indoor_pa=indoor_vapour_pa(case, record, chosen)[known],
        outdoor_degc=outdoor[known],
        outdoor_pa=outdoor_pa[known],
    )


def _share_above(place: Place, situation: Situation, logged: _Hours, measures: Measures) -> FloatArray:
    """Percent of hours, shape (draws,)."""
    factor = factor_as_found_after(place, situation, measures)[logged.chosen]
    excess = logged.indoor_pa - logged.outdoor_pa
    pressure = logged.outdoor_pa + np.where(excess > 0.0, excess / measures.ratio, excess)
    warm = logged.indoor_degc + measures.warmth_k
    surface = logged.outdoor_degc + factor * (warm - logged.outdoor_degc)
    above = pressure > situation.surface_humidity * saturation_pressure_pa(surface)
    return np.asarray(100.0 * np.mean(above, axis=0), dtype=np.float64)


def factor_as_found_after(place: Place, situation: Situation, measures: Measures) -> FloatArray:
    """Temperature factor with the film that was there, insulation added; shape (draws,).

    The wall's resistance is the same with either film.
    """
    found = np.asarray(place.factor_as_found)
    if np.all(np.asarray(measures.added_m2k_w) == 0.0):
        return found
    clipped = np.clip(found, _LEAST, 1.0 - _LEAST)
    wall = wall_resistance_m2k_w(situation.factor, situation.film_m2k_w)
    film = wall * (1.0 - clipped) / clipped
    whole = wall + measures.added_m2k_w * situation.effect
    return np.asarray(whole / (whole + film), dtype=np.float64)
