"""Balcony slab that runs through an outer wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from thermalkit.physics.detail import Box, Flank, PointsMm, solid, within
from thermalkit.physics.detail_walls import AIR_MM, MasonryWall


@dataclass(frozen=True, kw_only=True)
class BalconySlab(MasonryWall):
    """Vertical section; both storeys are equally warm, the judged line is that below the slab.

    It runs up the wall and along the ceiling. Inner lengths leave the slab's thickness out, outer lengths
    count it as wall. The break, if any, lies in the outermost part of the wall; its conductivity is that of
    the whole element with its steel (common practice).
    """

    slab_mm: float = within(160.0, 100.0, 300.0)
    slab_w_mk: float = within(2.3, 1.0, 2.8)
    projection_mm: float = within(1200.0, 200.0, 2500.0)
    break_mm: float = within(0.0, 0.0, 120.0)
    break_w_mk: float = within(0.15, 0.05, 0.5)

    origin: ClassVar[int] = 1

    def boxes(self) -> tuple[Box, ...]:
        """Air, the wall, the slab over both, the break over the slab."""
        reach, outer = self.reach_mm, -self.depth_mm
        y_mm = (-reach, self.slab_mm + reach)
        slab = (0.0, self.slab_mm)
        return (
            Box((outer - self.projection_mm - AIR_MM, outer), y_mm, "outside"),
            *self.wall(y_mm),
            Box((0.0, reach), y_mm, "inside"),
            Box((outer - self.projection_mm, reach), slab, solid("slab", self.slab_w_mk)),
            Box((outer, outer + self.break_mm), slab, solid("break", self.break_w_mk)),
        )

    def flanks(self) -> tuple[Flank, ...]:
        """The wall of both storeys."""
        return (self.wall_flank(2.0 * self.reach_mm, 2.0 * self.reach_mm + self.slab_mm),)

    def line_mm(self) -> PointsMm:
        """Up the wall and along the ceiling."""
        return [(0.0, -self.reach_mm), (0.0, 0.0), (self.reach_mm, 0.0)]

    def cures(self) -> Mapping[str, BalconySlab]:
        """Insulation outside, a break, or both."""
        insulated = replace(self, insulation_mm=max(self.insulation_mm, 140.0))
        return {
            "outside-insulation": insulated,
            "thermal-break": replace(self, break_mm=80.0),
            "outside-insulation-and-thermal-break": replace(insulated, break_mm=80.0),
        }
