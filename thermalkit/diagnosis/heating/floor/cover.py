"""How much screed lies over the pipes of a settled floor, and how warm their water is, from its ripple."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, NextStep, quantity
from thermalkit.diagnosis.heating.floor.looked import Floor
from thermalkit.diagnosis.heating.floor.temperature import COVERINGS, drawn, water_excess_k
from thermalkit.diagnosis.surface import spot_apparent_degc, view
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.imaging.clearance import Surroundings
from thermalkit.imaging.plan import rectified
from thermalkit.imaging.ripple import Ripple, passed_share, ripples, waves_per_px
from thermalkit.language import say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.floor_heating import floor_output_w_m2
from thermalkit.physics.floor_ripple import DEEPEST_M, SHALLOWEST_M, Build, cover_of_share_m

RESTS_ON = ("frames", "covered", "pipe")
_SETTLED_MINUTES = 12 * 60.0  # own choice: by then even thick screed under wood swings as it will
_MOST_UNEVEN, _LEAST_WINDOWS = 0.15, 3
_LEAST_SPREAD = 0.03
_LEAST_EXCESS_K = 0.5
_MOST_BEYOND = 0.1  # of the draws: no such screed, so something else makes the ripple


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the ripple of a floor tells, each of shape (draws,)."""

    ripple: FloatArray
    cover_mm: FloatArray
    water_degc: FloatArray
    windows: int


def cover_findings(case: Case, floor: Floor, around: Surroundings) -> Iterator[Finding]:
    """Cover and water, or that the picture does not tell; nothing while warming up or where it is known."""
    spacing = around.found.spacing_mm
    is_asked = floor.keys.heated_by == "water" and floor.keys.cover_mm is None and spacing is not None
    if not is_asked or not _has_settled(case, floor):
        return
    told = told_by_ripple(case, floor, around)
    if told is None:
        yield Finding(
            code="heating.floor-cover",
            place=floor.place,
            frame=floor.frame,
            statement=say("heating.floor.cover-not-told", place=floor.place),
            evidence=(Evidence(kind="picture", reference=floor.frame),),
            sources=(say("heating.source.cover"),),
            cautions=(say("heating.caution.not-a-depth"),),
            rests_on=RESTS_ON,
        )
        return
    shown = quantity("pipe-cover", measured(told.cover_mm, "mm"))
    water = quantity("floor-water", measured(told.water_degc, "degC"))
    yield Finding(
        code="heating.floor-cover",
        place=floor.place,
        frame=floor.frame,
        statement=say(
            "heating.floor.cover",
            place=floor.place,
            cover=shown.shown(),
            water=water.shown(),
            windows=told.windows,
        ),
        quantities=(shown, water, quantity("floor-ripple", measured(100.0 * told.ripple, "%"))),
        reasons=(say("heating.floor.cover-settled"),),
        evidence=(Evidence(kind="picture", reference=floor.frame),),
        sources=(say("heating.source.cover"), say("heating.source.en1264")),
        cautions=(say("heating.caution.not-a-depth"),),
        next_steps=(NextStep(step=say("heating.next.compare-cover"), by=say("by.heating")),),
        rests_on=RESTS_ON,
    )


def told_by_ripple(case: Case, floor: Floor, around: Surroundings) -> Told | None:
    """Cover, water and ripple; None where they are not told better than is known of any floor."""
    covering = COVERINGS.get(floor.keys.covering)
    air = room_air(case, case.site.frames[floor.frame].room)
    spacing_mm = around.found.spacing_mm
    if covering is None or air is None or spacing_mm is None:
        return None
    apparent = rectified(
        case.site.frames[floor.frame].apparent_degc, around.plan, around.picture.mm_per_pixel
    )
    found = [r for r in ripples(apparent, around.hidden, spacing_mm) if r.uneven < _MOST_UNEVEN]
    if len(found) < _LEAST_WINDOWS:
        return None
    mean, amplitude = _seen(case, floor, around, found)
    excess = np.asarray(mean - air.temperature_degc)
    if np.quantile(excess, 0.025) < _LEAST_EXCESS_K:
        return None
    share = amplitude / excess
    wave = drawn(case, floor, "wave-from-picture")
    spacing_m = float(np.median([r.spacing_mm for r in found])) / 1000.0 * (1.0 + wave)
    cover_m = cover_of_share_m(np.clip(share, 0.0, 10.0), spacing_m, _build(case, floor, covering))
    known = case.assumed("screed-cover")
    cover = measured(1000.0 * cover_m, "mm")
    beyond = np.mean((cover_m < 1.01 * SHALLOWEST_M) | (cover_m > 0.99 * DEEPEST_M))
    if beyond > _MOST_BEYOND or cover.high - cover.low >= known.high - known.low:
        return None
    output = floor_output_w_m2(np.clip(excess, 0.0, 40.0))
    water_k = water_excess_k(case, floor, spacing_m, cover_m, covering, output)
    return Told(
        ripple=share,
        cover_mm=np.asarray(1000.0 * cover_m),
        water_degc=np.asarray(air.temperature_degc + water_k + drawn(case, floor, "water-along-loop")),
        windows=len(found),
    )


def _seen(
    case: Case, floor: Floor, around: Surroundings, found: list[Ripple]
) -> tuple[FloatArray, FloatArray]:
    """Mean surface where the ripple was read, in degC, and its amplitude before any blur, in K."""
    seen = view(case, floor.frame)
    nominal = float(np.median(seen.offset_k))
    air = room_air(case, case.site.frames[floor.frame].room)
    base = float(np.median(air.temperature_degc)) if air is not None else 0.0
    blur = drawn(case, floor, "camera-blur")
    above = np.array([max(r.mean - nominal - base, _LEAST_EXCESS_K) for r in found])
    shares = np.array([r.amplitude for r in found]) / above
    # Where the water is warmer, mean and ripple are both larger: their ratio is that of the whole floor.
    usual = float(np.median(shares))
    spread = max(_LEAST_SPREAD, 1.4826 * float(np.median(np.abs(shares / usual - 1.0))))
    passed = np.mean([passed_share(waves_per_px(around.plan, r), blur) for r in found], axis=0)
    middle = float(np.median(above)) + nominal + base
    swing = usual * float(np.median(above))
    mean = spot_apparent_degc(case, seen, middle, f"{floor.id} ripple")
    k = (seen.surface_degc(mean + swing) - seen.surface_degc(mean - swing)) / 2.0
    uneven = np.maximum(1.0 + case.draws.normal(f"ripple {floor.id}", spread), 0.1)
    return seen.surface_degc(mean), np.asarray(k / passed * uneven)


def _build(case: Case, floor: Floor, covering: str) -> Build:
    diameter_m = float(np.clip(floor.keys.diameter_mm / 1000.0, 0.008, 0.03))
    return Build(
        axis_height_m=drawn(case, floor, "pipe-above-insulation") / 1000.0 + diameter_m / 2.0,
        diameter_m=diameter_m,
        conductivity_w_mk=drawn(case, floor, "screed-conductivity"),
        top_w_m2k=drawn(case, floor, "floor-film"),
        bottom_w_m2k=1.0 / (drawn(case, floor, "insulation-below") + 0.17),
        covering_m2k_w=drawn(case, floor, covering),
        covering_w_mk=drawn(case, floor, f"{covering}-conductivity"),
        evens_out=drawn(case, floor, "covering-evens-out"),
    )


def _has_settled(case: Case, floor: Floor) -> bool:
    entered, taken = floor.keys.water_entered_at, case.site.frames[floor.frame].keys.taken_at
    if entered is None:
        return True  # the key is left out where water has run for a day
    return taken is not None and (taken - entered).total_seconds() / 60.0 >= _SETTLED_MINUTES
