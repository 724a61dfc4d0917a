"""What a heated floor shows: pipes, temperatures and limits, output, and how it warms up."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Axis,
    Chart,
    Evidence,
    Finding,
    Limit,
    NextStep,
    Quantity,
    Series,
    quantity,
)
from thermalkit.diagnosis.heating.floor.looked import Floor, floors, kept_lines, minutes_of
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.surface import nominal_surface_degc, spot_degc, view
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.glossary import TERMS
from thermalkit.imaging.clearance import Surroundings
from thermalkit.imaging.plan import rectified
from thermalkit.imaging.ridges import Centreline, pixels_of
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import FloatArray, Measured, measured
from thermalkit.physics.floor_heating import characteristic_w_m2k, floor_output_w_m2

RESTS_ON = ("frames", "covered", "pipe")
HIGHEST_DEGC = {"occupied": 29.0, "bathroom": 33.0, "edge zone": 35.0}
WIDEST_PATTERN_MM = 375.0
COOLER_SHARE = 0.55  # of the usual strength of a line
_LONG_MM, _LEAST_DROP_K = 1500.0, 0.3
_LEAST_FRAMES, _LAGGING_SHARE, _LAGGING_AREA = 4, 0.5, 0.05
_COVERINGS = {
    "tile": "covering-hard",
    "stone": "covering-hard",
    "parquet": "covering-wood",
    "laminate": "covering-wood",
}
_LOWEST_OUTPUT_EXCESS_K = 0.3


def loop_findings(case: Case) -> Iterator[Finding]:
    """Floor by floor."""
    for floor in floors(case):
        if floor.keys.heated_by == "electric mat":
            yield _only(floor, "heating.floor-loops", "heating.floor.mat", "heating.next.mat")
        around = kept_lines(case, floor)
        yield from _temperatures(case, floor, around)
        if floor.keys.heated_by == "electric mat":
            continue
        if around is None or not around.found.lines:
            id = "heating.floor.no-plan" if around is None else "heating.floor.nothing"
            yield _only(floor, "heating.floor-loops", id, "heating.next.warm-up")
            continue
        yield _pipes(case, floor, around)
        yield from _course(case, floor)


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


def _temperatures(case: Case, floor: Floor, around: Surroundings | None) -> Iterator[Finding]:
    """Mean and highest, held against the limit; output where the room's air was read."""
    from scipy.ndimage import uniform_filter

    name = floor.series[-1]  # the warmest of them
    bare = _bare(case, floor, around, name)
    if not np.isfinite(bare).any():
        return
    seen = view(case, name)
    known = np.isfinite(bare)
    weight = uniform_filter(known.astype(np.float64), 3)
    spots = uniform_filter(np.where(known, bare, 0.0), 3)
    spots = np.where(weight > 0.99, spots, np.nan)
    if not np.isfinite(spots).any():
        return
    highest = spot_degc(case, seen, float(np.nanmax(spots)), f"{floor.id} highest")
    mean = spot_degc(case, seen, float(np.nanmean(bare)), floor.id)
    top, usual = (
        quantity("floor-highest", measured(highest, "degC")),
        quantity("floor-mean", measured(mean, "degC")),
    )
    value = HIGHEST_DEGC[floor.keys.use]
    source = say(f"heating.source.floor-limit.{floor.keys.use.replace(' ', '-')}")
    if floor.keys.highest_degc is not None and floor.keys.highest_degc < value:
        value, source = floor.keys.highest_degc, say("heating.source.floor-limit.maker")
    limit = Limit(term=TERMS["floor-highest"], sense="at_most", value=value, source=source)
    judged = verdict(top, limit)
    room = case.site.frames[name].room
    air = room_air(case, room)
    quantities: list[Quantity] = [top, usual]
    if air is not None:
        excess = np.asarray(mean - air.temperature_degc)
        if np.median(excess) > _LOWEST_OUTPUT_EXCESS_K:
            given = floor_output_w_m2(np.clip(excess, 0.0, 40.0))
            quantities.append(quantity("floor-output", measured(given, "W/m2")))
            quantities += _water(case, floor, around, given)
    warming = minutes_of(case, floor, name) is not None
    yield Finding(
        code="heating.floor",
        place=floor.place,
        frame=floor.frame,
        statement=say(
            f"heating.floor.{judged.replace(' ', '-')}",
            place=floor.place,
            highest=top.shown(),
            mean=usual.shown(),
            limit=Number(value, "degC", 0),
        ),
        verdict=judged,
        quantities=tuple(quantities),
        limit=limit,
        reasons=(say("heating.floor.warming" if warming else "heating.floor.steady"),),
        evidence=(Evidence(kind="picture", reference=name),),
        sources=(say("heating.source.en1264"),),
        next_steps=()
        if judged == "not indicated"
        else (NextStep(step=say("heating.next.lower-flow"), by=say("by.heating")),),
        rests_on=("frames", "covered"),
    )


def _water(case: Case, floor: Floor, around: Surroundings | None, output: FloatArray) -> Iterator[Quantity]:
    """Mean water temperature above the room that such an output asks for, once the floor has settled."""
    spacing = floor.keys.spacing_mm
    if spacing is None and around is not None:
        spacing = around.found.spacing_mm
    covering = _COVERINGS.get(floor.keys.covering)
    if spacing is None or covering is None or minutes_of(case, floor, floor.series[-1]) is not None:
        return

    def drawn(name: str) -> FloatArray:
        row = case.assumed(name)
        return case.draws.between(f"{name} {floor.id}", row.low, row.high)

    cover = (
        drawn("screed-cover") / 1000.0
        if floor.keys.cover_mm is None
        else np.full(case.draws.size, floor.keys.cover_mm / 1000.0)
    )
    per_k = characteristic_w_m2k(
        np.clip(spacing / 1000.0, 0.05, 0.6),
        cover,
        drawn(covering),
        conductivity_w_mk=drawn("screed-conductivity"),
        diameter_m=np.clip(floor.keys.diameter_mm / 1000.0, 0.008, 0.03),
    )
    yield quantity("water-excess", measured(output / per_k, "K"))


def _pipes(case: Case, floor: Floor, around: Surroundings) -> Finding:
    """Spacing, what is cooler than the rest, where the water flows, what could not be seen."""
    found = around.found
    length_m = sum(line.length_mm for line in found.lines) / 1000.0
    bridged_m = sum(_bridged_mm(line) for line in found.lines) / 1000.0
    quantities = [quantity("pipe-length", Measured(value=length_m, low=length_m, high=length_m, unit="m"))]
    id = "heating.floor.pipes-alone"
    spacing = _spacing_draws_mm(case, floor, around)
    values: dict[str, Sentence | Number | str] = {
        "place": floor.place,
        "length": Number(length_m, "m", 1),
        "bridged": Number(bridged_m, "m", 1),
    }
    if spacing is not None:
        shown = quantity("pipe-spacing", measured(spacing, "mm"))
        quantities.append(shown)
        values["spacing"] = Number(shown.measured.value, "mm", 0)
        id = "heating.floor.pipes"
    return Finding(
        code="heating.floor-loops",
        place=floor.place,
        frame=floor.frame,
        statement=say(id, **values),
        quantities=tuple(quantities),
        reasons=tuple(_notes(around)),
        evidence=(Evidence(kind="picture", reference=floor.frame),),
        sources=(say("heating.source.ripple"),),
        cautions=(say("heating.caution.not-a-map"),),
        rests_on=RESTS_ON,
    )


def _notes(around: Surroundings) -> Iterator[Sentence]:
    lines = around.found.lines
    cooler = [line for line in lines if np.median(line.strength) < COOLER_SHARE * around.found.usual]
    if cooler:
        middle = cooler[0].line_mm[len(cooler[0].line_mm) // 2]
        yield say(
            "heating.floor.cooler",
            count=len(cooler),
            x=Number(middle[0], "mm", 0),
            y=Number(middle[1], "mm", 0),
        )
    direction = next((d for line in lines if (d := _flow(around, line)) is not None), None)
    if direction is not None:
        start, end, drop_k = direction
        yield say(
            "heating.floor.direction",
            drop=Number(drop_k, "K", 1),
            x1=Number(start[0], "mm", 0),
            y1=Number(start[1], "mm", 0),
            x2=Number(end[0], "mm", 0),
            y2=Number(end[1], "mm", 0),
        )
    if any(line.is_bridged.any() for line in lines):
        yield say("heating.floor.bridged")
    yield from around.plan.why


def _flow(around: Surroundings, line: Centreline) -> tuple[FloatArray, FloatArray, float] | None:
    """From where to where the floor over a long line gets colder, and by how much."""
    from scipy.ndimage import gaussian_filter1d, map_coordinates

    if line.length_mm < _LONG_MM:
        return None
    at = pixels_of(around.picture, line.line_mm)
    along = map_coordinates(np.nan_to_num(around.picture.values), at.T, order=1, mode="nearest")
    reach = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(line.line_mm, axis=0), axis=1))]
    slope, start = np.polyfit(reach, gaussian_filter1d(along, 3.0), 1)
    drop_k = float(slope * reach[-1])
    left = along - (start + slope * reach)
    # Neighbouring points share their surroundings: count one every 250 mm.
    unsure_k = float(np.std(left)) * np.sqrt(12.0 / max(reach[-1] / 250.0, 1.0))
    if abs(drop_k) < max(_LEAST_DROP_K, 3.0 * unsure_k):
        return None
    first, last = line.line_mm[0], line.line_mm[-1]
    return (first, last, -drop_k) if drop_k < 0.0 else (last, first, drop_k)


def _course(case: Case, floor: Floor) -> Iterator[Finding]:
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
    means = [float(np.nanmean(_bare(case, floor, around, name))) for _, name in known]
    return np.array([minutes for minutes, _ in known]), np.array(means)


def _lagging_share(case: Case, floor: Floor) -> float:
    """Share of the bare floor between pipes that warmed up by less than half of what is usual."""
    from scipy.ndimage import gaussian_filter

    around = kept_lines(case, floor)
    if around is None:
        return 0.0
    ends = [_flat(case, around, floor.series[at]) for at in (0, -1)]
    rise = ends[1] - ends[0]
    sigma = 100.0 / around.picture.mm_per_pixel
    known = np.isfinite(rise)
    soft = gaussian_filter(np.where(known, rise, 0.0), sigma) / np.maximum(
        gaussian_filter(known.astype(np.float64), sigma), 1e-6
    )
    usual = np.median(soft[known])
    return float(np.mean(soft[known] < _LAGGING_SHARE * usual))


def _flat(case: Case, around: Surroundings, frame: str) -> FloatArray:
    values = rectified(nominal_surface_degc(case, frame), around.plan, around.picture.mm_per_pixel).values
    return np.where(around.hidden, np.nan, values)


def _bare(case: Case, floor: Floor, around: Surroundings | None, frame: str | None = None) -> FloatArray:
    """Apparent temperatures of the plan without what is covered; of the whole picture without a plan."""
    name = frame or floor.frame
    apparent = case.site.frames[name].apparent_degc
    if around is None:
        return apparent
    values = rectified(apparent, around.plan, around.picture.mm_per_pixel).values
    return np.where(around.hidden, np.nan, values)


def _spacing_draws_mm(case: Case, floor: Floor, around: Surroundings) -> FloatArray | None:
    spacing = around.found.spacing_mm
    if spacing is None or spacing > WIDEST_PATTERN_MM:
        return None
    error = case.draws.rectangular(f"spacing {floor.id}", case.assumed("spacing-from-picture").half_width)
    return np.asarray(spacing * (1.0 + error))


def _bridged_mm(line: Centreline) -> float:
    steps = np.linalg.norm(np.diff(line.line_mm, axis=0), axis=1)
    return float(steps[line.is_bridged[1:]].sum())


def _only(floor: Floor, code: str, id: str, step: str) -> Finding:
    return Finding(
        code=code,
        place=floor.place,
        frame=floor.frame,
        statement=say(id, place=floor.place),
        evidence=(Evidence(kind="picture", reference=floor.frame),),
        cautions=(say("heating.caution.not-a-map"),),
        next_steps=(NextStep(step=say(step), by=say("by.surveyor")),),
        rests_on=RESTS_ON,
    )
