"""Corner of a partition and an outer wall that is insulated inside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from thermalkit.physics.detail import Box, Flank, PointsMm, plane_w_m2k, solid, within
from thermalkit.physics.detail_walls import MasonryWall


@dataclass(frozen=True, kw_only=True)
class InsideInsulation(MasonryWall):
    """Seen from above; the partition interrupts the insulation, and both rooms are equally warm.

    The judged line runs along the partition to the corner and on along the wall. Inner lengths end at the
    bare partition, outer lengths count it as wall. Moisture within the wall is another question, to be
    answered before anything is insulated inside.
    """

    inside_insulation_mm: float = within(60.0, 0.0, 160.0)
    inside_insulation_w_mk: float = within(0.045, 0.02, 0.1)
    board_mm: float = within(12.5, 5.0, 30.0)
    board_w_mk: float = within(0.25, 0.1, 0.6)
    partition_mm: float = within(115.0, 60.0, 300.0)
    partition_w_mk: float = within(0.77, 0.1, 2.5)
    flank_mm: float = within(0.0, 0.0, 80.0)
    flank_length_mm: float = within(500.0, 200.0, 800.0)

    origin: ClassVar[int] = 3

    @property
    def _surface_mm(self) -> float:
        return self.inside_insulation_mm + self.board_mm

    def boxes(self) -> tuple[Box, ...]:
        """Wall, insulation, board, flank insulation on both sides of the partition, the partition."""
        reach, half = self.reach_mm, self.partition_mm / 2.0
        y_mm, flank = (-reach, reach), half + self.flank_mm
        surface, end = self._surface_mm, self._surface_mm + self.flank_length_mm
        insulation = solid("inside insulation", self.inside_insulation_w_mk)
        return (
            *self.wall(y_mm),
            Box((0.0, end + reach), y_mm, "inside"),
            Box((0.0, self.inside_insulation_mm), y_mm, insulation),
            Box((self.inside_insulation_mm, surface), y_mm, solid("board", self.board_w_mk)),
            Box((surface, end), (-flank, flank), insulation),
            Box((-self.plaster_mm, end + reach), (-half, half), solid("partition", self.partition_w_mk)),
        )

    def flanks(self) -> tuple[Flank, ...]:
        """The wall on both sides."""
        inside = (
            (self.inside_insulation_mm, self.inside_insulation_w_mk),
            (self.board_mm, self.board_w_mk),
        )
        half_m, reach_m = self.partition_mm / 2000.0, self.reach_mm / 1000.0
        u = plane_w_m2k(*self.layers, *inside)
        side = Flank(part="wall", transmittance_w_m2k=u, inner_m=reach_m - half_m, outer_m=reach_m)
        return side, side

    def line_mm(self) -> PointsMm:
        """Along the partition, over the flank insulation, along the wall."""
        half, flank = self.partition_mm / 2.0, self.partition_mm / 2.0 + self.flank_mm
        surface, end = self._surface_mm, self._surface_mm + self.flank_length_mm
        far = end + self.reach_mm
        return [(far, half), (end, half), (end, flank), (surface, flank), (surface, self.reach_mm)]

    def cures(self) -> Mapping[str, InsideInsulation]:
        """Insulation on both sides of the partition."""
        return {"flank-insulation": replace(self, flank_mm=30.0)}
