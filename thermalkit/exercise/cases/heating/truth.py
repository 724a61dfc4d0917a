"""What is true of a case of heating, and whether the unattended run reaches it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.heating.radiators.reading import shown
from thermalkit.diagnosis.heating.radiators.subject import radiators
from thermalkit.diagnosis.heating.radiators.weighed import named, weighed
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.places import place
from thermalkit.diagnosis.run import accept, walk
from thermalkit.diagnosis.weighing import NOTHING
from thermalkit.exercise.cases.heating.misconceptions import FAULTS
from thermalkit.exercise.cases.wall_numbers import LIMITS, half_interval
from thermalkit.exercise.outlines import largest
from thermalkit.exercise.truth import truth_table
from thermalkit.imaging.mark import Mark
from thermalkit.scenes.radiators import PIPE_ACCURACY_K
from thermalkit.site import Site

if TYPE_CHECKING:
    from thermalkit.exercise.cases.heating import HeatingCase

FRAME, OTHER_FRAME = "radiator-1", "radiator-2"
LOOKS = {
    "air": "cold-top",
    "deposit": "cold-middle",
    "starved": "cold-bottom",
    "satisfied": "cold-bottom",
    "healthy": "even",
    "chrome": "mirror",
}
NAMED = {"healthy": NOTHING, "chrome": NOTHING}
ORDERS = {
    "air": ("bleed", "pressure", "air-source"),
    "deposit": ("sample", "flush", "filter"),
    "starved": ("valve", "balance", "look-again"),
    "satisfied": ("turn-up", "wait", "tell"),
    "healthy": ("load", "tell", "nothing"),
    "chrome": ("tape", "tell", "nothing"),
}
_ROUNDED_K = 0.05  # half of the last digit that is shown
_EMISSIVITY_OFF = 0.01  # of the front from the one that may be chosen
_PIPES_K = PIPE_ACCURACY_K * (1.0 - 0.05**0.5)  # 95 % of the difference of two readings


def truth_of(drawn: HeatingCase, site: Site) -> dict[str, Any]:
    """The truth of a case as plain data.

    Parameters
    ----------
    drawn : HeatingCase
    site : Site
        The folder as a learner gets it, for what its instruments allow.
    """
    chosen = "0.20" if drawn.truth == "chrome" else "0.93"
    places, notes = drawn.places, drawn.picture.notes
    within = _degrees_within(drawn, site, chosen)
    pipes_k = float(notes.flow_degc or 0.0) - float(notes.return_degc or 0.0)
    difference = places.working_degc - places.surface_degc if places.area.any() else 0.0
    return truth_table(
        "heating",
        frames=(FRAME, OTHER_FRAME),
        area=places.area,
        unfit=places.area,
        comparable=places.works,
        brightest=drawn.picture.scene.things[0].box,
        numbers={
            "surface": ([places.surface_degc], within["surface"]),
            "difference": ([difference], within["difference"]),
            "drop": ([pipes_k], _PIPES_K + _ROUNDED_K),
        },
        traps=(drawn.visit_trap, drawn.picture_trap),
        neutral=("low-emissivity", "reflection") if drawn.truth == "chrome" else (),
        look=("mirror", "even") if drawn.truth == "chrome" else (LOOKS[drawn.truth],),
        emissivity=chosen,
        verdict="indicated" if drawn.truth in FAULTS else "not-indicated",
        cause=drawn.truth,
        order=ORDERS[drawn.truth],
    )


def _degrees_within(drawn: HeatingCase, site: Site, chosen: str) -> dict[str, float]:
    """Half of the 95 % intervals at the chosen emissivity, what that may be off, and an uneven front."""
    case = Case(site=site)
    case.decided["emissivity"] = chosen
    places, limits = drawn.places, limit_sets()[LIMITS]
    cold = places.area if places.area.any() else places.works
    marks = [
        Mark(frame=FRAME, id=role, shape="patch", points=largest(area), role=role)
        for role, area in (("suspect", cold), ("sound", places.works))
    ]
    here, sound = (place(case, mark, limits).surface_degc for mark in marks)
    room_degc = drawn.picture.scene.room_degc
    off = _EMISSIVITY_OFF / float(chosen)
    surface_k = off * abs(places.surface_degc - room_degc)
    uneven_k = 2.0 * places.uneven_k
    return {
        "surface": half_interval(here, "degC")
        + surface_k
        + _ROUNDED_K
        + (0.0 if places.area.any() else uneven_k),
        "difference": half_interval(sound - here, "K") + surface_k + _ROUNDED_K + uneven_k,
    }


def is_reached(drawn: HeatingCase, site: Site) -> bool:
    """Whether the unattended run reads the pattern and names what is true, and the other radiator works."""
    case = Case(site=site)
    walk("heating", case, accept)
    found = {item.id: item for item in radiators(case)}
    here, other = found[FRAME], found[OTHER_FRAME]
    if named(weighed(case, other)) not in (NOTHING, "satisfied"):
        return False
    if named(weighed(case, here)) != NAMED.get(drawn.truth, drawn.truth):
        return False
    front = shown(case, here)
    if drawn.truth == "chrome":
        return front is None
    return front is not None and front.pattern.outcome == LOOKS[drawn.truth]
