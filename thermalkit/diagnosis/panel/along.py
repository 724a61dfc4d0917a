"""Along a conductor: the heat of a joint falls like a fin, that of a current stays level.

Both are fitted at once, the fin length coming from size and insulation. Where less than 1.5 fin lengths are
in view the two cannot be told apart, and nothing is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.marks import pixel_sizes_m
from thermalkit.diagnosis.panel.ways import Way
from thermalkit.diagnosis.surface import View, naming
from thermalkit.imaging.mark import Mark
from thermalkit.imaging.statistics import profile
from thermalkit.measured import FloatArray
from thermalkit.physics.conductors import (
    Conductor,
    conductor,
    conductor_film_w_m2k,
    conductors,
    current_rise_k,
    fin_length_m,
    surface_share,
)

ENOUGH_FINS = 1.5
LEAST_WIDTH_PX = 2.0  # narrower conductors are seen, not measured
WIDE_PX = 6.0  # from here on blur does not matter
_BEYOND_K = 30.0  # a fit may run out of the picture, not out of reason
_FINS = 9  # fin lengths at which the fit is made; between them it is interpolated
_SAMPLED_PX2 = 1.0 / 12.0 + 1.0 / 6.0
_SMOOTH = 3.0  # neighbouring places of a profile share so much of their noise


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Along:
    """A conductor followed from its terminal.

    `joint_k` is what the joint's end adds, `level_degc` and `level_k` what the current makes, `end_degc` both
    at the terminal; all of the metal, shape (draws,). `expected_k` is the rise its current should make.
    `end_film_w_m2k` is the film where the joint's heat enters, larger than that of the whole conductor as
    it grows with the rise. `fins` are fin lengths in view; `surface_degc` the most likely profile over
    `distance_m`, for a picture.
    """

    wire: Conductor
    film_w_m2k: FloatArray
    end_film_w_m2k: FloatArray
    fin_m: FloatArray
    joint_k: FloatArray
    level_degc: FloatArray
    level_k: FloatArray | None
    end_degc: FloatArray
    expected_k: FloatArray | None
    fins: float
    width_px: float
    distance_m: FloatArray
    surface_degc: FloatArray
    fitted_degc: FloatArray

    @property
    def is_enough(self) -> bool:
        """Whether joint and current can be told apart."""
        return self.fins >= ENOUGH_FINS


def along(case: Case, way: Way, trace: Mark, seen: View, air: FloatArray | None) -> Along | None:
    """Fit a conductor; None where its size, the scale of the picture or the air is not known."""
    wire, sizes_m = wire_of(way), pixel_sizes_m(seen.frame)
    if wire is None or sizes_m is None or air is None:
        return None
    width_px = wire.outer_diameter_m / float(np.mean(sizes_m))
    course = _profile(way, trace, seen, sizes_m)
    if width_px < LEAST_WIDTH_PX or course.distance_m.size < 8:
        return None
    with naming(case, trace.frame, trace.id):
        return _fitted(case, way, trace, seen, air, wire, sizes_m, course)


def wire_of(way: Way) -> Conductor | None:
    """The conductor of a way, where its size is one of the table."""
    size = way.circuit.conductor_mm2
    if size is None or f"{size:g} {way.circuit.conductor_material}" not in conductors():
        return None
    return conductor(size, way.circuit.conductor_material, is_insulated=way.circuit.insulation != "bare")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """Along a trace from its terminal: distance, how far below the terminal, apparent temperature."""

    distance_m: FloatArray
    below_m: FloatArray
    apparent_degc: FloatArray


def _profile(way: Way, trace: Mark, seen: View, sizes_m: tuple[float, float]) -> _Course:
    """The course of a trace, gaps left out."""
    points = np.asarray(trace.points, dtype=np.float64)
    terminal = way.marks.get("terminal")
    if terminal is not None:
        middle = np.mean(terminal.points, axis=0)
        if np.hypot(*(points[-1] - middle)) < np.hypot(*(points[0] - middle)):
            points = points[::-1]
    distance_px, apparent = profile(seen.frame.apparent_degc, points)
    corners = np.diff(points, axis=0)
    reached_px = np.concatenate([[0.0], np.cumsum(np.hypot(*corners.T))])
    reached_m = np.concatenate([[0.0], np.cumsum(np.hypot(*(corners * np.array(sizes_m)).T))])
    below_m = (points[:, 0] - points[0, 0]) * sizes_m[0]
    valid = np.isfinite(apparent)
    return _Course(
        distance_m=np.interp(distance_px, reached_px, reached_m)[valid],
        below_m=np.interp(distance_px, reached_px, below_m)[valid],
        apparent_degc=apparent[valid],
    )


def _fitted(
    case: Case,
    way: Way,
    trace: Mark,
    seen: View,
    air: FloatArray,
    wire: Conductor,
    sizes_m: tuple[float, float],
    course: _Course,
) -> Along:
    name = f"{trace.frame} {trace.id}"
    width_px = wire.outer_diameter_m / float(np.mean(sizes_m))
    distance_m, apparent = course.distance_m, course.apparent_degc
    around = float(np.median(air))
    film = _film(case, way, wire, around, float(np.median(_nominal(seen, apparent))) - around)
    fin_m = fin_length_m(wire, film)
    scale = 1.0 + case.draws.rectangular(
        f"distance-stated {trace.frame}", case.assumed("distance-stated").half_width
    )
    row = case.assumed("cabinet-stratification")
    layered = case.draws.between(f"cabinet-stratification {way.cabinet.id}", row.low, row.high)
    level, joint, spread = _fit(course, fin_m / scale, layered)
    noise = case.draws.normal
    level = level + noise(f"camera-noise {name} level", spread[0])
    joint = joint + noise(f"camera-noise {name} joint", spread[1])
    uneven = case.draws.rectangular
    width = case.assumed("camera-uniformity").half_width
    level = level + uneven(f"camera-uniformity {name} far", width)
    row = case.assumed("trace-start")
    before_m = case.draws.between(f"trace-start {name}", row.low, row.high) * sizes_m[0]
    end = level + joint * np.exp(before_m / fin_m) + uneven(f"camera-uniformity {name} near", width)
    share = seen_share(case, width_px)
    beyond = (float(apparent.min()) - _BEYOND_K, float(apparent.max()) + _BEYOND_K)
    level, end = (np.clip(around + (part - around) / share, *beyond) for part in (level, end))
    surface_degc = seen.surface_degc(end)
    end_film = _film(case, way, wire, around, float(np.median(surface_degc)) - around)
    end_degc = air + (surface_degc - air) / surface_share(wire, end_film)
    level_degc = air + (seen.surface_degc(level) - air) / surface_share(wire, film)
    middle = float(np.median(fin_m / scale))
    slope = float(np.median(layered))
    nominal = _fit(course, np.array([middle]), np.array([slope]))
    return Along(
        wire=wire,
        film_w_m2k=film,
        end_film_w_m2k=end_film,
        fin_m=fin_m,
        joint_k=end_degc - level_degc,
        level_degc=level_degc,
        level_k=level_degc - air,
        end_degc=end_degc,
        expected_k=_expected_k(case, way, wire, film, air),
        fins=float(distance_m[-1] / np.median(fin_m)),
        width_px=width_px,
        distance_m=distance_m,
        surface_degc=_nominal(seen, apparent),
        fitted_degc=_nominal(
            seen, nominal[0] + nominal[1] * np.exp(-distance_m / middle) - slope * course.below_m
        ),
    )


def _film(case: Case, way: Way, wire: Conductor, around_degc: float, rise_k: float) -> FloatArray:
    """Film of the conductor at a rise over the air, wider for bundles and fans."""
    rise_k, around_degc = (
        float(np.clip(value, *bounds))
        for value, bounds in ((rise_k, (1.0, 150.0)), (around_degc, (-40.0, 90.0)))
    )
    still = float(conductor_film_w_m2k(wire.outer_diameter_m, rise_k, around_degc))
    row = case.assumed("conductor-film")
    film = still * case.draws.between(f"conductor-film {way.cabinet.id}", row.low, row.high)
    if way.cabinet.fan == "yes":
        row = case.assumed("conductor-fan")
        film = film + case.draws.between(f"conductor-fan {way.cabinet.id}", row.low, row.high)
    return film


def _fit(
    course: _Course, fin_m: FloatArray, layered_k_m: FloatArray
) -> tuple[FloatArray, FloatArray, tuple[float, float]]:
    """Level at the terminal's height and joint at each fin length, and the spread that noise leaves in both.

    Air that is cooler below makes the level fall too; the fit is linear in it.
    """
    grid = np.linspace(fin_m.min(), fin_m.max(), _FINS if fin_m.size > 1 else 1)
    sides = np.stack([course.apparent_degc, course.below_m], axis=1)
    found, covariance = [], np.zeros((2, 2))
    for length_m in grid:
        basis = np.stack([np.ones_like(course.distance_m), np.exp(-course.distance_m / length_m)], axis=1)
        coefficients = np.linalg.lstsq(basis, sides, rcond=None)[0]
        left = sides[:, 0] - basis @ coefficients[:, 0]
        covariance += np.linalg.pinv(basis.T @ basis) * float(np.var(left)) * _SMOOTH / grid.size
        found.append(coefficients)
    lines = np.array(found)
    level, joint = (
        np.interp(fin_m, grid, lines[:, i, 0]) + layered_k_m * np.interp(fin_m, grid, lines[:, i, 1])
        for i in (0, 1)
    )
    return level, joint, (float(np.sqrt(covariance[0, 0])), float(np.sqrt(covariance[1, 1])))


def seen_share(case: Case, width_px: float) -> FloatArray | float:
    """Share of its warmth that the middle line of a narrow conductor shows through the optics' blur.

    A pixel's own width adds 1/12 px² to the spread, reading between pixels 1/6 px² on average.
    """
    from scipy.special import erf

    if width_px >= WIDE_PX:
        return 1.0
    row = case.assumed("blur")
    spread_px = np.sqrt(case.draws.between("blur camera", row.low, row.high) ** 2 + _SAMPLED_PX2)
    return np.asarray(erf(width_px / 2.0 / (np.sqrt(2.0) * spread_px)), dtype=np.float64)


def _expected_k(
    case: Case, way: Way, wire: Conductor, film: FloatArray, air: FloatArray
) -> FloatArray | None:
    from thermalkit.diagnosis.panel.ways import current_a
    from thermalkit.errors import OutOfDomain

    current = current_a(case, way)
    if current is None:
        return None
    try:
        return current_rise_k(wire, current, film, air)
    except OutOfDomain:
        return None


def _nominal(seen: View, apparent: FloatArray) -> FloatArray:
    """Most likely surface temperature of a few apparent ones."""
    from thermalkit.physics.radiation import surface_temperature_degc

    return surface_temperature_degc(
        apparent - float(np.median(seen.offset_k)),
        float(np.median(seen.emissivity)),
        float(np.median(seen.reflected_degc)),
        band_um=seen.band_um,
    )
