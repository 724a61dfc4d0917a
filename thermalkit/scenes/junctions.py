"""A construction detail as a wall that a camera sees, its inner surface known exactly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import cast

import numpy as np

from thermalkit.measured import FloatArray
from thermalkit.physics.conduction import Body, Material
from thermalkit.physics.detail import Box, Detail, drawn
from thermalkit.scenes.walls import Film

_HEAT_CAPACITY_J_M3K = {
    "insulation": 0.05e6,
    "lining": 0.05e6,
    "plaster": 1.1e6,
    "masonry": 1.3e6,
    "cover": 0.8e6,
    "frame": 0.8e6,
}
_OTHER_J_M3K = 2.0e6  # concrete and the like
_FRAME_SEEN_M = 0.095
_FINEST_MM = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Junction:
    """A detail of a wall with an opening below, seen square on: the wall from its edge upwards.

    Below position 0 lies the window frame. The film rises towards `sheltered_at_m`.
    """

    detail: Detail
    name: str
    film: Film
    sheltered_at_m: float = 0.0
    is_level: bool = True

    @property
    def cause(self) -> str:
        """What makes its coldest place cold, for the truth file."""
        return self.name

    @property
    def outer_film_m2k_w(self) -> float | Callable[[FloatArray], FloatArray]:
        """That of the detail, which may vary along it."""
        return cast("float | Callable[[FloatArray], FloatArray]", self.detail.films()["outside"])

    def film_m2k_w(self, along_m: FloatArray) -> FloatArray:
        """Inner surface resistance along the wall."""
        return self.film.at(along_m - self.sheltered_at_m)

    def points_m(self, along_m: FloatArray) -> FloatArray:
        """Positions in the section: the wall's inner face, below it the frame's."""
        corners = np.array(self.detail.line_mm()) / 1000.0
        frame_x_m, reach_m = corners[0, 0], corners[-1, 1]
        height = np.clip(along_m, -_FRAME_SEEN_M, reach_m - 1e-6)
        return np.stack([np.where(height < 0.0, frame_x_m, 0.0), height], axis=-1)

    def along_m(self, points_m: FloatArray) -> FloatArray:
        """Height above the edge."""
        return points_m[..., 1]

    def body(self) -> Body:
        """The drawing, its materials able to store heat."""
        return drawn([_storing(box) for box in self.detail.boxes()], _FINEST_MM)


def _storing(box: Box) -> Box:
    filling = box.filling
    if not isinstance(filling, Material):
        return box
    capacity = _HEAT_CAPACITY_J_M3K.get(filling.name, _OTHER_J_M3K)
    return replace(box, filling=replace(filling, heat_capacity_j_m3k=capacity))
