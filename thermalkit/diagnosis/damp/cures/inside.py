"""Insulation on the inside: not without a check of moisture within the wall.

Where every layer of the wall is a material of the shipped table and the climate is known month by month,
the monthly method gives a first answer for a vapour-open board; a clean one never replaces a full check.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.cures.elsewhere import only_wall
from thermalkit.diagnosis.damp.cures.remedy import Remedy
from thermalkit.diagnosis.damp.cures.room import outdoor_pa_draws, room_moisture
from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, NextStep, Quantity, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import COVERAGE, Measured
from thermalkit.physics.interstitial import InterstitialYear, Layer, monthly_condensation
from thermalkit.physics.materials import materials

BOARD_W_MK = 0.040  # common practice: a vapour-open board of mineral or wood fibre
BOARD_VAPOUR_RESISTANCE_FACTOR = 3.0
_THICKEST_AIR_M = 1e6
_THINNEST_AIR_M = 0.001
_NOTHING_G_M2 = 1.0


def inside_insulation(case: Case, place: Place, label: str, item: Remedy) -> Iterator[Finding]:
    """What the monthly method says of inside insulation, or what has to be known for it."""
    if item.reach not in ("enough", "perhaps"):
        return
    added = Number(item.planned, "m2K/W", 1)
    years = years_inside(case, place, item.planned)
    statement, quantities = _unchecked(label, added) if years is None else _checked(label, added, years)
    yield finding(
        case,
        place,
        label,
        "inside",
        statement,
        quantities,
        next_steps=(NextStep(step=say("damp.cure.next.check-inside"), by=say("by.consultant")),),
        extra_cautions=(say("damp.cure.caution.services"),),
        sources=("damp.cure.source.interstitial",),
    )


Years = tuple[InterstitialYear, InterstitialYear, InterstitialYear]
Said = tuple[Sentence, tuple[Quantity, ...]]


def _unchecked(label: str, added: Number) -> Said:
    return say("damp.cure.inside.unchecked", place=label, added=added), ()


def _checked(label: str, added: Number, years: Years) -> Said:
    low, value, high = (year.most_held_g_m2 for year in years)
    water = quantity("water-in-wall", Measured(value=value, low=low, high=high, unit="g/m2"))
    if years[-1].left_g_m2 > _NOTHING_G_M2:
        outcome = "accumulates"
    else:
        outcome = "dries" if high > _NOTHING_G_M2 else "free"
    id = f"damp.cure.inside.checked.{outcome}"
    return say(id, place=label, added=added, water=water.shown()), (water,)


def years_inside(case: Case, place: Place, added_m2k_w: float) -> Years | None:
    """A year within the wall insulated inside, at the low end, middle and high end of the room's moisture.

    None where a layer, the monthly climate or the room's moisture is not known.
    """
    wall, room, climate = (
        wall_layers(case, place),
        room_moisture(case, place.mark.frame),
        case.site.keys.climate,
    )
    if wall is None or room is None or climate is None or climate.monthly_air_temperature_degc is None:
        return None
    outdoor = climate.monthly_air_temperature_degc
    humidities = climate.monthly_relative_humidity_percent or (None,) * 12
    outdoor_pa = np.array(
        [np.median(outdoor_pa_draws(case, t, h)) for t, h in zip(outdoor, humidities, strict=True)]
    )
    excess = np.array([room.excess_at(t) for t in outdoor])
    indoor = np.maximum(np.median(room.indoor_degc), outdoor)
    board = Layer(
        resistance_m2k_w=added_m2k_w,
        diffusion_thickness_m=BOARD_VAPOUR_RESISTANCE_FACTOR * BOARD_W_MK * added_m2k_w,
    )
    tail = (1.0 - COVERAGE) / 2.0
    low, middle, high = (
        monthly_condensation(
            (board, *wall), indoor, outdoor_pa + np.quantile(excess, q, axis=1), outdoor, outdoor_pa
        )
        for q in (tail, 0.5, 1.0 - tail)
    )
    return low, middle, high


def wall_layers(case: Case, place: Place) -> tuple[Layer, ...] | None:
    """Layers of the only wall written down for the room; None unless the table knows every material."""
    wall, known = only_wall(case, place), materials()
    if wall is None or not all(layer.material in known for layer in wall.layers):
        return None
    return tuple(
        Layer(
            resistance_m2k_w=0.001 * layer.thickness_mm / known[layer.material].conductivity_w_mk,
            diffusion_thickness_m=float(
                np.clip(
                    0.001 * layer.thickness_mm * known[layer.material].vapour_resistance_factor,
                    _THINNEST_AIR_M,
                    _THICKEST_AIR_M,
                )
            ),
        )
        for layer in wall.layers
    )
