"""What is true of a case, as a key holds it, and whether the package's own unattended run reaches it."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermalkit.diagnosis.class_.choices import BANDS_K
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.diagnosis.damp.water import weighed
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import quantity
from thermalkit.diagnosis.judging import limit_sets, verdict
from thermalkit.diagnosis.places import Place, place
from thermalkit.diagnosis.run import accept, walk
from thermalkit.exercise.cases import FRAME, NEUTRAL, OTHER_FRAME, Drawn, Mask, differences_k
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.outline import outline
from thermalkit.measured import measured
from thermalkit.physics.moist_air import surface_humidity
from thermalkit.site import Site

LEAST_PIXELS = 12
MOST_CORNERS = 40
LOOKS = {
    "bridge": ("cold-strip",),
    "drying": ("cold-patch",),
    "leak": ("warm-line-bulge", "cold-patch"),
    "warm-pipe": ("warm-line",),
    "reflection": ("bright-spot",),
    "sound": ("even",),
}
ORDERS = {
    "bridge": ("record", "air-heat", "insulate"),
    "drying": ("find-water", "stop-water", "dry"),
    "leak": ("plumber", "dry", "again"),
    "warm-pipe": ("note-pipe", "tell", "nothing"),
    "reflection": ("again", "tell", "nothing"),
    "sound": ("record", "tell", "nothing"),
}
_LIQUID = ("ground", "bridged", "rain", "plumbing", "construction")
_MOST_LIKELY = 0.5
_LEAST_OVERLAP = 0.3
_ROUNDED = {"surface": 0.05, "difference": 0.05, "humidity": 0.5}  # half of the last digit that is shown
_SURE_K = 0.1  # what two careful people read differently


def truth_of(drawn: Drawn, site: Site) -> dict[str, Any]:
    """The truth of a case as plain data.

    Parameters
    ----------
    drawn : Drawn
    site : Site
        The folder as a learner gets it, for what its instruments allow.
    """
    accepted = _numbers(drawn)
    return {
        "frame": FRAME,
        "frame_of_another_room": OTHER_FRAME,
        "shape": list(drawn.area.shape),
        "area": _polygons(drawn.area),
        "unfit": _polygons(drawn.unfit),
        "brightest": list(drawn.brightest),
        "look": list(LOOKS[drawn.truth]),
        "survey": [drawn.visit_trap],
        "trust": "limited",
        "predict": sorted({_band(abs(value)) for value in accepted["difference"]}),
        "emissivity": "0.93",
        "numbers": {
            name: {"accepted": [round(v, 2) for v in accepted[name]], "within": round(within, 2)}
            for name, within in _within(drawn, site).items()
        },
        "verdict": "indicated" if drawn.truth == "bridge" else "not-indicated",
        "cause": drawn.truth,
        "order": list(ORDERS[drawn.truth]),
        "traps": [drawn.picture_trap],
        "neutral_traps": list(NEUTRAL.get(drawn.truth, ())),
    }


def mark_inputs(site: Site) -> dict[str, Any]:
    """What marks rest on besides earlier answers, as the record fingerprints it."""
    step = next(step for step in STEPS if step.name == "suspect")
    inputs = Case(site=site).inputs(step)
    return {name: inputs[name] for name in ("site", "files")}


def is_reached(drawn: Drawn, site: Site) -> bool:
    """Whether the unattended damp run finds place, number, verdict and kind of water; walked, not written."""
    case = Case(site=site)
    walk("damp", case, accept)
    limits = limit_sets()["general"]
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


def _is_right(case: Case, drawn: Drawn, mark: Mark, found: Place) -> bool:
    mask = mark_mask(mark, drawn.area.shape)
    overlap = np.count_nonzero(mask & drawn.area) / max(1, min(mask.sum(), drawn.area.sum()))
    wanted = "indicated" if drawn.truth == "bridge" else "not indicated"
    if overlap < _LEAST_OVERLAP or _verdict(found) != wanted:
        return False
    value = measured(found.surface_degc, "degC")
    coldest = float(np.quantile(drawn.picture.true_surface_degc[mask & drawn.area], 0.02))
    probability = weighed(case, mark).probability
    room_air = probability.get("condensation", 0.0)
    elsewhere = sum(probability.get(name, 0.0) for name in _LIQUID)
    is_water = room_air >= _MOST_LIKELY if drawn.truth == "bridge" else elsewhere >= _MOST_LIKELY
    return is_water and value.low - _SURE_K <= coldest <= value.high + _SURE_K


def _verdict(found: Place) -> str | None:
    if found.humidity_percent is None:
        return None
    humidity = quantity("surface-humidity", measured(found.humidity_percent, "%"))
    return verdict(humidity, limit_sets()["general"].humidity_limit("surface-humidity"))


def _numbers(drawn: Drawn) -> dict[str, list[float]]:
    """True numbers, in step with one another where there is more than one right answer."""
    picture = drawn.picture
    sound = float(picture.true_surface_degc[~drawn.unfit].mean())
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


def _within(drawn: Drawn, site: Site) -> dict[str, float]:
    """Half the 95 % interval that the instruments of the case allow, for each number."""
    case = Case(site=site)
    limits = limit_sets()["general"]
    mask = drawn.area if drawn.area.any() else ~drawn.unfit
    marks = [
        Mark(frame=FRAME, id=role, shape="patch", points=_largest(area), role=role)
        for role, area in (("suspect", mask), ("sound", ~drawn.unfit))
    ]
    here, sound = (place(case, mark, limits) for mark in marks)
    uneven_k = 2.0 * float(drawn.picture.true_surface_degc[~drawn.unfit].std())
    halves = {
        "surface": measured(here.surface_degc, "degC"),
        "difference": measured(sound.surface_degc - here.surface_degc, "K"),
        "humidity": measured(here.humidity_percent, "%"),  # type: ignore[arg-type]
    }
    allowed = {name: 0.5 * (item.high - item.low) + _ROUNDED[name] for name, item in halves.items()}
    allowed["difference"] += uneven_k
    if drawn.truth == "sound":
        allowed["surface"] += uneven_k
    return allowed


def _band(difference_k: float) -> str:
    return next(id for id, (low, high) in BANDS_K.items() if low <= difference_k < high)


def _largest(mask: Mask) -> tuple[tuple[float, float], ...]:
    return tuple((row, column) for row, column in _polygons(mask)[0])


def _polygons(mask: Mask) -> list[list[list[float]]]:
    """Outlines of the parts of a mask, the largest first."""
    from scipy import ndimage

    parts, _ = ndimage.label(mask)
    sizes = np.bincount(parts.ravel())[1:]
    order = [int(n) for n in np.argsort(-sizes, kind="stable") if sizes[n] >= LEAST_PIXELS]
    return [
        [[round(float(r), 1), round(float(c), 1)] for r, c in outline(parts == number + 1, MOST_CORNERS)]
        for number in order
    ]
