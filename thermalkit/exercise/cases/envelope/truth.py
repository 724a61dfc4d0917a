"""What is true of a case of the envelope, and whether the unattended run reaches it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.air_leaks import leaks
from thermalkit.diagnosis.envelope.examined import Examined, examined, limits_of, place_id
from thermalkit.diagnosis.finding import quantity
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.run import accept, walk
from thermalkit.exercise.cases.envelope.places import COLD, differences_k
from thermalkit.exercise.cases.wall_numbers import (
    LEAST_OVERLAP,
    SURE_K,
    coldest_degc,
    degrees_within,
    half_interval,
    overlap,
    place_and_sound,
    sound_degc,
)
from thermalkit.exercise.cases.walls import FRAME, OTHER_FRAME
from thermalkit.exercise.truth import truth_table
from thermalkit.imaging.mark import mark_mask
from thermalkit.measured import measured
from thermalkit.physics.envelope import temperature_factor
from thermalkit.site import Site

if TYPE_CHECKING:
    from thermalkit.exercise.cases.envelope import EnvelopeCase

FAN_FRAME = "wall-1-fan"
LOOKS = {
    "bridge": "cold-strip",
    "missing-insulation": "cold-field",
    "air-leak": "cold-streaks",
    "reflection": "bright-spot",
    "sound": "even",
}
ORDERS = {
    "bridge": ("keep-dry", "calculate", "insulate"),
    "missing-insulation": ("inspect", "complete", "look-again"),
    "air-leak": ("appliance", "seal", "fan-again"),
    "reflection": ("again", "tell", "nothing"),
    "sound": ("note-view", "tell", "nothing"),
}
_OUTLINES = {"bridge": (None, "line", "none"), "missing-insulation": ("rectangle",)}
_ROUNDED = 0.005  # half of the last digit of a factor


def truth_of(drawn: EnvelopeCase, site: Site) -> dict[str, Any]:
    """The truth of a case as plain data.

    Parameters
    ----------
    drawn : EnvelopeCase
    site : Site
        The folder as a learner gets it, for what its instruments allow.
    """
    here, sound = place_and_sound(drawn, site)
    factor = half_interval(here.factor_as_found, "") + _ROUNDED  # type: ignore[arg-type]
    within = {**degrees_within(drawn, here, sound), "factor": factor}
    accepted = _numbers(drawn)
    return truth_table(
        "envelope",
        frames=(FRAME, OTHER_FRAME),
        same_view=(FAN_FRAME,),
        area=drawn.area,
        unfit=drawn.unfit,
        brightest=drawn.brightest,
        numbers={name: (accepted[name], within[name]) for name in within},
        traps=(drawn.visit_trap, drawn.picture_trap),
        neutral=("reflection",) if drawn.truth == "reflection" else (),
        look=(LOOKS[drawn.truth],),
        emissivity="0.93",
        verdict="indicated" if drawn.truth in COLD else "not-indicated",
        cause=drawn.truth,
        order=ORDERS[drawn.truth],
    )


def _numbers(drawn: EnvelopeCase) -> dict[str, list[float]]:
    """True numbers, in step with one another where there is more than one right answer."""
    picture, sound = drawn.picture, sound_degc(drawn)
    climate = picture.scene.climate
    shown = differences_k(picture, drawn.area, drawn.unfit, drawn.truth)
    if drawn.truth == "reflection":  # what a corrected picture shows there
        shown = tuple(value / picture.scene.emissivity for value in shown)
    surface = [sound - value for value in shown]
    factors = [float(temperature_factor(t, climate.indoor_degc, climate.outdoor_mean_degc)) for t in surface]
    return {"surface": surface, "difference": list(shown), "factor": factors}


def is_reached(drawn: EnvelopeCase, site: Site) -> bool:
    """Whether the unattended run finds place, number, verdict, what the fan tells and the outline."""
    case = Case(site=site)
    walk("envelope", case, accept)
    items = [examined(case, mark) for mark in case.decided["suspect"]]
    elsewhere = [item for item in items if item.mark.frame != FRAME]
    here = [item for item in items if item.mark.frame == FRAME]
    if not all(_is_sound(case, item) for item in elsewhere):
        return False
    if drawn.truth not in COLD:
        return all(_is_sound(case, item) for item in here)
    return any(_is_right(case, drawn, item) for item in here)


def _is_sound(case: Case, item: Examined) -> bool:
    return _verdict(case, item) == "not indicated" and _leak(case, item) != "indicated"


def _is_right(case: Case, drawn: EnvelopeCase, item: Examined) -> bool:
    mask = mark_mask(item.mark, drawn.area.shape)
    if overlap(mask, drawn.area) < LEAST_OVERLAP or _verdict(case, item) != "indicated":
        return False
    if _leak(case, item) != ("indicated" if drawn.truth == "air-leak" else "not indicated"):
        return False
    outline = case.decided.get("junction", {}).get(f"{place_id(item.mark)}: shape")
    if drawn.truth in _OUTLINES and outline not in _OUTLINES[drawn.truth]:
        return False
    value = measured(item.place.surface_degc, "degC")
    return value.low - SURE_K <= coldest_degc(drawn, mask) <= value.high + SURE_K


def _verdict(case: Case, item: Examined) -> str | None:
    if item.place.factor is None:
        return None
    return verdict(
        quantity("temperature-factor", measured(item.place.factor, "")), limits_of(case).factor_limit
    )


def _leak(case: Case, item: Examined) -> str | None:
    return next((found.verdict for found in leaks(case, item)), None)
