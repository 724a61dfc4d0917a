"""Box of a roller shutter above a window, its inside as cold as outdoors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from thermalkit.physics.conduction.network import Films
from thermalkit.physics.detail import Box, PointsMm, Range, solid, within
from thermalkit.physics.detail_walls import OpeningEdge
from thermalkit.physics.domain import FloatArray
from thermalkit.physics.envelope import OUTDOOR_FILM_M2K_W
from thermalkit.physics.layers import INDOOR_FILM_M2K_W

SHELTERED_FILM_M2K_W = INDOOR_FILM_M2K_W["horizontal"]  # outdoor air without wind, common practice


@dataclass(frozen=True, kw_only=True)
class ShutterBox(OpeningEdge):
    """Vertical section; the judged line runs from the frame along the box's floor and up its cover.

    The box lies in the wall's thickness, flush with the inner surface, behind an apron. Inner and outer
    lengths both count the box as wall, so ψ is what it loses beyond the wall.
    """

    box_height_mm: float = within(250.0, 150.0, 350.0)
    apron_mm: float = within(50.0, 20.0, 60.0)
    cover_mm: float = within(20.0, 8.0, 40.0)
    cover_w_mk: float = within(0.13, 0.08, 0.3)
    lining_mm: float = within(0.0, 0.0, 40.0)
    lining_w_mk: float = within(0.035, 0.02, 0.05)

    origin: ClassVar[int] = 1

    @property
    def _hollow_mm(self) -> tuple[Range, Range]:
        """The cold air in the box, above the frame and behind the apron."""
        lined = self.cover_mm + self.lining_mm
        return (-self.core_mm + self.apron_mm, -lined), (lined, self.box_height_mm - self.lining_mm)

    def boxes(self) -> tuple[Box, ...]:
        """Frame and wall, then the cover, its lining and the hollow, one in another."""
        cover, lining = solid("cover", self.cover_w_mk), solid("lining", self.lining_w_mk)
        outer, top = -self.core_mm + self.apron_mm, self.box_height_mm
        slot = (outer, max(outer, self.frame_x_mm[0]))
        return (
            *self.opening(),
            *self.wall((0.0, self.reach_mm)),
            Box((outer, 0.0), (0.0, top), cover),
            Box((outer, -self.cover_mm), (self.cover_mm, top), lining),
            Box(*self._hollow_mm, "outside"),
            Box(slot, (0.0, top - self.lining_mm), "outside"),
        )

    def films(self) -> Films:
        """Still outdoor air in the box."""
        return {**super().films(), "outside": self._outdoor_film_m2k_w}

    def _outdoor_film_m2k_w(self, centres_m: FloatArray) -> FloatArray:
        depth_m, height_m = centres_m.T
        sheltered = (height_m > 0.0) & (depth_m > (-self.core_mm + self.apron_mm) / 1000.0 - 1e-9)
        return np.where(sheltered, SHELTERED_FILM_M2K_W, OUTDOOR_FILM_M2K_W)

    def line_mm(self) -> PointsMm:
        """From the frame to the edge, then up the cover and the wall."""
        return [(self.frame_x_mm[1], 0.0), (0.0, 0.0), (0.0, self.reach_mm)]

    def cures(self) -> Mapping[str, ShutterBox]:
        """A lining, with insulation outside or without."""
        lined = replace(self, lining_mm=30.0)
        insulated = replace(lined, insulation_mm=max(self.insulation_mm, 140.0))
        return {"box-lining": lined, "outside-insulation-and-lining": insulated}
