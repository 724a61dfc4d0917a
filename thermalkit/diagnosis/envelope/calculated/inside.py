"""Insulation on the inside: never advised without a look at water inside the wall.

Source
------
ISO 13788:2012, clause 6, monthly method; room moisture by its humidity classes 2 and 3. Vapour resistance
factors: low for the insulation and usual for the rest, ISO 10456 and common practice, from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from thermalkit.physics.detail_walls import MasonryWall
from thermalkit.physics.details.stud_wall import StudWall
from thermalkit.physics.envelope import design_vapour_pressure_pa
from thermalkit.physics.interstitial import InterstitialYear, Layer, monthly_condensation
from thermalkit.physics.moist_air import vapour_pressure_pa

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.measured import FloatArray
    from thermalkit.physics.detail import Detail

Outcome = Literal["unchecked", "free", "dries", "accumulates"]
INSIDE = ("inside-insulation", "inner-lining", "flank-insulation")
CLASSES = (2, 3)
INDOOR_DEGC = 20.0
OUTDOOR_HUMIDITY = 0.80  # common practice, where months of humidity were not written down
_NOTHING_G_M2 = 1.0
_LINING_MM = 30.0
_INSULATION_MU, _BOARD_MU, _MASONRY_MU, _OUTSIDE_MU, _SHEATHING_MU = 3.0, 10.0, 10.0, 30.0, 50.0


def is_inside(cure: str, detail: Detail) -> bool:
    """Whether a cure puts insulation on the inner face, or the wall has it there already."""
    return cure in INSIDE or getattr(detail, "inside_insulation_mm", 0.0) > 0.0


def years_inside(case: Case, detail: Detail) -> tuple[InterstitialYear, ...] | None:
    """A year within the wall for each humidity class; None without a monthly climate or such a wall."""
    climate, layers = case.site.keys.climate, _layers(detail)
    if layers is None or climate is None or climate.monthly_air_temperature_degc is None:
        return None
    outdoor = np.array(climate.monthly_air_temperature_degc)
    percent = climate.monthly_relative_humidity_percent
    humidity: FloatArray = np.full(12, OUTDOOR_HUMIDITY) if percent is None else np.array(percent) / 100.0
    indoor = np.maximum(INDOOR_DEGC, outdoor)
    outdoor_pa = vapour_pressure_pa(outdoor, humidity)
    return tuple(
        monthly_condensation(
            layers, indoor, design_vapour_pressure_pa(number, outdoor, humidity), outdoor, outdoor_pa
        )
        for number in CLASSES
    )


def outcome(years: tuple[InterstitialYear, ...] | None) -> Outcome:
    """What the moistest of the classes leads to."""
    if years is None:
        return "unchecked"
    if any(year.left_g_m2 > _NOTHING_G_M2 for year in years):
        return "accumulates"
    return "dries" if any(year.most_held_g_m2 > _NOTHING_G_M2 for year in years) else "free"


def _layers(detail: Detail) -> tuple[Layer, ...] | None:
    if isinstance(detail, MasonryWall):
        thickness = getattr(detail, "inside_insulation_mm", 0.0) or _LINING_MM
        conductivity = getattr(detail, "inside_insulation_w_mk", getattr(detail, "lining_w_mk", 0.04))
        board = (getattr(detail, "board_mm", 12.5), getattr(detail, "board_w_mk", 0.25), _BOARD_MU)
        rows = (
            board,
            (thickness, conductivity, _INSULATION_MU),
            (detail.plaster_mm, detail.plaster_w_mk, _BOARD_MU),
            (detail.masonry_mm, detail.masonry_w_mk, _MASONRY_MU),
            (detail.insulation_mm, detail.insulation_w_mk, _OUTSIDE_MU),
        )
    elif isinstance(detail, StudWall):
        factors = (_BOARD_MU, _INSULATION_MU, 1.0, _SHEATHING_MU, _INSULATION_MU)
        rows = tuple((*layer, mu) for layer, mu in zip(detail.layers, factors, strict=True))  # type: ignore[assignment]
    else:
        return None
    return tuple(
        Layer(resistance_m2k_w=0.001 * mm / w_mk, diffusion_thickness_m=0.001 * mm * mu)
        for mm, w_mk, mu in rows
        if mm > 0.0
    )
