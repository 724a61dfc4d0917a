"""What several details share: a plastered masonry wall, and the edge of an opening in it.

The inner surface of the wall lies at x = 0 with the room beyond, the outer face at -depth; y runs along it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.physics.conduction.network import Films
from thermalkit.physics.detail import Box, Detail, Flank, Range, plane_w_m2k, solid, within
from thermalkit.physics.domain import FloatArray
from thermalkit.physics.envelope import GLAZING_FILM_M2K_W, MOULD_FILM_M2K_W

AIR_MM = 20.0  # strip of an environment that is drawn beyond a surface
FRAME_SHOWN_MM = 100.0  # of a window frame, before it is cut off


@dataclass(frozen=True, kw_only=True)
class MasonryWall(Detail):
    """A section with an outer wall of plaster and masonry, insulated outside or not."""

    plaster_mm: float = within(15.0, 0.0, 40.0)
    plaster_w_mk: float = within(0.57, 0.2, 1.0)
    masonry_mm: float = within(240.0, 200.0, 600.0)
    masonry_w_mk: float = within(0.77, 0.1, 2.5)
    insulation_mm: float = within(0.0, 0.0, 300.0)
    insulation_w_mk: float = within(0.035, 0.02, 0.1)

    @property
    def core_mm(self) -> float:
        """Depth of the masonry's outer face behind the inner surface."""
        return self.plaster_mm + self.masonry_mm

    @property
    def depth_mm(self) -> float:
        """Of the whole wall."""
        return self.core_mm + self.insulation_mm

    @property
    def reach_mm(self) -> float:
        """How far the wall is drawn: three times its depth and at least a metre."""
        return max(1000.0, 3.0 * self.depth_mm)

    @property
    def layers(self) -> tuple[tuple[float, float], ...]:
        """Thickness in mm and conductivity of each layer from the room outwards."""
        return (
            (self.plaster_mm, self.plaster_w_mk),
            (self.masonry_mm, self.masonry_w_mk),
            (self.insulation_mm, self.insulation_w_mk),
        )

    def wall(self, y_mm: Range) -> tuple[Box, ...]:
        """The wall between two heights, with both sides of it."""
        return (
            Box((-self.depth_mm - AIR_MM, -self.depth_mm), y_mm, "outside"),
            Box((-self.depth_mm, -self.core_mm), y_mm, solid("insulation", self.insulation_w_mk)),
            Box((-self.core_mm, -self.plaster_mm), y_mm, solid("masonry", self.masonry_w_mk)),
            Box((-self.plaster_mm, 0.0), y_mm, solid("plaster", self.plaster_w_mk)),
            Box((0.0, AIR_MM), y_mm, "inside"),
        )

    def wall_flank(self, inner_mm: float, outer_mm: float) -> Flank:
        """The wall as a plane part."""
        u = plane_w_m2k(*self.layers)
        return Flank(part="wall", transmittance_w_m2k=u, inner_m=inner_mm / 1000.0, outer_m=outer_mm / 1000.0)


@dataclass(frozen=True, kw_only=True)
class OpeningEdge(MasonryWall):
    """The edge of a window in the wall: the wall above y = 0, below it a frame, cut off 100 mm on."""

    frame_setback_mm: float = within(100.0, 0.0, 120.0)
    frame_mm: float = within(70.0, 50.0, 80.0)
    frame_w_mk: float = within(0.13, 0.08, 0.25)

    @property
    def frame_x_mm(self) -> Range:
        """Outer and inner face of the frame; the setback counts from the masonry's outer face."""
        outer = -self.core_mm + self.frame_setback_mm
        return outer, outer + self.frame_mm

    def opening(self) -> tuple[Box, ...]:
        """The frame and the air on both sides of it."""
        outer, inner = self.frame_x_mm
        y_mm = (-FRAME_SHOWN_MM, 0.0)
        return (
            Box((-self.depth_mm - AIR_MM, outer), y_mm, "outside"),
            Box((outer, inner), y_mm, solid("frame", self.frame_w_mk)),
            Box((inner, AIR_MM), y_mm, "inside"),
        )

    def flanks(self) -> tuple[Flank, ...]:
        """Wall to the edge of the opening, and the frame that is drawn; inner and outer lengths are equal."""
        frame_m = FRAME_SHOWN_MM / 1000.0
        u = plane_w_m2k((self.frame_mm, self.frame_w_mk))
        frame = Flank(part="frame", transmittance_w_m2k=u, inner_m=frame_m, outer_m=frame_m)
        return self.wall_flank(self.reach_mm, self.reach_mm), frame

    def factor_films(self) -> Films:
        """The frame is warmed by a free air flow, as limits for windows are stated."""
        return {**super().factor_films(), "inside": self._indoor_film_m2k_w}

    def _indoor_film_m2k_w(self, centres_m: FloatArray) -> FloatArray:
        on_frame = centres_m[:, 0] <= self.frame_x_mm[1] / 1000.0 + 1e-9
        return np.where(on_frame, GLAZING_FILM_M2K_W, MOULD_FILM_M2K_W)
