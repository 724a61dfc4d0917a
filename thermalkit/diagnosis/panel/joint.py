"""What a joint turns into heat, and the resistance that it takes."""

from __future__ import annotations

from dataclasses import dataclass

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.panel.like import Excess
from thermalkit.diagnosis.panel.reading import Reading
from thermalkit.measured import FloatArray
from thermalkit.physics.conductors import conducted_power_w, contact_resistance_ohm


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Draws of shape (draws,): what it adds to its terminal, W, and mΩ where the current was measured."""

    rise_k: FloatArray
    power_w: FloatArray
    resistance_mohm: FloatArray | None


def joint(case: Case, item: Reading, compared: Excess) -> Joint | None:
    """A joint beyond what those of its likes do; None where it cannot be told from its current.

    The heat along the conductor is known from its size. Which share of the joint's heat leaves that way and
    not into the device is not, and makes most of the interval.
    """
    if compared.joint_k is None or item.along is None:
        return None
    row = case.assumed("conductor-share")
    share = case.draws.between(f"conductor-share {item.way.id}", row.low, row.high)
    seen = item.along
    power_w = conducted_power_w(compared.joint_k, seen.wire, seen.end_film_w_m2k) / share
    return Joint(
        rise_k=compared.joint_k,
        power_w=power_w,
        resistance_mohm=None
        if item.current_a is None
        else 1000.0 * contact_resistance_ohm(power_w, item.current_a),
    )
