"""Concrete lintel above a window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from thermalkit.physics.detail import Box, PointsMm, solid, within
from thermalkit.physics.detail_walls import OpeningEdge


@dataclass(frozen=True, kw_only=True)
class Lintel(OpeningEdge):
    """Vertical section; the judged line runs from the frame along the soffit and up the wall.

    A strip of insulation may lie in the outer part of the lintel's depth. Inner and outer lengths both end
    at the soffit.
    """

    lintel_mm: float = within(200.0, 100.0, 500.0)
    lintel_w_mk: float = within(2.3, 1.0, 2.8)
    strip_mm: float = within(0.0, 0.0, 80.0)
    strip_w_mk: float = within(0.035, 0.02, 0.1)

    origin: ClassVar[int] = 1

    def boxes(self) -> tuple[Box, ...]:
        """Frame, wall, lintel, strip."""
        y_mm, outer = (0.0, self.lintel_mm), -self.core_mm
        return (
            *self.opening(),
            *self.wall((0.0, self.reach_mm)),
            Box((outer, -self.plaster_mm), y_mm, solid("lintel", self.lintel_w_mk)),
            Box((outer, outer + self.strip_mm), y_mm, solid("strip", self.strip_w_mk)),
        )

    def line_mm(self) -> PointsMm:
        """From the frame to the edge, then up the wall."""
        return [(self.frame_x_mm[1], 0.0), (0.0, 0.0), (0.0, self.reach_mm)]

    def cures(self) -> Mapping[str, Lintel]:
        """Insulation on the whole wall, or in front of the lintel alone."""
        return {
            "outside-insulation": replace(self, insulation_mm=max(self.insulation_mm, 140.0)),
            "lintel-strip": replace(self, strip_mm=60.0),
        }
