"""What a heated floor shows: its temperature, its pipes, and how it warms up."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Evidence,
    Finding,
    NextStep,
    quantity,
)
from thermalkit.diagnosis.heating.floor.cover import cover_findings
from thermalkit.diagnosis.heating.floor.looked import Floor, floors, kept_lines
from thermalkit.diagnosis.heating.floor.temperature import temperature_findings
from thermalkit.diagnosis.heating.floor.warming import warming_findings
from thermalkit.imaging.clearance import Surroundings
from thermalkit.imaging.ridges import Centreline, pixels_of
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import FloatArray, Measured, measured

RESTS_ON = ("frames", "covered", "pipe")
WIDEST_PATTERN_MM = 375.0
COOLER_SHARE = 0.55  # of the usual strength of a line
_LONG_MM, _LEAST_DROP_K = 1500.0, 0.3


def loop_findings(case: Case) -> Iterator[Finding]:
    """Floor by floor."""
    for floor in floors(case):
        if floor.keys.heated_by == "electric mat":
            yield _only(floor, "heating.floor-loops", "heating.floor.mat", "heating.next.mat")
        around = kept_lines(case, floor)
        yield from temperature_findings(case, floor, around)
        if floor.keys.heated_by == "electric mat":
            continue
        if around is None or not around.found.lines:
            id = "heating.floor.no-plan" if around is None else "heating.floor.nothing"
            yield _only(floor, "heating.floor-loops", id, "heating.next.warm-up")
            continue
        yield _pipes(case, floor, around)
        yield from cover_findings(case, floor, around)
        yield from warming_findings(case, floor)


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
