"""Outer corner of a masonry wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from thermalkit.physics.detail import Box, Flank, PointsMm, solid
from thermalkit.physics.detail_walls import AIR_MM, MasonryWall


@dataclass(frozen=True, kw_only=True)
class OuterCorner(MasonryWall):
    """Two equal walls seen from above; the judged line runs along one, past the corner, along the other.

    Inner lengths end at the inner corner, outer lengths at the outer one.
    """

    origin: ClassVar[int] = 1

    def boxes(self) -> tuple[Box, ...]:
        """Squares inside one another, the room last."""
        fillings = (
            (self.depth_mm + AIR_MM, "outside"),
            (self.depth_mm, solid("insulation", self.insulation_w_mk)),
            (self.core_mm, solid("masonry", self.masonry_w_mk)),
            (self.plaster_mm, solid("plaster", self.plaster_w_mk)),
            (0.0, "inside"),
        )
        return tuple(Box((-d, self.reach_mm), (-d, self.reach_mm), filling) for d, filling in fillings)

    def flanks(self) -> tuple[Flank, ...]:
        """Both walls."""
        return (self.wall_flank(self.reach_mm, self.reach_mm + self.depth_mm),) * 2

    def line_mm(self) -> PointsMm:
        """From one end of the room's walls to the other."""
        return [(self.reach_mm, 0.0), (0.0, 0.0), (0.0, self.reach_mm)]

    def cures(self) -> Mapping[str, OuterCorner]:
        """Insulation outside."""
        return {"outside-insulation": replace(self, insulation_mm=max(self.insulation_mm, 140.0))}
