"""What is true of a damp case, and whether the unattended damp run reaches it."""

from __future__ import annotations

from typing import Any

from thermalkit.diagnosis.damp.water import weighed
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import quantity
from thermalkit.diagnosis.judging import limit_sets, verdict
from thermalkit.diagnosis.places import Place, place
from thermalkit.diagnosis.run import accept, walk
from thermalkit.exercise.cases.damp.places import differences_k
from thermalkit.exercise.cases.wall_numbers import (
    LEAST_OVERLAP,
    LIMITS,
    SURE_K,
    coldest_degc,
    degrees_within,
    half_interval,
    overlap,
    place_and_sound,
    sound_degc,
)
from thermalkit.exercise.cases.walls import FRAME, OTHER_FRAME, WallCase
from thermalkit.exercise.truth import truth_table
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.measured import measured
from thermalkit.physics.moist_air import surface_humidity
from thermalkit.site import Site

LOOKS = {
    "bridge": "cold-strip",
    "drying": "cold-patch",
    "leak": "warm-line-bulge",
    "warm-pipe": "warm-line",
    "reflection": "bright-spot",
    "sound": "even",
}
ALSO = {"leak": ("cold-patch",)}
"""Of what stands out, what is right as well."""
ORDERS = {
    "bridge": ("record", "air-heat", "insulate"),
    "drying": ("find-water", "stop-water", "dry"),
    "leak": ("plumber", "dry", "again"),
    "warm-pipe": ("note-pipe", "tell", "nothing"),
    "reflection": ("again", "tell", "nothing"),
    "sound": ("record", "tell", "nothing"),
}
NEUTRAL = {"warm-pipe": ("warm-pipe",), "leak": ("warm-pipe",), "reflection": ("reflection",)}
"""Traps that are the matter itself in a case: naming them there is neither right nor wrong."""
_LIQUID = ("ground", "bridged", "rain", "plumbing", "construction")
_MOST_LIKELY = 0.5
_ROUNDED_PERCENT = 0.5  # half of the last digit that is shown


def truth_of(drawn: WallCase, site: Site) -> dict[str, Any]:
    """The truth of a case as plain data.

    Parameters
    ----------
    drawn : WallCase
    site : Site
        The folder as a learner gets it, for what its instruments allow.
    """
    here, sound = place_and_sound(drawn, site)
    degrees = degrees_within(drawn, here, sound)
    humidity = half_interval(here.humidity_percent, "%") + _ROUNDED_PERCENT  # type: ignore[arg-type]
    within = {**degrees, "humidity": humidity}
    accepted = _numbers(drawn)
    return truth_table(
        "damp",
        frames=(FRAME, OTHER_FRAME),
        area=drawn.area,
        unfit=drawn.unfit,
        brightest=drawn.brightest,
        numbers={name: (accepted[name], within[name]) for name in within},
        traps=(drawn.visit_trap, drawn.picture_trap),
        neutral=NEUTRAL.get(drawn.truth, ()),
        look=(LOOKS[drawn.truth], *ALSO.get(drawn.truth, ())),
        emissivity="0.93",
        verdict="indicated" if drawn.truth == "bridge" else "not-indicated",
        cause=drawn.truth,
        order=ORDERS[drawn.truth],
    )


def is_reached(drawn: WallCase, site: Site) -> bool:
    """Whether the unattended damp run finds place, number, verdict and kind of water; walked, not written."""
    case = Case(site=site)
    walk("damp", case, accept)
    limits = limit_sets()[LIMITS]
    here = [mark for mark in case.decided["suspect"] if mark.frame == FRAME]
    if any(
        _verdict(place(case, mark, limits)) != "not indicated"
        for mark in case.decided["suspect"]
        if mark.frame != FRAME
    ):
        return False
    if drawn.truth in ("warm-pipe", "reflection", "sound"):
        return all(_verdict(place(case, mark, limits)) == "not indicated" for mark in here)
    return any(_is_right(case, drawn, mark, place(case, mark, limits)) for mark in here)


def _is_right(case: Case, drawn: WallCase, mark: Mark, found: Place) -> bool:
    mask = mark_mask(mark, drawn.area.shape)
    wanted = "indicated" if drawn.truth == "bridge" else "not indicated"
    if overlap(mask, drawn.area) < LEAST_OVERLAP or _verdict(found) != wanted:
        return False
    value = measured(found.surface_degc, "degC")
    probability = weighed(case, mark).probability
    room_air = probability.get("condensation", 0.0)
    elsewhere = sum(probability.get(name, 0.0) for name in _LIQUID)
    is_water = room_air >= _MOST_LIKELY if drawn.truth == "bridge" else elsewhere >= _MOST_LIKELY
    return is_water and value.low - SURE_K <= coldest_degc(drawn, mask) <= value.high + SURE_K


def _verdict(found: Place) -> str | None:
    if found.humidity_percent is None:
        return None
    humidity = quantity("surface-humidity", measured(found.humidity_percent, "%"))
    return verdict(humidity, limit_sets()[LIMITS].humidity_limit("surface-humidity"))


def _numbers(drawn: WallCase) -> dict[str, list[float]]:
    """True numbers, in step with one another where there is more than one right answer."""
    picture, sound = drawn.picture, sound_degc(drawn)
    shown = differences_k(picture, drawn.area, drawn.unfit, drawn.truth)
    if drawn.truth == "reflection":  # what a corrected picture shows there
        shown = tuple(value / picture.scene.emissivity for value in shown)
    surface = [sound - value for value in shown]
    pressure_pa = picture.scene.climate.vapour_pressure_pa
    return {
        "surface": surface,
        "difference": list(shown),
        "humidity": [100.0 * float(surface_humidity(pressure_pa, value)) for value in surface],
    }
