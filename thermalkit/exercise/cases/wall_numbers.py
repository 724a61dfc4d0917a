"""What the instruments of a case allow of numbers read on a wall, and whether a mark lies on the place."""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.places import Place, place
from thermalkit.exercise.cases.walls import FRAME, Mask, WallCase
from thermalkit.exercise.outlines import largest
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray, measured
from thermalkit.site import Site

LEAST_OVERLAP = 0.3
SURE_K = 0.1  # what two careful people read differently
LIMITS = "general"
_ROUNDED_K = 0.05  # half of the last digit that is shown


def place_and_sound(drawn: WallCase, site: Site) -> tuple[Place, Place]:
    """The true place as the package measures it (the whole wall where there is none), and sound wall."""
    case, limits = Case(site=site), limit_sets()[LIMITS]
    mask = drawn.area if drawn.area.any() else ~drawn.unfit
    marks = [
        Mark(frame=FRAME, id=role, shape="patch", points=largest(area), role=role)
        for role, area in (("suspect", mask), ("sound", ~drawn.unfit))
    ]
    here, sound = (place(case, mark, limits) for mark in marks)
    return here, sound


def degrees_within(drawn: WallCase, here: Place, sound: Place) -> dict[str, float]:
    """How far off temperature and difference may be, in K: the intervals, and an uneven sound wall."""
    uneven_k = 2.0 * float(drawn.picture.true_surface_degc[~drawn.unfit].std())
    surface = half_interval(here.surface_degc, "degC") + _ROUNDED_K
    difference = half_interval(sound.surface_degc - here.surface_degc, "K") + _ROUNDED_K
    return {
        "surface": surface + (0.0 if drawn.area.any() else uneven_k),
        "difference": difference + uneven_k,
    }


def half_interval(draws: FloatArray, unit: str) -> float:
    """Half the 95 % interval."""
    found = measured(draws, unit)
    return 0.5 * (found.high - found.low)


def sound_degc(drawn: WallCase) -> float:
    """True temperature of the sound wall."""
    return float(drawn.picture.true_surface_degc[~drawn.unfit].mean())


def coldest_degc(drawn: WallCase, mask: Mask) -> float:
    """True temperature of the coldest spot of the place within a mask."""
    return float(np.quantile(drawn.picture.true_surface_degc[mask & drawn.area], 0.02))


def overlap(mask: Mask, area: Mask) -> float:
    """Share of the smaller of a mark and the true place that lies in the other."""
    return float(np.count_nonzero(mask & area) / max(1, min(mask.sum(), area.sum())))
