"""Where a front is cold, where it works, and the true temperatures of both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray
from thermalkit.scenes.radiators import RadiatorSeen, panel_places

Mask = NDArray[np.bool_]
COLD = ("air", "deposit", "starved", "satisfied")
_RIM, _RIM_DOWN = 0.03, 0.05
_HALF, _WORKS = 0.5, 0.12  # of how much colder the coldest is: the place; still a part that works
_SPOTS, _WARM = 0.02, 0.9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """The place (rows, columns), the part that works, and true temperatures.

    `surface_degc` is the coldest of the place, or the mean of a front without one; `working_degc` the mean of
    the part that works, `uneven_k` its spread.
    """

    area: Mask
    works: Mask
    surface_degc: float
    working_degc: float
    uneven_k: float


def places_of(picture: RadiatorSeen, truth: str) -> Places:
    """Where things are in a picture of which something is true."""
    degc, front = picture.true_surface_degc, _front(picture)
    warm = float(np.quantile(degc[front], _WARM))
    depth: FloatArray = np.where(front, warm - degc, 0.0)
    if truth in COLD:
        deepest = float(np.quantile(depth[front], 1.0 - _SPOTS))
        area = front & (depth >= _HALF * deepest)
        works = front & (depth <= _WORKS * deepest)
        surface = float(np.quantile(degc[area], _SPOTS))
    else:
        area, works = np.zeros_like(front), front
        surface = float(degc[front].mean())
    return Places(
        area=area,
        works=works,
        surface_degc=surface,
        working_degc=float(degc[works].mean()),
        uneven_k=float(degc[works].std()),
    )


def _front(picture: RadiatorSeen) -> Mask:
    """The front without its rims and without what stands before it."""
    along, down = panel_places(picture.scene)
    seen = (along > _RIM) & (along < 1.0 - _RIM) & (down > _RIM_DOWN) & (down < 1.0 - _RIM_DOWN)
    if picture.scene.furniture is not None:
        top, below, left, right = picture.scene.furniture
        seen[top:below, left:right] = False
    return np.asarray(seen)
