"""How fast a floor warms up, and what of it lags."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Axis,
    Chart,
    Evidence,
    Finding,
    Series,
    quantity,
)
from thermalkit.diagnosis.heating.floor.looked import Floor, floors, kept_lines, minutes_of
from thermalkit.diagnosis.heating.floor.temperature import bare_floor, bare_surface_degc, between_pipes
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, Measured

_LEAST_FRAMES, _LAGGING_SHARE, _LAGGING_AREA = 4, 0.5, 0.05


def warming_charts(case: Case) -> Iterator[Chart]:
    """Mean floor temperature while it warms up."""
    for floor in floors(case):
        course = _means(case, floor)
        if course is None:
            continue
        minutes, means = course
        yield Chart(
            id=f"heating-floor-{floor.id}",
            title=say("heating.chart.warming", place=floor.place),
            summary=say(
                "heating.chart.warming.summary",
                first=Number(float(means[0]), "degC", 1),
                last=Number(float(means[-1]), "degC", 1),
                minutes=Number(float(minutes[-1] - minutes[0]), "min", 0),
            ),
            x=Axis(title=say("heating.chart.minutes"), unit="min"),
            y=Axis(title=say("term.floor-mean"), unit="degC"),
            series=(
                Series(
                    name=say("term.floor-mean"),
                    x=tuple(round(float(m), 1) for m in minutes),
                    y=tuple(round(float(t), 2) for t in means),
                ),
            ),
            place=floor.place,
        )


def warming_findings(case: Case, floor: Floor) -> Iterator[Finding]:
    """Time constant of the warming, and what lags."""
    from scipy.optimize import curve_fit

    course = _means(case, floor)
    if course is None:
        return
    minutes, means = course
    rise = float(means[-1] - means[0])
    if rise < 0.5:
        return
    lagging = _lagging_share(case, floor)

    def warming(t: FloatArray, start: float, gain: float, tau: float) -> FloatArray:
        return np.asarray(start + gain * (1.0 - np.exp(-(t - minutes[0]) / tau)))

    guess = (float(means[0]), 1.5 * rise, 90.0)
    bounds = ([-50.0, 0.0, 5.0], [80.0, 60.0, 2000.0])
    try:
        best, spread = curve_fit(warming, minutes, means, guess, bounds=bounds)
    except RuntimeError:
        return
    tau, deviation = float(best[2]), float(np.sqrt(spread[2, 2]))
    if not np.isfinite(deviation) or deviation > 0.5 * tau:
        return
    half = 1.96 * deviation
    shown = quantity(
        "warming-time", Measured(value=tau, low=max(tau - half, 0.0), high=tau + half, unit="min")
    )
    id = "heating.floor.lagging" if lagging > _LAGGING_AREA else "heating.floor.even"
    yield Finding(
        code="heating.floor-warming",
        place=floor.place,
        frame=floor.frame,
        statement=say(
            id,
            place=floor.place,
            time=shown.shown(),
            share=Number(100.0 * lagging, "%", 0),
            frames=len(means),
        ),
        quantities=(shown,),
        evidence=tuple(Evidence(kind="picture", reference=name) for name in floor.series),
        sources=(say("heating.source.warming"),),
        rests_on=("frames", "covered"),
    )


def _means(case: Case, floor: Floor) -> tuple[FloatArray, FloatArray] | None:
    """Minutes since warm water entered, and the mean of the bare floor."""
    times = [(minutes_of(case, floor, name), name) for name in floor.series]
    known = [(minutes, name) for minutes, name in times if minutes is not None]
    around = kept_lines(case, floor)
    if len(known) < _LEAST_FRAMES or around is None:
        return None
    means = [float(np.nanmean(bare_floor(case, floor, around, name))) for _, name in known]
    return np.array([minutes for minutes, _ in known]), np.array(means)


def _lagging_share(case: Case, floor: Floor) -> float:
    """Share of the bare floor between pipes that warmed up by less than half of what is usual."""
    around = kept_lines(case, floor)
    if around is None:
        return 0.0
    first, last = (bare_surface_degc(case, around, floor.series[at]) for at in (0, -1))
    soft = between_pipes(last - first, around)[np.isfinite(last - first)]
    return float(np.mean(soft < _LAGGING_SHARE * np.median(soft)))
