"""How much the floor over pipes swings against its mean, and how deep the pipes lie for such a swing.

The deeper pipes lie, the more the warmth of neighbours has run together: with distance d and wave number b
the swing falls about as exp(-b d), the mean does not.

Source
------
Closed form of `floor_heating` for line sources in a slab between two films; a covering that conducts sideways
as one more layer (H. Carslaw, J. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, 3.7, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.measured import FloatArray
from thermalkit.physics.domain import require_within
from thermalkit.physics.floor_heating import TOP_FILM_W_M2K, upper_side_m2k_w

SHALLOWEST_M, DEEPEST_M = 0.005, 0.15
_HALVINGS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """What lies about pipes in screed; arrays that broadcast, or numbers.

    `axis_height_m` is that of the pipes above the screed's underside, `top_w_m2k` the film above, with the
    covering under it; `evens_out` is how far the covering conducts sideways, from 0, not at all, to 1, like a
    whole sheet of `covering_w_mk`.
    """

    axis_height_m: ArrayLike
    diameter_m: ArrayLike = 0.016
    conductivity_w_mk: ArrayLike = 1.2
    top_w_m2k: ArrayLike = TOP_FILM_W_M2K
    bottom_w_m2k: ArrayLike = 0.75
    covering_m2k_w: ArrayLike = 0.0
    covering_w_mk: ArrayLike = 1.2
    evens_out: ArrayLike = 0.0

    def __post_init__(self) -> None:
        require_within("axis_height_m", self.axis_height_m, 0.0, 0.2)
        require_within("diameter_m", self.diameter_m, 0.005, 0.05)
        require_within("conductivity_w_mk", self.conductivity_w_mk, 0.05, 5.0)
        require_within("top_w_m2k", self.top_w_m2k, 0.1, 50.0)
        require_within("bottom_w_m2k", self.bottom_w_m2k, 1e-3, 50.0)
        require_within("covering_m2k_w", self.covering_m2k_w, 0.0, 1.0)
        require_within("covering_w_mk", self.covering_w_mk, 0.01, 5.0)
        require_within("evens_out", self.evens_out, 0.0, 1.0)


def ripple_share(spacing_m: ArrayLike, cover_m: ArrayLike, build: Build) -> FloatArray:
    """Amplitude of the settled floor's wave of the spacing over its mean excess.

    Parameters
    ----------
    spacing_m : array_like, any shape
        0.02 to 2 m.
    cover_m : array_like, broadcastable
        Screed over the top of the pipes, 0 to 0.3 m.
    build : Build

    Returns
    -------
    ndarray of float64
        A fraction; that of the first wave alone, half its height from trough to crest.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Examples
    --------
    >>> ripple_share(0.15, [0.030, 0.045, 0.060], Build(axis_height_m=0.02)).round(3)
    array([0.093, 0.05 , 0.027])
    """
    wave = 2.0 * np.pi / require_within("spacing_m", spacing_m, 0.02, 2.0)
    cover = require_within("cover_m", cover_m, 0.0, 0.3)
    height, film = np.asarray(build.axis_height_m, dtype=np.float64), np.asarray(build.top_w_m2k)
    resistance = np.asarray(build.covering_m2k_w, dtype=np.float64)
    above = 1.0 / (1.0 / film + resistance)
    thickness = height + np.asarray(build.diameter_m) / 2.0 + cover
    swing, mean = (
        upper_side_m2k_w(
            b,
            thickness,
            height,
            build.conductivity_w_mk,
            above_w_m2k=above,
            below_w_m2k=build.bottom_w_m2k,
        )
        for b in (wave, np.zeros(()))
    )
    sideways = np.asarray(build.covering_w_mk, dtype=np.float64)
    phase = np.minimum(wave * sideways * resistance, 50.0)
    whole = 1.0 / (np.cosh(phase) + film / (sideways * wave) * np.sinh(phase))
    evened = 1.0 + np.asarray(build.evens_out) * (whole * (1.0 + film * resistance) - 1.0)
    return np.asarray(2.0 * swing / mean * evened)[()]


def cover_of_share_m(share: ArrayLike, spacing_m: ArrayLike, build: Build) -> FloatArray:
    """Screed over pipes for which a settled floor swings so much.

    Parameters
    ----------
    share : array_like, any shape
        Amplitude over mean excess, 0 to 10.
    spacing_m : array_like, broadcastable
        0.02 to 2 m.
    build : Build

    Returns
    -------
    ndarray of float64
        In m, within 0.005 to 0.15: its ends stand for anything beyond them.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Inverse of `ripple_share`, by halving.

    Examples
    --------
    >>> cover_of_share_m(0.05, 0.15, Build(axis_height_m=0.02)).round(3)
    np.float64(0.045)
    """
    wanted = require_within("share", share, 0.0, 10.0)
    fields = (getattr(build, name) for name in Build.__slots__)
    shape = np.broadcast_shapes(wanted.shape, np.shape(spacing_m), *(np.shape(field) for field in fields))
    low, high = np.full(shape, SHALLOWEST_M), np.full(shape, DEEPEST_M)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        is_deeper = ripple_share(spacing_m, middle, build) > wanted
        low, high = np.where(is_deeper, middle, low), np.where(is_deeper, high, middle)
    return np.asarray((low + high) / 2.0)[()]
