"""Water that a wall draws up from the ground, and the share of it that is free.

The sharp-front model: below the front the masonry is wet, above it dry; the wall draws water in through its
foot and loses it through its wet face. Sorptivity and evaporation are seldom known better than by a factor
of two, so a height is a plausible size and never a proof.

Source
------
Hall and Hoff, rising damp: capillary rise dynamics in walls, 2007 (formula from memory, derivation checked).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.physics.domain import FloatArray, require_within

_MM_PER_MONTH = 25.0
_MINUTES_PER_DAY = 1440.0


def front_height_mm(
    sorptivity_mm_per_root_minute: ArrayLike,
    wall_thickness_mm: ArrayLike,
    evaporation_mm_per_minute: ArrayLike,
    moisture_content: ArrayLike,
    *,
    faces: int = 1,
) -> FloatArray:
    """Height at which a wall loses as much water as it draws in.

    Parameters
    ----------
    sorptivity_mm_per_root_minute : array_like, any shape
        S of the masonry, 0.001 to 10 mm/min^0.5.
    wall_thickness_mm : array_like, broadcastable
        b, 10 to 3000 mm.
    evaporation_mm_per_minute : array_like, broadcastable
        e from each wet face, 0.00001 to 0.1 mm of water a minute.
    moisture_content : array_like, broadcastable
        θ_w of the wet part by volume, 0.01 to 0.6.
    faces : int
        Faces that dry, 1 or 2.

    Returns
    -------
    ndarray of float64, broadcast shape
        h in mm above the water.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hall and Hoff 2007, h = S (b/(2 e θ_w))^0.5 (from memory).

    Examples
    --------
    >>> front_height_mm(1.0, [150.0, 300.0], 0.001, 0.2).round(0)
    array([612., 866.])
    """
    s = require_within("sorptivity_mm_per_root_minute", sorptivity_mm_per_root_minute, 0.001, 10.0)
    return (
        s
        * np.sqrt(_minutes_to_settle(wall_thickness_mm, evaporation_mm_per_minute, moisture_content, faces))
        / (np.asarray(moisture_content, dtype=np.float64))
    )


def _minutes_to_settle(
    wall_thickness_mm: ArrayLike,
    evaporation_mm_per_minute: ArrayLike,
    moisture_content: ArrayLike,
    faces: int,
) -> FloatArray:
    """Time b θ_w/(2 e) in which the square of the height comes within 1/e of its end."""
    b = require_within("wall_thickness_mm", wall_thickness_mm, 10.0, 3000.0)
    e = require_within("evaporation_mm_per_minute", evaporation_mm_per_minute, 1e-5, 0.1)
    theta = require_within("moisture_content", moisture_content, 0.01, 0.6)
    return b * theta / (2.0 * e * require_within("faces", faces, 1, 2))


def front_height_after_mm(
    days: ArrayLike,
    sorptivity_mm_per_root_minute: ArrayLike,
    wall_thickness_mm: ArrayLike,
    evaporation_mm_per_minute: ArrayLike,
    moisture_content: ArrayLike,
    *,
    faces: int = 1,
) -> FloatArray:
    """Height that a dry wall has reached some days after its foot became wet.

    Parameters
    ----------
    days : array_like, any shape
        0 to 100 000.
    sorptivity_mm_per_root_minute, wall_thickness_mm, evaporation_mm_per_minute : array_like, broadcastable
        See `front_height_mm`.
    moisture_content : array_like, broadcastable
        See `front_height_mm`.
    faces : int
        Faces that dry, 1 or 2.

    Returns
    -------
    ndarray of float64, broadcast shape
        mm above the water.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Hall and Hoff 2007 (from memory): θ_w b dh/dt = b S²/(2 θ_w h) - e h, solved.

    Examples
    --------
    >>> front_height_after_mm([1.0, 365.0], 1.0, 150.0, 0.001, 0.2).round(0)
    array([185., 612.])
    """
    t = require_within("days", days, 0.0, 1e5) * _MINUTES_PER_DAY
    wall = (wall_thickness_mm, evaporation_mm_per_minute, moisture_content)
    end = front_height_mm(sorptivity_mm_per_root_minute, *wall, faces=faces)
    return end * np.sqrt(-np.expm1(-t / _minutes_to_settle(*wall, faces)))


def drying_months(wall_thickness_mm: ArrayLike) -> FloatArray:
    """Time to allow, at least, for a soaked masonry wall to dry once its source has stopped.

    Parameters
    ----------
    wall_thickness_mm : array_like, any shape
        10 to 3000 mm.

    Returns
    -------
    ndarray of float64, same shape
        Months; a cold, salty or sealed wall takes several times as long.

    Raises
    ------
    OutOfDomain
        The thickness lies outside its range.

    Source
    ------
    Common practice: a month for each 25 mm (from memory).

    Examples
    --------
    >>> float(drying_months(225.0))
    9.0
    """
    return require_within("wall_thickness_mm", wall_thickness_mm, 10.0, 3000.0) / _MM_PER_MONTH


def free_moisture(moisture_content: ArrayLike, hygroscopic_content: ArrayLike) -> FloatArray:
    """Moisture that the air cannot account for.

    Parameters
    ----------
    moisture_content : array_like, any shape
        Of a drilled sample by mass of the dry sample, 0 to 1.
    hygroscopic_content : array_like, broadcastable
        Of the same sample after it came to rest in air of a known humidity, usually 0.75, 0 to 1.

    Returns
    -------
    ndarray of float64, broadcast shape
        Difference; not above 0 where salts and room air explain all of it.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Common practice: profile of total less hygroscopic moisture.

    Examples
    --------
    >>> free_moisture([0.12, 0.06], [0.03, 0.06]).round(2)
    array([0.09, 0.  ])
    """
    total = require_within("moisture_content", moisture_content, 0.0, 1.0)
    return total - require_within("hygroscopic_content", hygroscopic_content, 0.0, 1.0)
