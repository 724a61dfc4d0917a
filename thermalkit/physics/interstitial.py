"""Water that condenses inside a wall and dries again, month by month.

Vapour diffuses through plane layers; liquid does not move. Rain, air leaks, capillary masonry and
hygroscopic timber are outside the method, so a clean result says nothing about them.

Source
------
ISO 13788:2012, clause 6 (procedure from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.envelope import OUTDOOR_FILM_M2K_W
from thermalkit.physics.layers import INDOOR_FILM_M2K_W, temperature_profile_degc
from thermalkit.physics.moist_air import saturation_pressure_pa

_VAPOUR_PERMEABILITY_AIR = 2.0e-10  # kg/(m s Pa), δ_0 of ISO 13788
_THICKEST_PART_M2K_W = 0.25
_SECONDS = 86_400.0 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
_NOTHING_KG_M2 = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer: its thermal resistance and the air layer that resists vapour as much, s_d = μ d."""

    resistance_m2k_w: float
    diffusion_thickness_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """Where water gathers: the layer, counted from inside, and how far through it (1 is its outer face)."""

    layer: int
    depth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InterstitialYear:
    """Twelve months from the first one that condenses; `months` holds their numbers, 0 for January.

    `gained_g_m2` and `held_g_m2` have shape (12, planes): change in the month, and what is there at its end.
    """

    months: tuple[int, ...]
    planes: tuple[Plane, ...]
    gained_g_m2: FloatArray
    held_g_m2: FloatArray
    surface_condenses: tuple[bool, ...]

    @property
    def condenses(self) -> bool:
        """Whether water gathers in any month."""
        return bool(self.planes)

    @property
    def most_held_g_m2(self) -> float:
        """Most water at the end of a month, all planes together."""
        return float(self.held_g_m2.sum(axis=1).max(initial=0.0))

    @property
    def left_g_m2(self) -> float:
        """Water still there after twelve months; above 0 it gathers from year to year."""
        return float(self.held_g_m2[-1].sum())


def monthly_condensation(
    layers: Sequence[Layer],
    indoor_degc: ArrayLike,
    indoor_vapour_pressure_pa: ArrayLike,
    outdoor_degc: ArrayLike,
    outdoor_vapour_pressure_pa: ArrayLike,
    *,
    film_m2k_w: float = INDOOR_FILM_M2K_W["horizontal"],
    outdoor_film_m2k_w: float = OUTDOOR_FILM_M2K_W,
) -> InterstitialYear:
    """Condensation and drying inside plane layers through a year of monthly means.

    Parameters
    ----------
    layers : sequence of Layer
        From inside to outside; resistance 0 to 50 m²K/W, diffusion thickness 0.001 to 1 000 000 m.
    indoor_degc, outdoor_degc : array_like, shape () or (12,)
        January to December, -60 to 100 °C.
    indoor_vapour_pressure_pa, outdoor_vapour_pressure_pa : array_like, shape () or (12,)
        January to December, 1 to 10 000 Pa.
    film_m2k_w, outdoor_film_m2k_w : float
        R_si 0.01 to 5, R_se 0 to 5 m²K/W.

    Returns
    -------
    InterstitialYear
        Begins with a dry wall in the first condensing month after the longest time without.

    Raises
    ------
    OutOfDomain
        An input lies outside its range or is missing, or there is no layer.

    Notes
    -----
    Resistant layers are cut into parts of at most 0.25 m²K/W. Vapour pressure over diffusion thickness is
    the tightest string below saturation (the tangents), held at saturation wherever water lies. A plane
    that dries out within a month lets go at that moment.

    Source
    ------
    ISO 13788:2012, clause 6 (from memory).

    Examples
    --------
    >>> wall = [Layer(resistance_m2k_w=2.0, diffusion_thickness_m=0.1),
    ...         Layer(resistance_m2k_w=0.1, diffusion_thickness_m=2.0)]
    >>> year = monthly_condensation(wall, 20.0, 1200.0, [0, 1, 5, 9, 13, 16, 18, 18, 14, 10, 5, 2], 600.0)
    >>> year.planes, year.left_g_m2
    ((Plane(layer=0, depth=1.0),), 0.0)
    """
    parts, places = _cut(layers)
    indoor, pressure, outdoor, outdoor_pressure = (
        _twelve(name, value, low, high)
        for name, value, low, high in (
            ("indoor_degc", indoor_degc, -60.0, 100.0),
            ("indoor_vapour_pressure_pa", indoor_vapour_pressure_pa, 1.0, 10_000.0),
            ("outdoor_degc", outdoor_degc, -60.0, 100.0),
            ("outdoor_vapour_pressure_pa", outdoor_vapour_pressure_pa, 1.0, 10_000.0),
        )
    )
    profile = temperature_profile_degc(
        parts[:, 0].tolist(), indoor, outdoor, film_m2k_w=film_m2k_w, outdoor_film_m2k_w=outdoor_film_m2k_w
    )
    saturation = saturation_pressure_pa(profile)
    s = np.concatenate([[0.0], np.cumsum(parts[:, 1])])
    above = saturation.copy()
    above[:, 0] = np.minimum(pressure, saturation[:, 0])
    above[:, -1] = np.minimum(outdoor_pressure, saturation[:, -1])
    months = _months_from_first(np.array([_gain(s, row, np.zeros(s.size, bool)).max() > 0 for row in above]))
    held = _year(s, above[months], _SECONDS[months])
    return _result(months, places, held, pressure > saturation[:, 0])


def _twelve(name: str, value: ArrayLike, low: float, high: float) -> FloatArray:
    given = require_within(name, value, low, high)
    if given.shape not in {(), (12,)} or not np.all(np.isfinite(given)):
        raise OutOfDomain(say("physics.one-or-twelve", name=name, shape=str(given.shape)))
    return np.broadcast_to(given, (12,))


def _cut(layers: Sequence[Layer]) -> tuple[FloatArray, list[Plane]]:
    """Resistance and diffusion thickness of thin parts, and the plane on the outer side of each."""
    if not layers:
        raise OutOfDomain(say("physics.no-layers"))
    rows, places = [], []
    for number, layer in enumerate(layers):
        resistance = float(require_within("resistance_m2k_w", layer.resistance_m2k_w, 0.0, 50.0))
        diffusion = float(require_within("diffusion_thickness_m", layer.diffusion_thickness_m, 0.001, 1e6))
        count = max(1, int(np.ceil(resistance / _THICKEST_PART_M2K_W - 1e-9)))
        rows += [(resistance / count, diffusion / count)] * count
        places += [Plane(layer=number, depth=(part + 1) / count) for part in range(count)]
    return np.array(rows), places


def _gain(s: FloatArray, above: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Water gained at each plane in kg/(m² s): vapour that arrives less vapour that leaves.

    `above` is the pressure that cannot be exceeded: saturation, and at both ends that of the air.
    """
    held = np.flatnonzero(wet | (np.arange(s.size) == 0) | (np.arange(s.size) == s.size - 1))
    corners = [0]
    for start, end in pairwise(held):
        corners += _lower_hull(s, above, int(start), int(end))[1:]
    pressure = np.interp(s, s[corners], above[corners])
    flow = -np.diff(pressure) / np.diff(s)
    gain = np.zeros(s.size)
    inner = np.array(corners[1:-1], dtype=int)
    gain[inner] = _VAPOUR_PERMEABILITY_AIR * (flow[inner - 1] - flow[inner])
    return gain


def _lower_hull(s: FloatArray, p: FloatArray, start: int, end: int) -> list[int]:
    """Points that a string touches when pulled tight from below between two planes."""
    hull: list[int] = []
    for k in range(start, end + 1):
        while len(hull) > 1 and _is_above(s, p, hull[-2], hull[-1], k):
            hull.pop()
        hull.append(k)
    return hull


def _is_above(s: FloatArray, p: FloatArray, a: int, b: int, c: int) -> bool:
    """Whether plane b lies on or above the line from a to c."""
    return bool((p[b] - p[a]) * (s[c] - s[a]) >= (p[c] - p[a]) * (s[b] - s[a]))


def _months_from_first(condenses: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Months from the first condensing one after the longest time without, else from January."""
    starts = [m for m in range(12) if condenses[m] and not condenses[m - 1]]
    dry_before = [next(n for n in range(1, 13) if condenses[m - n]) for m in starts]
    first = starts[int(np.argmax(dry_before))] if starts else 0
    return (first + np.arange(12)) % 12


def _year(s: FloatArray, above: FloatArray, seconds: FloatArray) -> FloatArray:
    """Water held at each plane at the end of each month, kg/m²."""
    held = np.zeros(s.size)
    ends = np.empty((len(seconds), s.size))
    for month, length in enumerate(seconds):
        held = ends[month] = _month(s, above[month], held, float(length))
    return ends


def _month(s: FloatArray, above: FloatArray, held: FloatArray, left: float) -> FloatArray:
    """Water after a month, which is split where a plane dries out."""
    while True:
        wet = held > _NOTHING_KG_M2
        gain = _gain(s, above, wet)
        drying = wet & (gain < 0.0)
        lasts = np.full(s.size, np.inf)
        lasts[drying] = -held[drying] / gain[drying]
        step = min(left, float(lasts.min()))
        held = np.where(lasts <= step, 0.0, held + gain * step)
        left -= step
        if left <= 0.0:
            return held


def _result(
    months: NDArray[np.int64], places: list[Plane], held: FloatArray, surface: NDArray[np.bool_]
) -> InterstitialYear:
    used = np.flatnonzero(held.max(axis=0) > _NOTHING_KG_M2)
    grams = 1000.0 * held[:, used]
    return InterstitialYear(
        months=tuple(int(m) for m in months),
        planes=tuple(places[k - 1] for k in used),
        gained_g_m2=np.diff(grams, axis=0, prepend=0.0),
        held_g_m2=grams,
        surface_condenses=tuple(bool(surface[m]) for m in months),
    )
