"""What of a heated floor compares between two visits: how much of it is warm, and what it gives.

Degrees follow the water and the minute of warming up. A share of one picture does not, and what a settled
floor gives for each kelvin of its water does not either; degrees are compared in alike weather only.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.change import Compared, HigherIs
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.heating.floor.looked import Floor, floors, kept_lines, minutes_of
from thermalkit.diagnosis.heating.floor.temperature import (
    bare_surface_degc,
    between_pipes,
    floor_mean_degc,
    output_w_m2,
)
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.imaging.clearance import Surroundings
from thermalkit.measured import FloatArray

RESTS_ON = ("frames", "covered", "pipe")
LEAST_WARM_K = 1.5  # own choice: a floor that is warmer than its room by less tells nothing of its loops
_WARM_PART = 0.9  # quantile of a floor that stands for its warm part
_HALF = 0.5
_PERCENT = 100.0


def compared(case: Case) -> Iterator[Compared]:
    """Of each floor its warm share, what it gives, its mean, and the pipes that stand out."""
    for floor in floors(case):
        for term, draws, higher_is, by_degrees in _quantities(case, floor):
            if draws is not None:
                yield Compared(
                    place=floor.place,
                    term=term,
                    draws=draws,
                    room=case.site.frames[floor.frame].keys.room,
                    frame=floor.keys.frame,
                    higher_is=higher_is,
                    needs_alike_weather=by_degrees,
                    rests_on=RESTS_ON,
                )


def _quantities(case: Case, floor: Floor) -> Iterator[tuple[str, FloatArray | None, HigherIs | None, bool]]:
    around = kept_lines(case, floor)
    mean = floor_mean_degc(case, floor, around)
    yield "floor-warm-share", _warm_share_percent(case, floor, around, mean), "better", False
    if minutes_of(case, floor, floor.series[-1]) is None:
        given = None if mean is None else output_w_m2(case, floor, mean)
        yield "floor-output-per-kelvin", _per_kelvin(case, floor, given), "better", False
        yield "floor-output", given, None, True
        yield "floor-mean", mean, None, True
    yield "pipe-length", _pipes_m(case, floor, around), None, False


def _warm_share_percent(
    case: Case, floor: Floor, around: Surroundings | None, mean: FloatArray | None
) -> FloatArray | None:
    """Share of the bare floor at least half as far above the room as its warm part, shape (draws,)."""
    name = floor.series[-1]
    air = room_air(case, case.site.frames[name].room)
    if around is None or air is None or mean is None:
        return None
    surface = bare_surface_degc(case, around, name)
    known = np.isfinite(surface)
    soft = np.sort(between_pipes(surface, around)[known])
    warm_k = (
        float(np.quantile(soft, _WARM_PART)) + (mean - float(surface[known].mean())) - air.temperature_degc
    )
    if float(np.median(warm_k)) < LEAST_WARM_K:
        return None
    width = case.assumed("camera-uniformity").half_width
    uneven = case.draws.rectangular(f"camera-uniformity {name} {floor.id} warm part", width)
    from_warm = np.quantile(soft, _WARM_PART) - (1.0 - _HALF) * np.maximum(warm_k, 0.0) + uneven
    return np.asarray(_PERCENT * (1.0 - np.searchsorted(soft, from_warm) / soft.size))


def _per_kelvin(case: Case, floor: Floor, given: FloatArray | None) -> FloatArray | None:
    """What a settled floor gives for each kelvin of its water over the room, shape (draws,)."""
    keys, air = floor.keys, room_air(case, case.site.frames[floor.series[-1]].room)
    if given is None or air is None or keys.flow_degc is None or keys.return_degc is None:
        return None
    width = case.assumed("pipe-accuracy").half_width
    flow, back = (
        read + case.draws.rectangular(f"pipe-accuracy {floor.id} {name}", width)
        for name, read in (("flow", keys.flow_degc), ("return", keys.return_degc))
    )
    above_k = (flow + back) / 2.0 - air.temperature_degc
    return None if float(above_k.min()) < LEAST_WARM_K else np.asarray(given / above_k)


def _pipes_m(case: Case, floor: Floor, around: Surroundings | None) -> FloatArray | None:
    """Pipes that stand out; two pictures of one floor do not show quite the same length."""
    if around is None or not around.found.lines:
        return None
    length_m = sum(line.length_mm for line in around.found.lines) / 1000.0
    row = case.assumed("pipes-seen-again")
    return length_m * (1.0 + case.draws.rectangular(f"pipes-seen-again {floor.id}", row.half_width))
