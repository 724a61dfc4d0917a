"""What each cure leaves over: heated months of an average year, hours of a logger, above the limit."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.cures.remedies import wall_resistance_m2k_w
from thermalkit.diagnosis.damp.cures.remedy import Remedies, Remedy
from thermalkit.diagnosis.damp.cures.room import logger_errors, room_and_outdoor_loggers
from thermalkit.diagnosis.damp.cures.situations import Measures, Situation
from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Axis, Chart, Finding, Series, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import saturation_pressure_pa, vapour_pressure_over_water_pa

HOURS_REMEMBERED = 24  # common practice: a wall answers to the mean of about a day
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
    logged = _logged_hours(case, place)
    if logged is None or place.factor_as_found is None:
        return
    before, *after = (
        quantity("time-damp", measured(_share_above(place, situation, logged, m), "%"))
        for m in (_AS_IT_IS, *(r.measures for r in choice))
    )
    statement = say(
        "damp.cure.hours",
        place=label,
        days=Number(logged[0].shape[-1] / 24.0, "", 0),
        limit=Number(100.0 * situation.surface_humidity, "%", 0),
        before=before.shown(),
        **{
            item.kind: say(f"damp.cure.left.{item.kind}", planned=_planned(item), left=left.shown())
            for item, left in zip(choice, after, strict=True)
        },
    )
    yield finding(case, place, label, "hours", statement, (before,))


Logged = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


def _logged_hours(case: Case, place: Place) -> Logged | None:
    """Room air in °C and Pa, outdoor air of the last day in °C and outdoors in Pa; (draws, hours)."""
    from thermalkit.site.loggers.series import hourly

    pair = room_and_outdoor_loggers(case, case.site.frames[place.mark.frame].keys.room)
    if pair is None:
        return None
    inside, outside = (hourly(series) for series in pair)
    outside["remembered"] = (
        outside["temperature_degc"].rolling(HOURS_REMEMBERED, min_periods=HOURS_REMEMBERED // 2).mean()
    )
    table = inside.add_suffix("_i").join(outside.add_suffix("_e"), how="inner")
    table = table.dropna(
        subset=["temperature_degc_i", "relative_humidity_i", "relative_humidity_e", "remembered_e"]
    )
    if table.empty:
        return None

    def column(name: str) -> FloatArray:
        return table[name].to_numpy(dtype=np.float64)

    (error_i_k, error_i), (error_e_k, error_e) = (
        tuple(thinned(e)[:, None] for e in logger_errors(case, series)) for series in pair
    )
    indoor = column("temperature_degc_i") + error_i_k
    now = column("temperature_degc_e") + error_e_k
    return (
        indoor,
        vapour_pressure_over_water_pa(indoor, np.clip(column("relative_humidity_i") + error_i, _LEAST, 1.0)),
        column("remembered_e") + error_e_k,
        vapour_pressure_over_water_pa(now, np.clip(column("relative_humidity_e") + error_e, _LEAST, 1.0)),
    )


def thinned(draws: FloatArray) -> FloatArray:
    """Every so many-th draw, enough for an interval over thousands of hours."""
    return draws[:: max(1, draws.size // _DRAWS_OVER_TIME)]


def _share_above(place: Place, situation: Situation, logged: Logged, measures: Measures) -> FloatArray:
    """Percent of hours, shape (draws,)."""
    indoor, indoor_pa, outdoor, outdoor_pa = logged
    factor = thinned(factor_as_found_after(place, situation, measures))[:, None]
    pressure = outdoor_pa + np.where(indoor_pa > outdoor_pa, 1.0 / measures.ratio, 1.0) * (
        indoor_pa - outdoor_pa
    )
    surface = outdoor + factor * (indoor + measures.warmth_k - outdoor)
    above = pressure / saturation_pressure_pa(surface) > situation.surface_humidity
    return np.asarray(100.0 * np.mean(above, axis=1), dtype=np.float64)


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
