"""A measured line across a junction beside the calculated one, so that a wrong guess about the wall shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.calculated.variants import Variants
from thermalkit.diagnosis.envelope.examined import limits_of
from thermalkit.diagnosis.envelope.loss import CORNERS
from thermalkit.diagnosis.marks import numbers_of
from thermalkit.diagnosis.places import factor_as_found_draws, factor_draws
from thermalkit.diagnosis.surface import naming, spot_apparent_degc, view
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.imaging.mark import Mark
from thermalkit.imaging.statistics import profile
from thermalkit.measured import COVERAGE, FloatArray
from thermalkit.physics.detail_result import DetailResult

PLACES = 24
SHORTEST_M = 0.05  # own choice: a shorter line crosses no junction
AGREES = 0.8  # own choice: share of the line on which measured and calculated overlap
_CORNER_STRETCH = float(np.sqrt(2.0))

Agreement = Literal["agrees", "colder", "warmer"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measured:
    """Temperature factor at the limit's film along a line; `draws` has shape (places, draws)."""

    along_m: FloatArray
    draws: FloatArray

    def quantiles(self) -> FloatArray:
        """Low end, middle and high end, shape (3, places)."""
        tail = (1.0 - COVERAGE) / 2.0
        return np.asarray(np.quantile(self.draws, [tail, 0.5, 1.0 - tail], axis=1))


def measured_line(case: Case, trace: Mark, variants: Variants) -> Measured | None:
    """Factors along a trace from the junction outwards; None where they cannot be given.

    Sizes or temperatures may be missing, or the line too short. What the whole frame shares is drawn once;
    the film is one for the line.
    """
    lengths = numbers_of(case, trace).profile
    if lengths is None or lengths.unit != "m":
        return None
    with naming(case, trace.frame, trace.id):
        seen = view(case, trace.frame)
        _, apparent = profile(seen.frame.apparent_degc, trace.points)
        reach_m = float(lengths.distance[-1])
        if reach_m < SHORTEST_M:
            return None
        along = np.linspace(0.0, reach_m, PLACES)
        values = np.interp(along, lengths.distance, apparent)
        draws = np.stack([spot_apparent_degc(case, seen, float(v), trace.id) for v in values])
        if not np.isfinite(draws).all():
            return None
        air = room_air(case, seen.frame.room)
        as_found = factor_as_found_draws(case, seen, trace, seen.surface_degc(draws), air)
        if as_found is None:
            return None
        factor = factor_draws(case, seen, trace, as_found, limits_of(case))
    stretch = _CORNER_STRETCH if variants.name in CORNERS else 1.0
    return Measured(along_m=along * stretch, draws=factor)


def calculated_line(found: DetailResult, along_m: FloatArray) -> FloatArray:
    """Factors of a drawing at distances from its edge or corner outwards along the wall."""
    return np.asarray(np.interp(along_m, found.along_m, found.factors))


def agreement(line: Measured, band: FloatArray) -> Agreement:
    """Whether the measured interval meets the calculated band (2, places) on most of the line."""
    low, _, high = line.quantiles()
    below, above = band.min(axis=0), band.max(axis=0)
    is_colder, is_warmer = high < below, low > above
    if np.mean(~(is_colder | is_warmer)) >= AGREES:
        return "agrees"
    return "colder" if is_colder.sum() >= is_warmer.sum() else "warmer"
