"""The course of temperature along a conductor, beside that of one like it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Axis, Chart, Series
from thermalkit.diagnosis.panel.along import Along
from thermalkit.diagnosis.panel.examined import Examined, readings
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray

_POINTS = 24


def conductor_charts(case: Case, item: Examined) -> Iterator[Chart]:
    """One chart for a conductor that could be followed."""
    seen = item.reading.along
    if seen is None:
        return
    series = [
        _series(seen, seen.surface_degc, "panel.chart.measured", "points"),
        _series(seen, seen.fitted_degc, "panel.chart.fitted", "line"),
    ]
    likes = {other.way.id: other.along for other in readings(case) if other.way.id in item.excess.likes}
    id, other = next(((id, along) for id, along in likes.items() if along is not None), ("", None))
    if other is not None:
        series.append(_series(other, other.surface_degc, "panel.chart.like", "line", name=id))
    limits = () if item.bound is None else ((item.bound.value, say("panel.line.insulation")),)
    yield Chart(
        id=f"along-{item.way.id}",
        title=say("panel.chart.title", circuit=item.way.circuit.label),
        summary=say(
            "panel.chart.summary",
            circuit=item.way.circuit.label,
            near=Number(float(seen.surface_degc[0]), "degC", 1),
            far=Number(float(seen.surface_degc[-1]), "degC", 1),
            length=Number(1000.0 * float(seen.distance_m[-1]), "mm", 0),
            fin=Number(1000.0 * float(np.median(seen.fin_m)), "mm", 0),
        ),
        x=Axis(title=say("panel.chart.distance"), unit="mm"),
        y=Axis(title=say("panel.chart.temperature"), unit="degC"),
        series=tuple(series),
        limits=limits if seen.surface_degc.max() > 0.6 * (limits[0][0] if limits else 1e9) else (),
        place=item.way.label,
    )


def _series(seen: Along, values_degc: FloatArray, id: str, style: str, **name: str) -> Series:
    """A curve at a few dozen distances."""
    along_m = np.linspace(0.0, float(seen.distance_m[-1]), min(_POINTS, seen.distance_m.size))
    values = np.interp(along_m, seen.distance_m, values_degc)
    return Series(
        name=say(id, **name),
        x=tuple(round(1000.0 * float(x), 1) for x in along_m),
        y=tuple(round(float(y), 2) for y in values),
        style=style,  # type: ignore[arg-type]
    )
