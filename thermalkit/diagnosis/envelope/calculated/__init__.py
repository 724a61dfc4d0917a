"""Measured beside calculated: a junction as it may be built, what the picture says, what a cure brings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.calculated.inside import is_inside, outcome, years_inside
from thermalkit.diagnosis.envelope.calculated.trace import (
    Measured,
    agreement,
    calculated_line,
    measured_line,
)
from thermalkit.diagnosis.envelope.calculated.variants import ENDS, End, Variants, drawable, variants_at
from thermalkit.diagnosis.envelope.examined import Examined, limits_of
from thermalkit.diagnosis.envelope.judged import at_place
from thermalkit.diagnosis.envelope.loss import season
from thermalkit.diagnosis.finding import Axis, Chart, Finding, NextStep, Series
from thermalkit.imaging.mark import Mark
from thermalkit.language import Interval, Number, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.detail_result import DetailResult, detail_result
from thermalkit.physics.fit import Fit, fit_one_unknown
from thermalkit.physics.thermal_bridge import NotProven

AT_DETAIL = ("frames", "limit", "suspect", "junction")
UNUSABLE = (NotProven, IllPosed)  # dimensions that make no drawing, or one that may not be quoted
_FIT_PLACES = 8
_SOLVES = 9
_OWN_ERROR = 0.02  # own choice: what a film that changes along the line does to a factor
_DRAWN_M = 0.02  # own choice: how far from the edge a line drawn by hand begins
_HUNDRED = 100.0


def calculated_findings(case: Case, item: Examined) -> Iterator[Finding]:
    """Measured against calculated, the fit of one unknown, and each cure."""
    variants = variants_at(case, item.mark) if item.is_suspect else None
    if variants is None:
        return
    if not variants.is_described:
        yield _not_described(item, variants)
        return
    try:
        results = variants.results()
        line = _line(case, item, variants)
        if line is not None:
            yield _compared(item, variants, results, line)
            yield from _fitted(item, variants, line)
        yield from _cures(case, item, variants, results)
    except UNUSABLE:
        statement = say("envelope.detail.not-proven", place=item.label, detail=_named(variants))
        yield at_place(item, "envelope.detail.not-proven", statement, rests_on=AT_DETAIL)


def _not_described(item: Examined, variants: Variants) -> Finding:
    statement = say("envelope.detail.not-described", place=item.label, detail=_named(variants))
    found = at_place(item, "envelope.detail.not-described", statement, rests_on=AT_DETAIL)
    step = NextStep(step=say("envelope.next.describe"), by=say("by.surveyor"))
    return replace(found, next_steps=(step,))


def _named(variants: Variants) -> Sentence:
    return say(f"detail.{variants.name}")


def _trace_at(case: Case, mark: Mark) -> Mark | None:
    """The line drawn for a place: its name begins with the place's."""
    traces: tuple[Mark, ...] = case.decided.get("trace", ())
    here = [t for t in traces if t.frame == mark.frame and t.shape == "trace" and t.id.startswith(mark.id)]
    return min(here, key=lambda trace: len(trace.id), default=None)


def _line(case: Case, item: Examined, variants: Variants) -> Measured | None:
    trace = _trace_at(case, item.mark)
    return None if trace is None else measured_line(case, trace, variants)


def _compared(
    item: Examined, variants: Variants, results: dict[End, DetailResult], line: Measured
) -> Finding:
    band = np.stack([calculated_line(results[end], line.along_m) for end in ENDS])
    found = agreement(line, band)
    low, middle, high = line.quantiles()
    calculated = results["typical"].factor, results["cold"].factor, results["warm"].factor
    statement = say(
        f"envelope.detail.compared.{found}",
        place=item.label,
        detail=_named(variants),
        measured=Interval(middle.min(), low.min(), high[int(np.argmin(middle))], "", 2),
        calculated=Interval(calculated[0], min(calculated), max(calculated), "", 2),
    )
    step = NextStep(step=say("envelope.next.open-up"), by=say("by.builder"))
    return replace(
        at_place(
            item,
            "envelope.detail.compared",
            statement,
            sources=("envelope.source.detail",),
            rests_on=(*AT_DETAIL, "trace"),
        ),
        next_steps=() if found == "agrees" else (step,),
    )


def _fitted(item: Examined, variants: Variants, line: Measured) -> Iterator[Finding]:
    """The one dimension that the surveyor asks for."""
    name = variants.keys.unknown if variants.keys is not None else None
    limits = next((f.metadata for f in fields(variants.typical) if f.name == name), None)
    if name is None or limits is None:
        return
    fit = _fit(variants, name, limits["low"], limits["high"], line)
    state = "unexplained" if not fit.is_explained else "given" if fit.is_identifiable else "open"
    is_length = name.endswith("_mm")
    stem = name.removesuffix("_mm").removesuffix("_w_mk")
    unit, digits = ("mm", 0) if is_length else ("W/(m K)", 2)
    statement = say(
        f"envelope.detail.fit.{state}",
        place=item.label,
        dimension=say(f"dimension.{stem}"),
        value=Interval(fit.value, fit.low, fit.high, unit, digits),
    )
    yield at_place(
        item,
        "envelope.detail.fit",
        statement,
        sources=("envelope.source.fit",),
        rests_on=(*AT_DETAIL, "trace"),
    )


def _fit(variants: Variants, name: str, low: float, high: float, line: Measured) -> Fit:
    """Fit on a few places of the line; what the frame shares is one error for all of them."""
    chosen = np.linspace(0, line.along_m.size - 1, _FIT_PLACES).round().astype(int)
    ends = line.quantiles()
    moved = np.gradient(ends[1], line.along_m) * _DRAWN_M

    def model(value: float) -> FloatArray:
        found = detail_result(replace(variants.typical, **{name: drawable(value)}))
        return calculated_line(found, line.along_m[chosen])

    return fit_one_unknown(
        model,
        ends[1][chosen],
        np.hypot(_OWN_ERROR, moved[chosen]),
        low,
        high,
        shared_half_width=float(np.mean(ends[2] - ends[0])) / 2.0,
        solves=_SOLVES,
    )


def _cures(
    case: Case, item: Examined, variants: Variants, results: dict[End, DetailResult]
) -> Iterator[Finding]:
    year = season(case, is_cooled=item.is_cooled)
    limit = limits_of(case).factor
    for name in variants.typical.cures():
        after = {end: detail_result(getattr(variants, end).cures()[name]) for end in ENDS}
        factor = _over(after, "factor")
        reaches = "below" if factor.high < limit else "above" if factor.low > limit else "perhaps"
        statement = say(
            f"envelope.detail.cure.{reaches}",
            place=item.label,
            cure=say(f"cure.{name}"),
            before=_over(results, "factor"),
            after=factor,
            limit=Number(limit, "", 2),
            psi_before=_over(results, "psi_inner_w_mk"),
            psi_after=_over(after, "psi_inner_w_mk"),
            coldest=Number(_HUNDRED * after["typical"].coldest_along_m, "cm", 0),
            saving=_saving(variants, results, after, year.kelvin_hours if year else None),
        )
        found = at_place(
            item,
            f"envelope.detail.cure-{name}",
            statement,
            sources=("envelope.source.detail",),
            rests_on=AT_DETAIL,
        )
        yield found
        if is_inside(name, variants.typical.cures()[name]):
            yield _inside(case, item, name, variants)


def _over(results: dict[End, DetailResult], what: str) -> Interval:
    """A number of the usual variant between those of the coldest and the warmest."""
    values = [float(getattr(results[end], what)) for end in ENDS]
    return Interval(values[1], min(values), max(values), "", 2)


def _saving(
    variants: Variants,
    before: dict[End, DetailResult],
    after: dict[End, DetailResult],
    kelvin_hours: FloatArray | None,
) -> Sentence:
    """Heat of a year that the drawn section loses less, per metre or for the length written down."""
    if kelvin_hours is None:
        return say("envelope.detail.saving.no-climate")
    hours = measured(kelvin_hours, "K h")
    less = [before[end].coupling_w_mk - after[end].coupling_w_mk for end in ENDS]
    length = variants.keys.length_m if variants.keys is not None else None
    scale = (length or 1.0) / 1000.0
    shown = Interval(
        less[1] * hours.value * scale, min(less) * hours.low * scale, max(less) * hours.high * scale, "kWh", 0
    )
    if length is None:
        return say("envelope.detail.saving.metre", value=shown)
    return say("envelope.detail.saving.length", value=shown, length=Number(length, "m", 1))


def _inside(case: Case, item: Examined, cure: str, variants: Variants) -> Finding:
    """Water inside the wall; without the check, or where water stays, the cure is not advised."""
    years = years_inside(case, variants.typical.cures()[cure])
    state = outcome(years)
    most = [year.most_held_g_m2 for year in years] if years is not None else [0.0]
    statement = say(
        f"envelope.detail.inside.{state}",
        place=item.label,
        cure=say(f"cure.{cure}"),
        water=Interval(float(np.mean(most)), min(most), max(most), "g/m2", 0),
    )
    found = at_place(
        item,
        f"envelope.detail.inside-{cure}",
        statement,
        sources=("envelope.source.inside",),
        rests_on=AT_DETAIL,
    )
    step = NextStep(step=say("envelope.next.check-inside"), by=say("by.consultant"))
    return replace(found, next_steps=(step,), cautions=(say("envelope.caution.services"),))


def calculated_charts(case: Case, item: Examined) -> Iterator[Chart]:
    """The measured line with its band beside the calculated ones."""
    variants = variants_at(case, item.mark) if item.is_suspect else None
    if variants is None or not variants.is_described:
        return
    line = _line(case, item, variants)
    if line is None:
        return
    try:
        results = variants.results()
    except UNUSABLE:
        return
    x = tuple(float(v) for v in line.along_m.round(3))
    low, middle, high = (tuple(float(v) for v in row.round(4)) for row in line.quantiles())
    ends = {end: calculated_line(results[end], line.along_m).round(4) for end in ENDS}
    series = [Series(name=say("envelope.detail.measured"), x=x, y=middle, low=low, high=high)]
    distinct = ENDS if np.ptp(np.stack(list(ends.values())), axis=0).max() > 0.0 else ("typical",)
    for end in distinct:
        y = tuple(float(v) for v in ends[end])
        series.append(Series(name=say(f"envelope.detail.calculated.{end}"), x=x, y=y))
    yield Chart(
        id=f"envelope-detail-{item.mark.frame}-{item.mark.id}",
        title=say("envelope.detail.chart", place=item.label, detail=_named(variants)),
        summary=say("envelope.detail.chart.summary"),
        x=Axis(title=say("envelope.detail.chart.along"), unit="m"),
        y=Axis(title=say("term.temperature-factor")),
        series=tuple(series),
        limits=((limits_of(case).factor, limits_of(case).factor_limit.source),),
        place=item.label,
    )
