"""Heat from a floor into the ground.

Only the steady part; the ground lags the seasons by weeks. A temperature factor against outdoor air means
nothing here.

Source
------
ISO 13370, slab on ground (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within
from thermalkit.physics.envelope import OUTDOOR_FILM_M2K_W

FLOOR_FILM_M2K_W = 0.17  # R_si, heat flowing down
GROUND_W_MK = 2.0  # sand or unknown; 1.5 for clay, from memory


def characteristic_dimension_m(area_m2: ArrayLike, perimeter_m: ArrayLike) -> FloatArray:
    """Area of a floor over half its exposed perimeter.

    Parameters
    ----------
    area_m2 : array_like, any shape
        0.1 to 1 000 000 m².
    perimeter_m : array_like, broadcastable
        Against outdoors or unheated rooms, 0.1 to 100 000 m.

    Returns
    -------
    ndarray of float64, broadcast shape
        B' in m.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13370 (from memory).

    Examples
    --------
    >>> float(characteristic_dimension_m(100.0, 40.0))
    5.0
    """
    area = require_within("area_m2", area_m2, 0.1, 1e6)
    return 2.0 * area / require_within("perimeter_m", perimeter_m, 0.1, 1e5)


def equivalent_thickness_m(
    wall_thickness_mm: ArrayLike, floor_resistance_m2k_w: ArrayLike, ground_w_mk: ArrayLike = GROUND_W_MK
) -> FloatArray:
    """Thickness of ground that resists as wall, floor and films do.

    Parameters
    ----------
    wall_thickness_mm : array_like, any shape
        Of the outer walls, 0 to 3000 mm.
    floor_resistance_m2k_w : array_like, broadcastable
        Of the floor layers without films, 0 to 50 m²K/W.
    ground_w_mk : array_like, broadcastable
        0.2 to 5 W/(m K).

    Returns
    -------
    ndarray of float64, broadcast shape
        d_t in m.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13370 (from memory).

    Examples
    --------
    >>> equivalent_thickness_m(300.0, 2.5).round(2)
    np.float64(5.72)
    """
    wall = require_within("wall_thickness_mm", wall_thickness_mm, 0.0, 3000.0) / 1000.0
    floor = require_within("floor_resistance_m2k_w", floor_resistance_m2k_w, 0.0, 50.0)
    ground = require_within("ground_w_mk", ground_w_mk, 0.2, 5.0)
    return wall + ground * (FLOOR_FILM_M2K_W + floor + OUTDOOR_FILM_M2K_W)


def slab_transmittance_w_m2k(
    area_m2: ArrayLike,
    perimeter_m: ArrayLike,
    wall_thickness_mm: ArrayLike,
    floor_resistance_m2k_w: ArrayLike,
    ground_w_mk: ArrayLike = GROUND_W_MK,
) -> FloatArray:
    """Transmittance of a slab on ground, averaged over its area, without edge insulation.

    Parameters
    ----------
    area_m2, perimeter_m : array_like, broadcastable
        See `characteristic_dimension_m`.
    wall_thickness_mm, floor_resistance_m2k_w, ground_w_mk : array_like, broadcastable
        See `equivalent_thickness_m`.

    Returns
    -------
    ndarray of float64, broadcast shape
        U in W/(m²K).

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    ISO 13370 (from memory): one formula for a floor insulated little, one for a well insulated one.

    Examples
    --------
    >>> slab_transmittance_w_m2k(100.0, 40.0, 300.0, [0.0, 2.5]).round(3)
    array([0.762, 0.25 ])
    """
    b = characteristic_dimension_m(area_m2, perimeter_m)
    d_t = equivalent_thickness_m(wall_thickness_mm, floor_resistance_m2k_w, ground_w_mk)
    ground = np.asarray(ground_w_mk, dtype=np.float64)
    little = 2.0 * ground / (np.pi * b + d_t) * np.log(np.pi * b / d_t + 1.0)
    return np.where(d_t < b, little, ground / (0.457 * b + d_t))[()]
