"""Wall of timber studs with insulation between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from thermalkit.physics.conduction.network import Films
from thermalkit.physics.detail import Box, Detail, Flank, PointsMm, plane_w_m2k, solid, within
from thermalkit.physics.detail_walls import AIR_MM
from thermalkit.physics.layers import INDOOR_FILM_M2K_W

VENTILATED_FILM_M2K_W = INDOOR_FILM_M2K_W["horizontal"]  # behind ventilated cladding


@dataclass(frozen=True, kw_only=True)
class StudWall(Detail):
    """Seen from above, one stud in the middle of its spacing; the judged line runs along the board.

    The outer face lies behind ventilated cladding, which is left out. ψ is that of one stud, beyond the wall
    between the studs; inner and outer lengths are equal.
    """

    board_mm: float = within(12.5, 9.0, 30.0)
    board_w_mk: float = within(0.25, 0.1, 0.4)
    inside_insulation_mm: float = within(0.0, 0.0, 100.0)
    stud_depth_mm: float = within(140.0, 80.0, 300.0)
    stud_width_mm: float = within(45.0, 35.0, 120.0)
    stud_w_mk: float = within(0.13, 0.1, 0.2)
    spacing_mm: float = within(600.0, 300.0, 900.0)
    insulation_w_mk: float = within(0.035, 0.02, 0.1)
    sheathing_mm: float = within(12.0, 6.0, 30.0)
    sheathing_w_mk: float = within(0.13, 0.08, 0.3)
    outside_insulation_mm: float = within(0.0, 0.0, 200.0)

    origin: ClassVar[int] = 1

    @property
    def layers(self) -> tuple[tuple[float, float], ...]:
        """Thickness in mm and conductivity between the studs, from the room outwards."""
        return (
            (self.board_mm, self.board_w_mk),
            (self.inside_insulation_mm, self.insulation_w_mk),
            (self.stud_depth_mm, self.insulation_w_mk),
            (self.sheathing_mm, self.sheathing_w_mk),
            (self.outside_insulation_mm, self.insulation_w_mk),
        )

    def boxes(self) -> tuple[Box, ...]:
        """Layers between the studs, then the stud."""
        half, stud = self.spacing_mm / 2.0, self.stud_width_mm / 2.0
        boxes, near = [Box((0.0, AIR_MM), (-half, half), "inside")], 0.0
        for thickness_mm, conductivity_w_mk in self.layers:
            layer = solid(f"layer {len(boxes)}", conductivity_w_mk)
            boxes.append(Box((near - thickness_mm, near), (-half, half), layer))
            near -= thickness_mm
        boxes.append(Box((near - AIR_MM, near), (-half, half), "outside"))
        return (*boxes, Box(boxes[3].x_mm, (-stud, stud), solid("stud", self.stud_w_mk)))

    def films(self) -> Films:
        """Still air behind the cladding."""
        return {**super().films(), "outside": VENTILATED_FILM_M2K_W}

    def flanks(self) -> tuple[Flank, ...]:
        """The wall without its stud."""
        u = plane_w_m2k(*self.layers, outdoor_film_m2k_w=VENTILATED_FILM_M2K_W)
        length_m = self.spacing_mm / 1000.0
        return (Flank(part="between studs", transmittance_w_m2k=u, inner_m=length_m, outer_m=length_m),)

    def line_mm(self) -> PointsMm:
        """Half a spacing to either side of the stud."""
        half = self.spacing_mm / 2.0
        return [(0.0, -half), (0.0, 0.0), (0.0, half)]

    def cures(self) -> Mapping[str, StudWall]:
        """Insulation across the studs, outside or inside."""
        return {
            "outside-insulation": replace(self, outside_insulation_mm=max(self.outside_insulation_mm, 60.0)),
            "inside-insulation": replace(self, inside_insulation_mm=max(self.inside_insulation_mm, 40.0)),
        }
