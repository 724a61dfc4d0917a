"""How warm a floor is, what it gives off, and what its water has to be."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Evidence,
    Finding,
    Limit,
    NextStep,
    Quantity,
    quantity,
)
from thermalkit.diagnosis.heating.floor.looked import Floor, minutes_of
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.surface import nominal_surface_degc, spot_degc, view
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.glossary import TERMS
from thermalkit.imaging.clearance import Surroundings
from thermalkit.imaging.plan import rectified
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.floor_heating import characteristic_w_m2k, floor_output_w_m2

HIGHEST_DEGC = {"occupied": 29.0, "bathroom": 33.0, "edge zone": 35.0}
COVERINGS = {
    "tile": "covering-hard",
    "stone": "covering-hard",
    "parquet": "covering-wood",
    "laminate": "covering-wood",
}
_LOWEST_OUTPUT_EXCESS_K = 0.3
_SMOOTH_MM = 100.0


def temperature_findings(case: Case, floor: Floor, around: Surroundings | None) -> Iterator[Finding]:
    """Mean and highest, held against the limit; output where the room's air was read."""
    from scipy.ndimage import uniform_filter

    name = floor.series[-1]  # the warmest of them
    bare = bare_floor(case, floor, around, name)
    mean = floor_mean_degc(case, floor, around)
    if mean is None:
        return
    seen = view(case, name)
    known = np.isfinite(bare)
    weight = uniform_filter(known.astype(np.float64), 3)
    spots = uniform_filter(np.where(known, bare, 0.0), 3)
    spots = np.where(weight > 0.99, spots, np.nan)
    if not np.isfinite(spots).any():
        return
    highest = spot_degc(case, seen, float(np.nanmax(spots)), f"{floor.id} highest")
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
    quantities: list[Quantity] = [top, usual]
    given = output_w_m2(case, floor, mean)
    if given is not None:
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
    covering = COVERINGS.get(floor.keys.covering)
    if spacing is None or covering is None or minutes_of(case, floor, floor.series[-1]) is not None:
        return
    cover_mm = (
        drawn(case, floor, "screed-cover")
        if floor.keys.cover_mm is None
        else np.full(case.draws.size, floor.keys.cover_mm)
    )
    spacings = np.full(case.draws.size, spacing / 1000.0)
    water = water_excess_k(case, floor, spacings, cover_mm / 1000.0, covering, output)
    yield quantity("water-excess", measured(water, "K"))


def water_excess_k(
    case: Case,
    floor: Floor,
    spacing_m: FloatArray,
    cover_m: FloatArray,
    covering: str,
    output_w_m2: FloatArray,
) -> FloatArray:
    """Mean water above the room that such an output asks for, by EN 1264-2, shape (draws,)."""
    per_k = characteristic_w_m2k(
        np.clip(spacing_m, 0.05, 0.6),
        np.clip(cover_m, 0.01, 0.2),
        drawn(case, floor, covering),
        conductivity_w_mk=drawn(case, floor, "screed-conductivity"),
        diameter_m=np.clip(floor.keys.diameter_mm / 1000.0, 0.008, 0.03),
    )
    return np.asarray(output_w_m2 / per_k)


def drawn(case: Case, floor: Floor, name: str) -> FloatArray:
    """An assumption about a floor, shape (draws,)."""
    row = case.assumed(name)
    return case.draws.between(f"{name} {floor.id}", row.low, row.high)


def floor_mean_degc(case: Case, floor: Floor, around: Surroundings | None) -> FloatArray | None:
    """Mean surface of the bare floor on the warmest picture of its series, shape (draws,)."""
    name = floor.series[-1]
    bare = bare_floor(case, floor, around, name)
    if not np.isfinite(bare).any():
        return None
    return spot_degc(case, view(case, name), float(np.nanmean(bare)), floor.id)


def output_w_m2(case: Case, floor: Floor, mean_degc: FloatArray) -> FloatArray | None:
    """What the floor gives, shape (draws,); None where the room's air was not read or is as warm."""
    air = room_air(case, case.site.frames[floor.series[-1]].room)
    if air is None:
        return None
    excess_k = np.asarray(mean_degc - air.temperature_degc)
    if np.median(excess_k) <= _LOWEST_OUTPUT_EXCESS_K:
        return None
    return floor_output_w_m2(np.clip(excess_k, 0.0, 40.0))


def bare_floor(case: Case, floor: Floor, around: Surroundings | None, frame: str | None = None) -> FloatArray:
    """Apparent temperatures of the plan without what is covered; of the whole picture without a plan."""
    apparent = case.site.frames[frame or floor.frame].apparent_degc
    return apparent if around is None else _bare(apparent, around)


def bare_surface_degc(case: Case, around: Surroundings, frame: str) -> FloatArray:
    """Most likely surface temperatures of the plan without what is covered."""
    return _bare(nominal_surface_degc(case, frame), around)


def _bare(values: FloatArray, around: Surroundings) -> FloatArray:
    flat = rectified(values, around.plan, around.picture.mm_per_pixel).values
    return np.where(around.hidden, np.nan, flat)


def between_pipes(values: FloatArray, around: Surroundings) -> FloatArray:
    """Values of the plan smoothed until the ripple of its pipes is gone."""
    from scipy.ndimage import gaussian_filter

    sigma, known = _SMOOTH_MM / around.picture.mm_per_pixel, np.isfinite(values)
    weight = gaussian_filter(known.astype(np.float64), sigma)
    return np.asarray(gaussian_filter(np.where(known, values, 0.0), sigma) / np.maximum(weight, 1e-6))
