"""Heated floors: output by temperature, the water they need, and the ripple of warm lines over pipes.

A floor is a slab with line sources in it, a film with its covering above and one with its insulation below.

Source
------
EN 1264-2, clause 6 and Tables A.1 to A.3. H. Carslaw, J. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959,
3.9 (modes of a slab between two films), from memory.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within

BASE_W_M2K, BASE_EXPONENT = 8.92, 1.1
TOP_FILM_W_M2K = 10.8
WIDEST_M = 0.375
_PIPE_W_M2K = 6.7
_MODES, _HARMONICS, _HALVINGS = 60, 80, 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """A screed with pipes.

    `pipe_height_m` is the height of their axes above the slab's underside, `top_w_m2k` the film above with
    `covering_m2k_w` under it, `bottom_w_m2k` insulation and film below.
    """

    thickness_m: float
    pipe_height_m: float
    conductivity_w_mk: float = 1.2
    heat_capacity_j_m3k: float = 2.0e6
    top_w_m2k: float = TOP_FILM_W_M2K
    covering_m2k_w: float = 0.0
    bottom_w_m2k: float = 0.75

    def __post_init__(self) -> None:
        require_within("thickness_m", self.thickness_m, 0.01, 0.5)
        require_within("pipe_height_m", self.pipe_height_m, 0.0, self.thickness_m)
        require_within("conductivity_w_mk", self.conductivity_w_mk, 0.05, 5.0)
        require_within("heat_capacity_j_m3k", self.heat_capacity_j_m3k, 1e5, 5e6)
        require_within("top_w_m2k", self.top_w_m2k, 0.1, 50.0)
        require_within("covering_m2k_w", self.covering_m2k_w, 0.0, 1.0)
        require_within("bottom_w_m2k", self.bottom_w_m2k, 1e-3, 50.0)

    @property
    def above_w_m2k(self) -> float:
        """Film and covering in series."""
        return 1.0 / (1.0 / self.top_w_m2k + self.covering_m2k_w)

    @property
    def shown_share(self) -> float:
        """Excess of the surface over that of the slab's upper side."""
        return self.above_w_m2k / self.top_w_m2k


def floor_output_w_m2(excess_k: ArrayLike) -> FloatArray:
    """Heat that a floor gives to its room, by the base characteristic.

    Parameters
    ----------
    excess_k : array_like, any shape
        Mean floor surface above the room, 0 to 40 K.

    Returns
    -------
    ndarray of float64
        8.92 (θ_F,m - θ_i)^1.1 in W/m².

    Raises
    ------
    OutOfDomain
        The excess lies outside its range.

    Source
    ------
    EN 1264-2, clause 6.

    Examples
    --------
    >>> floor_output_w_m2(9.0).round(1)
    np.float64(100.0)
    """
    return BASE_W_M2K * require_within("excess_k", excess_k, 0.0, 40.0) ** BASE_EXPONENT


def characteristic_w_m2k(
    spacing_m: ArrayLike,
    cover_m: ArrayLike,
    covering_m2k_w: ArrayLike,
    *,
    conductivity_w_mk: ArrayLike = 1.2,
    diameter_m: ArrayLike = 0.016,
) -> FloatArray:
    """Output per kelvin of mean water excess, pipes in screed (types A and C).

    Parameters
    ----------
    spacing_m : array_like, any shape
        T between pipes, 0.05 to 0.6 m; above 0.375 m in proportion.
    cover_m : array_like, broadcastable
        Screed above the pipes s_u, 0.01 to 0.2 m.
    covering_m2k_w : array_like, broadcastable
        R_λB of the covering, 0 to 0.15 m²K/W.
    conductivity_w_mk : array_like, broadcastable
        λ_E of the screed, 0.3 to 3 W/(mK).
    diameter_m : array_like, broadcastable
        Outer diameter of the pipe D, 0.008 to 0.03 m; wall of 2 mm at 0.35 W/(mK).

    Returns
    -------
    ndarray of float64
        K_H in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    EN 1264-2, Tables A.1 to A.3.

    Examples
    --------
    >>> characteristic_w_m2k(0.15, 0.045, 0.0).round(2)
    np.float64(5.54)
    """
    spacing = require_within("spacing_m", spacing_m, 0.05, 0.6)
    cover = require_within("cover_m", cover_m, 0.01, 0.2)
    covering = require_within("covering_m2k_w", covering_m2k_w, 0.0, 0.15)
    screed = require_within("conductivity_w_mk", conductivity_w_mk, 0.3, 3.0)
    diameter = require_within("diameter_m", diameter_m, 0.008, 0.03)
    within = np.minimum(spacing, WIDEST_M)
    a_b = (1.0 / TOP_FILM_W_M2K + 0.045) / (1.0 / TOP_FILM_W_M2K + 0.045 / screed + covering)
    found = (
        _PIPE_W_M2K
        * a_b
        * _factor("T", within, covering) ** (1.0 - within / 0.075)
        * _factor("U", within, covering) ** (100.0 * (0.045 - cover))
        * _factor("D", within, covering) ** (250.0 * (diameter - 0.020))
    )
    return np.asarray(found * within / spacing)[()]


def surface_over_pipes_k(
    across_m: ArrayLike, line_w_m: float, spacing_m: float, slab: Slab, *, harmonics: int = 60
) -> FloatArray:
    """Steady floor surface above its surroundings, over a row of equal pipes.

    Parameters
    ----------
    across_m : array_like, any shape
        From the axis of a pipe, -100 to 100 m.
    line_w_m : float
        Heat of a pipe, -500 to 500 W/m; the same surroundings above and below.
    spacing_m : float
        0.02 to 2 m.
    slab : Slab
    harmonics : int
        How many terms of the series.

    Returns
    -------
    ndarray of float64
        In K.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Closed form for line sources in a slab between two films (Fourier series).

    Examples
    --------
    >>> slab = Slab(thickness_m=0.065, pipe_height_m=0.022)
    >>> surface_over_pipes_k([0.0, 0.1], 20.0, 0.2, slab).round(2)
    array([9.99, 7.26])
    """
    across = require_within("across_m", across_m, -100.0, 100.0)
    line = require_within("line_w_m", line_w_m, -500.0, 500.0)
    spacing = float(require_within("spacing_m", spacing_m, 0.02, 2.0))
    waves = 2.0 * np.pi * np.arange(harmonics + 1) / spacing
    weights = np.where(waves > 0.0, 2.0, 1.0) * surface_response_m2k_w(waves, slab)
    return np.asarray(line / spacing * np.cos(across[..., None] * waves) @ weights)[()]


def surface_response_m2k_w(wave_per_m: ArrayLike, slab: Slab, since_s: ArrayLike | None = None) -> FloatArray:
    """Surface excess over a sheet source at the pipes' height that swings as cos(b x).

    Parameters
    ----------
    wave_per_m : array_like, any shape
        b, 0 to 1e5 radians per metre; 0 is an even source.
    slab : Slab
    since_s : array_like, broadcastable, optional
        Time since the source was switched on, 0 to 1e8 s; steady otherwise.

    Returns
    -------
    ndarray of float64
        In K per W/m².

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Steady: closed form; in time: less the modes that have not died away.
    """
    wave = require_within("wave_per_m", wave_per_m, 0.0, 1e5)
    steady = _steady_m2k_w(wave, slab)
    if since_s is None:
        return np.asarray(steady * slab.shown_share)[()]
    since = require_within("since_s", since_s, 0.0, 1e8)
    modes = _modes(slab)
    left = _fading(wave, since, slab, modes, modes.at(slab.thickness_m) * modes.at(slab.pipe_height_m))
    return np.asarray((steady - left) * slab.shown_share)[()]


def upper_side_m2k_w(
    wave_per_m: ArrayLike,
    thickness_m: ArrayLike,
    pipe_height_m: ArrayLike,
    conductivity_w_mk: ArrayLike,
    *,
    above_w_m2k: ArrayLike,
    below_w_m2k: ArrayLike,
) -> FloatArray:
    """Steady excess of a slab's upper side over a sheet source that swings as cos(b x), many slabs at once.

    Parameters
    ----------
    wave_per_m : array_like, any shape
        b in radians per metre; 0 is an even source.
    thickness_m, pipe_height_m, conductivity_w_mk, above_w_m2k, below_w_m2k : array_like, broadcastable
        As `Slab` has them, checked by the caller.

    Returns
    -------
    ndarray of float64
        In K per W/m².

    Source
    ------
    Closed form for a sheet source in a slab between two films.
    """
    height, pipe, conductivity, over, under = (
        np.asarray(v, dtype=np.float64)
        for v in (thickness_m, pipe_height_m, conductivity_w_mk, above_w_m2k, below_w_m2k)
    )
    b = np.maximum(np.asarray(wave_per_m, dtype=np.float64), 1e-3)
    top, below = over / (conductivity * b), under / (conductivity * b)
    above = 0.5 * (np.exp(b * (pipe - height)) * (1.0 + below) + np.exp(-b * (pipe + height)) * (1.0 - below))
    both = top * below
    shade = (1.0 + top + below + both) + (top + below - 1.0 - both) * np.exp(-2.0 * b * height)
    return np.asarray(above / (0.5 * b * shade) / conductivity)


def pipe_heat_w_m(
    steps: int,
    step_s: float,
    water_excess_k: float,
    spacing_m: float,
    slab: Slab,
    *,
    diameter_m: float = 0.016,
    pipe_mk_w: float = 0.13,
) -> FloatArray:
    """Heat of a pipe from when warm water enters a cold floor, even during each step.

    Parameters
    ----------
    steps : int
        How many, 1 to 5000.
    step_s : float
        1 to 3600 s.
    water_excess_k : float
        Water above the surroundings, -50 to 80 K.
    spacing_m : float
        0.02 to 2 m.
    slab : Slab
    diameter_m : float
        Outside, 0.005 to 0.05 m.
    pipe_mk_w : float
        Resistance of wall and water film, 0.001 to 5 mK/W.

    Returns
    -------
    ndarray of float64, shape (steps,)
        In W/m.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Superposition (Duhamel): temperature beside the pipe from its heat so far.
    """
    count = int(require_within("steps", steps, 1, 5000))
    step = float(require_within("step_s", step_s, 1.0, 3600.0))
    water = float(require_within("water_excess_k", water_excess_k, -50.0, 80.0))
    spacing = float(require_within("spacing_m", spacing_m, 0.02, 2.0))
    radius = float(require_within("diameter_m", diameter_m, 0.005, 0.05)) / 2.0
    wall = float(require_within("pipe_mk_w", pipe_mk_w, 0.001, 5.0))
    beside = _beside_pipe_mk_w(step * np.arange(1.0, count + 1.0), spacing, slab, radius)
    change = np.zeros(count)
    for at in range(count):
        so_far = float(change[:at] @ beside[at:0:-1])
        total = float(change[:at].sum())
        change[at] = (water - so_far - wall * total) / (beside[0] + wall)
    return np.cumsum(change)


def surface_since_m2k_w(wave_per_m: ArrayLike, heat_w_m: FloatArray, step_s: float, slab: Slab) -> FloatArray:
    """Surface excess times metre per W of each wave at the end of a history of heat.

    Parameters
    ----------
    wave_per_m : array_like, any shape
        0 to 1e5 radians per metre.
    heat_w_m : ndarray, shape (steps,)
        Of a pipe, as `pipe_heat_w_m` gives it.
    step_s : float
        Length of its steps.
    slab : Slab

    Returns
    -------
    ndarray of float64, shape of the waves
        Excess in K for one pipe per metre of width.

    Raises
    ------
    OutOfDomain
        A wave or a time lies outside its range.
    """
    wave = np.asarray(wave_per_m, dtype=np.float64)
    change = np.diff(heat_w_m, prepend=0.0)
    since = step_s * np.arange(len(change), 0.0, -1.0)
    return np.asarray(surface_response_m2k_w(wave[..., None], slab, since) @ change)


def ripple_k(heat_w_m: FloatArray, step_s: float, spacing_m: float, slab: Slab) -> float:
    """Surface over the pipe less that midway, at the end of a history of heat.

    Parameters
    ----------
    heat_w_m : ndarray, shape (steps,)
        Of each pipe, as `pipe_heat_w_m` gives it.
    step_s : float
        Length of its steps.
    spacing_m : float
        0.02 to 2 m.
    slab : Slab

    Raises
    ------
    OutOfDomain
        An input lies outside its range.
    """
    spacing = float(require_within("spacing_m", spacing_m, 0.02, 2.0))
    odd = np.arange(1, 16, 2)  # even waves are as high midway
    swing = surface_since_m2k_w(2.0 * np.pi * odd / spacing, heat_w_m, step_s, slab)
    return float(4.0 / spacing * swing.sum())


@dataclass(frozen=True, slots=True)
class _Modes:
    """Shapes of temperature through the slab that die away without changing their form."""

    wave_per_m: FloatArray
    underside_per_m: float
    norm_m: FloatArray

    def at(self, height_m: float) -> FloatArray:
        phase = self.wave_per_m * height_m
        return np.asarray(np.cos(phase) + self.underside_per_m / self.wave_per_m * np.sin(phase))


@cache
def _modes(slab: Slab) -> _Modes:
    over = slab.above_w_m2k / slab.conductivity_w_mk
    under = slab.bottom_w_m2k / slab.conductivity_w_mk
    height = slab.thickness_m
    low = np.pi * np.arange(_MODES) / height
    high = low + np.pi / height

    def f(wave: FloatArray) -> FloatArray:
        swing = (wave**2 - over * under) * np.sin(wave * height)
        return np.asarray(swing - wave * (over + under) * np.cos(wave * height))

    sign = np.where(np.arange(_MODES) % 2 == 0, -1.0, 1.0)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        is_before = f(middle) * sign > 0.0
        low, high = np.where(is_before, middle, low), np.where(is_before, high, middle)
    wave = (low + high) / 2.0
    norm = ((wave**2 + under**2) * (height + over / (wave**2 + over**2)) + under) / (2.0 * wave**2)
    return _Modes(wave, under, norm)


def _fading(
    wave: FloatArray, since_s: FloatArray, slab: Slab, modes: _Modes, shape: FloatArray
) -> FloatArray:
    """What the modes still lack of the steady state, K per W/m²."""
    diffusivity = slab.conductivity_w_mk / slab.heat_capacity_j_m3k
    total = wave[..., None] ** 2 + modes.wave_per_m**2
    share = shape / (slab.conductivity_w_mk * modes.norm_m)
    fading = np.exp(-diffusivity * np.minimum(total * since_s[..., None], 1e12))
    return np.asarray((share / total * fading).sum(axis=-1))


def _steady_m2k_w(wave: FloatArray, slab: Slab) -> FloatArray:
    """Upper side of the slab, K per W/m²."""
    return upper_side_m2k_w(
        wave,
        slab.thickness_m,
        slab.pipe_height_m,
        slab.conductivity_w_mk,
        above_w_m2k=slab.above_w_m2k,
        below_w_m2k=slab.bottom_w_m2k,
    )


def _beside_pipe_mk_w(since_s: FloatArray, spacing: float, slab: Slab, radius: float) -> FloatArray:
    """Temperature at the side of a pipe per W/m of all pipes of the row, since they were switched on."""
    waves = 2.0 * np.pi * np.arange(_HARMONICS + 1) / spacing
    modes = _modes(slab)
    diffusivity = slab.conductivity_w_mk / slab.heat_capacity_j_m3k
    total = waves[:, None] ** 2 + modes.wave_per_m**2
    share = modes.at(slab.pipe_height_m) ** 2 / (slab.conductivity_w_mk * modes.norm_m) / total
    share *= (np.where(waves > 0.0, 2.0, 1.0) * np.cos(waves * radius) / spacing)[:, None]
    rate = (diffusivity * total).ravel()
    grown = -np.expm1(-np.minimum(since_s[:, None] * rate, 700.0))
    return np.asarray(grown @ share.ravel())


@cache
def _table(factor: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    text = (files("thermalkit.physics") / "floor_heating.csv").read_text(encoding="utf-8")
    rows = [row for row in csv.DictReader(text.splitlines()) if row["factor"] == factor]
    spacings = sorted({float(row["spacing_m"]) for row in rows})
    coverings = sorted({float(row["covering_m2k_w"]) for row in rows})
    values = np.zeros((len(spacings), len(coverings)))
    for row in rows:
        at = spacings.index(float(row["spacing_m"])), coverings.index(float(row["covering_m2k_w"]))
        values[at] = float(row["value"])
    return np.array(spacings), np.array(coverings), values


def _factor(factor: str, spacing: FloatArray, covering: FloatArray) -> FloatArray:
    """A factor of the standard's tables between its rows and columns."""
    from scipy.interpolate import RegularGridInterpolator

    spacings, coverings, values = _table(factor)
    if len(spacings) == 1:
        return np.asarray(np.interp(covering, coverings, values[0]))
    at = np.stack(np.broadcast_arrays(spacing, covering), axis=-1)
    return np.asarray(RegularGridInterpolator((spacings, coverings), values)(at)).reshape(at.shape[:-1])
