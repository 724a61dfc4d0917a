"""Foot of an outer wall on a slab on the ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from thermalkit.physics.conduction.network import Films
from thermalkit.physics.detail import Box, Flank, PointsMm, solid, within
from thermalkit.physics.detail_walls import MasonryWall
from thermalkit.physics.domain import FloatArray
from thermalkit.physics.ground import FLOOR_FILM_M2K_W, slab_transmittance_w_m2k
from thermalkit.physics.layers import INDOOR_FILM_M2K_W

HALF_FLOOR_MM = 4000.0  # half the characteristic dimension of the floor, 8 m
GROUND_MM = 20_000.0  # two and a half times its width, outwards and down
_COVERED_MM = 300.0  # of the wall above the floor, by the edge insulation


@dataclass(frozen=True, kw_only=True)
class SlabOnGround(MasonryWall):
    """Vertical section; the judged line runs down the wall and 1.5 m along the floor at y = 0.

    ψ is beyond the wall to the floor's surface and a floor of 8 m characteristic dimension with U of
    ISO 13370; outer lengths add the slab's build-up to the wall and the wall's depth to the floor. The
    factor is against outdoor air in a steady state, which the ground hardly ever reaches.
    """

    floor_insulation_mm: float = within(0.0, 0.0, 200.0)
    floor_insulation_w_mk: float = within(0.035, 0.02, 0.1)
    slab_mm: float = within(150.0, 80.0, 300.0)
    slab_w_mk: float = within(2.0, 1.0, 2.8)
    ground_w_mk: float = within(2.0, 0.8, 3.5)
    plinth_mm: float = within(150.0, 0.0, 400.0)
    footing_mm: float = within(800.0, 600.0, 1500.0)
    edge_insulation_mm: float = within(0.0, 0.0, 200.0)
    edge_depth_mm: float = within(500.0, 100.0, 1000.0)
    edge_insulation_w_mk: float = within(0.035, 0.02, 0.05)

    origin: ClassVar[int] = 1

    def boxes(self) -> tuple[Box, ...]:
        """Outdoors, ground, floor, the wall down to its footing, the edge insulation."""
        level, deep = -self.plinth_mm, -self.plinth_mm - GROUND_MM
        core, edge = -self.core_mm, -self.core_mm - self.edge_insulation_mm
        under_insulation = -self.floor_insulation_mm
        under_slab = under_insulation - self.slab_mm
        above, across = (-GROUND_MM, HALF_FLOOR_MM), (-self.plaster_mm, HALF_FLOOR_MM)
        masonry = solid("masonry", self.masonry_w_mk)
        insulation = solid("floor insulation", self.floor_insulation_w_mk)
        return (
            Box(above, (level, self.reach_mm), "outside"),
            Box(above, (deep, level), solid("ground", self.ground_w_mk)),
            Box(across, (level, 0.0), solid("ground", self.ground_w_mk)),
            *self.wall((0.0, self.reach_mm)),
            Box((0.0, HALF_FLOOR_MM), (0.0, self.reach_mm), "inside"),
            Box(across, (under_slab, under_insulation), solid("slab", self.slab_w_mk)),
            Box(across, (under_insulation, 0.0), insulation),
            Box((core, -self.plaster_mm), (-self.footing_mm, 0.0), masonry),
            Box(
                (edge, core),
                (level - self.edge_depth_mm, _COVERED_MM),
                solid("edge insulation", self.edge_insulation_w_mk),
            ),
        )

    def films(self) -> Films:
        """Heat leaves through the floor downwards."""
        return {**super().films(), "inside": _indoor_film_m2k_w}

    def flanks(self) -> tuple[Flank, ...]:
        """The wall down to the floor, and half of the floor."""
        area_m2, perimeter_m = 80.0, 20.0  # any floor of this characteristic dimension
        resistance = self.floor_insulation_mm / 1000.0 / self.floor_insulation_w_mk
        resistance += self.slab_mm / 1000.0 / self.slab_w_mk
        u = slab_transmittance_w_m2k(
            area_m2, perimeter_m, self.core_mm, resistance, ground_w_mk=self.ground_w_mk
        )
        floor_m, built_up_mm = HALF_FLOOR_MM / 1000.0, self.floor_insulation_mm + self.slab_mm
        floor = Flank(
            part="floor",
            transmittance_w_m2k=float(u),
            inner_m=floor_m,
            outer_m=floor_m + self.depth_mm / 1000.0,
        )
        return self.wall_flank(self.reach_mm, self.reach_mm + built_up_mm), floor

    def line_mm(self) -> PointsMm:
        """Down the wall, then along the floor."""
        return [(0.0, self.reach_mm), (0.0, 0.0), (1500.0, 0.0)]

    def cures(self) -> Mapping[str, SlabOnGround]:
        """Insulation at the edge, on the slab, or everywhere."""
        edge = replace(self, edge_insulation_mm=100.0)
        walls = replace(edge, insulation_mm=max(self.insulation_mm, 140.0), edge_insulation_mm=140.0)
        return {
            "edge-insulation": edge,
            "floor-insulation": replace(self, floor_insulation_mm=80.0),
            "outside-insulation-and-edge": walls,
        }


def _indoor_film_m2k_w(centres_m: FloatArray) -> FloatArray:
    on_floor = centres_m[:, 1] < 1e-9
    return np.where(on_floor, FLOOR_FILM_M2K_W, INDOOR_FILM_M2K_W["horizontal"])
