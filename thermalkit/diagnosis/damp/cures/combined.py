"""Cures together: less of each does, and one chart shows how much."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.cures.remedy import Remedy, remedies
from thermalkit.diagnosis.damp.cures.situations import Measures, Situation
from thermalkit.diagnosis.damp.cures.wording import about, finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Axis, Chart, Finding, NextStep, Series
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import saturation_pressure_pa

INSULATION_STEPS_M2K_W = (0.5, 1.5)
MORE_AIR = 2.0
SLIGHTLY_WARMER_K = 1.0
SLIGHT_INSULATION_M2K_W = 0.5
_AIR_DEGC = np.arange(14.0, 24.01, 0.5)


def combined(
    case: Case, place: Place, label: str, situation: Situation, probability: float | None = None
) -> Finding:
    """What ventilation is left to do once the room is a little warmer or a little insulation is added.

    It is as probable to help as condensation is the source.
    """
    warmer = Measures(warmth_k=SLIGHTLY_WARMER_K)
    insulated = Measures(added_m2k_w=SLIGHT_INSULATION_M2K_W)
    both = Measures(warmth_k=SLIGHTLY_WARMER_K, added_m2k_w=SLIGHT_INSULATION_M2K_W)
    statement = say(
        "damp.cure.combined",
        place=label,
        situation=about(situation),
        warmth=Number(SLIGHTLY_WARMER_K, "K", 0),
        resistance=Number(SLIGHT_INSULATION_M2K_W, "m2K/W", 1),
        warmer=_left_to_air(situation, warmer),
        insulated=_left_to_air(situation, insulated),
        both=_left_to_air(situation, both),
    )
    steps = tuple(_next_steps(remedies(situation)))
    return finding(case, place, label, "combined", statement, next_steps=steps, probability=probability)


def _left_to_air(situation: Situation, measures: Measures) -> Sentence:
    item = remedies(situation.after(measures))[0]
    shown = item.quantity
    if item.reach == "enough" and shown is not None:
        return say("damp.cure.air-left.enough", need=shown.shown())
    low, most = Number(item.interval[1], "", 1), Number(item.most, "", 0)
    return say(f"damp.cure.air-left.{item.reach}", low=low, most=most)


def _next_steps(choice: tuple[Remedy, ...]) -> Iterator[NextStep]:
    """Cheapest first; what cannot be enough by itself may still help."""
    by = {"ventilation": "by.ventilation", "warmth": "by.heating", "insulation": "by.consultant"}
    yield NextStep(step=say("damp.cure.next.air-reaches"), by=say("by.occupant"))
    for item in choice:
        if item.reach != "none":
            yield NextStep(step=say(f"damp.cure.next.{item.kind}"), by=say(by[item.kind]))


def combination_chart(place: Place, label: str, situation: Situation) -> Chart:
    """Highest humidity the room may have at each air temperature, for the wall as it is and insulated.

    The moisture as found, with the present and with twice the air change, is drawn through it: where it
    runs below a wall's line, that wall stays below the limit at its surface.
    """
    walls = [_allowed(situation, added) for added in (0.0, *INSULATION_STEPS_M2K_W)]
    names = [
        say("damp.cure.chart.as-it-is"),
        *(
            say("damp.cure.chart.insulated", resistance=Number(added, "m2K/W", 1))
            for added in INSULATION_STEPS_M2K_W
        ),
    ]
    lines = [
        _series(name, middle, (low, high) if i == 0 else None)
        for i, (name, (low, middle, high)) in enumerate(zip(names, walls, strict=True))
    ]
    return Chart(
        id=f"damp.cure.combined {place.mark.frame} {place.mark.id}",
        title=say("damp.cure.chart.title", place=label),
        summary=say(
            "damp.cure.chart.summary",
            situation=about(situation),
            now=_where_below(situation, Measures()),
            insulated=_where_below(situation, Measures(added_m2k_w=INSULATION_STEPS_M2K_W[0])),
            aired=_where_below(situation, Measures(ratio=MORE_AIR)),
        ),
        x=Axis(title=say("damp.cure.chart.x"), unit="degC"),
        y=Axis(title=say("damp.cure.chart.y"), unit="%"),
        series=(
            *lines,
            _series(say("damp.cure.chart.moisture"), _moisture(situation, 1.0)),
            _series(
                say("damp.cure.chart.moisture-aired", ratio=Number(MORE_AIR, "", 0)),
                _moisture(situation, MORE_AIR),
            ),
        ),
        place=label,
    )


def _allowed(situation: Situation, added_m2k_w: float) -> tuple[list[float], list[float], list[float]]:
    """Low, middle and high of the allowed room humidity in percent at each air temperature."""
    base = situation.after(Measures(added_m2k_w=added_m2k_w))
    rows = [
        measured(100.0 * base.after(Measures(warmth_k=t - situation.indoor_degc)).highest_humidity, "%")
        for t in _AIR_DEGC
    ]
    return [m.low for m in rows], [m.value for m in rows], [m.high for m in rows]


def _moisture(situation: Situation, ratio: float) -> list[float]:
    pressure = float(np.median(situation.after(Measures(ratio=ratio)).indoor_pa))
    return [float(v) for v in 100.0 * pressure / saturation_pressure_pa(_AIR_DEGC)]


def _series(name: Sentence, y: list[float], band: tuple[list[float], list[float]] | None = None) -> Series:
    low, high = band if band is not None else ([], [])
    return Series(
        name=name,
        x=tuple(float(t) for t in _AIR_DEGC),
        y=_shown(y),
        low=_shown(low),
        high=_shown(high),
    )


def _shown(values: list[float]) -> tuple[float, ...]:
    return tuple(round(min(v, 100.0), 1) for v in values)


def _where_below(situation: Situation, measures: Measures) -> Sentence:
    """From which air temperature on the moisture stays below the wall's line, in words."""
    item = remedies(situation.after(measures))[1]
    value = item.interval[0]
    indoor: FloatArray = situation.indoor_degc
    if value > item.most:
        return say("damp.cure.chart.never", most=Number(float(np.median(indoor)) + item.most, "degC", 0))
    return say("damp.cure.chart.from", air=Number(float(np.median(indoor)) + value, "degC", 1))
