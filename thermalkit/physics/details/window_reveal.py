"""Reveal of a window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from thermalkit.physics.detail import Box, PointsMm, solid, within
from thermalkit.physics.detail_walls import AIR_MM, OpeningEdge


@dataclass(frozen=True, kw_only=True)
class WindowReveal(OpeningEdge):
    """Seen from above; the judged line runs from the frame along the reveal and on along the wall.

    The reveal may be lined inside, and outside where the wall is insulated. Linings cover the frame; lengths
    end at the masonry's edge.
    """

    inner_lining_mm: float = within(0.0, 0.0, 60.0)
    outer_lining_mm: float = within(0.0, 0.0, 60.0)
    lining_w_mk: float = within(0.035, 0.02, 0.1)

    origin: ClassVar[int] = 1

    def boxes(self) -> tuple[Box, ...]:
        """Frame, wall, linings."""
        outer, inner = self.frame_x_mm
        lining = solid("lining", self.lining_w_mk)
        return (
            *self.opening(),
            *self.wall((0.0, self.reach_mm)),
            Box((inner, 0.0), (-self.inner_lining_mm, 0.0), lining),
            Box((-self.depth_mm, outer), (-self.outer_lining_mm, 0.0), lining),
            Box((-self.depth_mm - AIR_MM, -self.depth_mm), (-self.outer_lining_mm, 0.0), "outside"),
        )

    def line_mm(self) -> PointsMm:
        """From the frame to the edge, then along the wall."""
        y = -self.inner_lining_mm
        return [(self.frame_x_mm[1], y), (0.0, y), (0.0, self.reach_mm)]

    def cures(self) -> Mapping[str, WindowReveal]:
        """Linings alone, or with insulation outside."""
        insulated = replace(self, insulation_mm=max(self.insulation_mm, 140.0))
        return {
            "inner-lining": replace(self, inner_lining_mm=30.0),
            "outside-insulation": insulated,
            "outside-insulation-and-lining": replace(insulated, outer_lining_mm=30.0),
        }
