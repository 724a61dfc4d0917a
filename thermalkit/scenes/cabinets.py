"""Control cabinets whose temperatures are known: conductors, devices and joints, healthy or not.

Every *pole* is one conductor with its device. Heat comes from the current in conductor, device and joint; it
flows along the conductor, through the device and to its neighbours, and leaves to air that is warmer above.
Convection grows with temperature and resistance too, which no estimator here assumes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from thermalkit.measured import FloatArray
from thermalkit.physics.conductors import (
    INSULATION_W_MK,
    Conductor,
    conductor,
    conductor_film_w_m2k,
    fin_length_m,
    heat_loss_w_mk,
)

BEYOND_VIEW_FINS = 4.0  # fin lengths of conductor that go on where the picture ends
NODES_PER_FIN = 16
BODY_RISE_K = 30.0
_BODY_POWER = 0.18  # radiation hardly, convection by a quarter power of the rise
_ROUNDS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Pole:
    """One conductor with its device, its joint at the terminal between them.

    Attributes
    ----------
    device_ohm, joint_ohm : float
        Resistance inside the device, and of the joint.
    to_body_w_k, body_w_k : float
        Heat conductance from terminal to body of the device, and from the body to the air at 30 K; it grows
        with the rise.
    bundled : float
        Share of its loss that a conductor keeps among others; 1 in free air.
    foreign_w : float
        Heat in the body that no current of this pole brings.
    """

    id: str
    current_a: float
    rated_a: float
    area_mm2: float
    device_ohm: float
    joint_ohm: float
    to_body_w_k: float
    body_w_k: float
    phase: str = "L1"
    group: str = ""
    bundled: float = 1.0
    foreign_w: float = 0.0

    @property
    def wire(self) -> Conductor:
        """Its conductor, of copper."""
        return conductor(self.area_mm2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air of the cabinet: at the rail, how much warmer a metre higher, and what a fan adds to convection."""

    temperature_degc: float
    stratification_k_m: float = 6.0
    fan_w_m2k: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Warmth:
    """What a row of poles settles to, in °C; arrays of shape (poles,) and (poles, nodes).

    `along_m` are distances from the terminals down the conductors, metal and surface of which differ by the
    insulation.
    """

    terminal_degc: FloatArray
    body_degc: FloatArray
    along_m: FloatArray
    metal_degc: FloatArray
    surface_degc: FloatArray

    def surface_at(self, pole: int, distance_m: FloatArray) -> FloatArray:
        """Surface of a conductor at distances from its terminal."""
        return np.asarray(np.interp(distance_m, self.along_m, self.surface_degc[pole]))


def warmth(
    poles: Sequence[Pole], air: Air, visible_m: float, *, between_w_k: float = 0.01, apart: float = 1.0
) -> Warmth:
    """Steady temperatures of a row of poles side by side.

    Parameters
    ----------
    poles : sequence of Pole
        From left to right.
    air : Air
    visible_m : float
        Length of conductor in the picture; it goes on beyond.
    between_w_k : float
        Heat conductance from body to body.
    apart : float
        Share of `between_w_k` that is left between poles of different groups.
    """
    wires = [pole.wire for pole in poles]
    longest_fin_m = max(float(fin_length_m(wire, 10.0)) for wire in wires)
    length_m = visible_m + BEYOND_VIEW_FINS * longest_fin_m
    nodes = int(np.clip(NODES_PER_FIN * length_m / longest_fin_m, 60, 160))
    step_m = length_m / nodes
    along_m: FloatArray = (np.arange(nodes, dtype=np.float64) + 0.5) * step_m
    air_degc: FloatArray = air.temperature_degc - air.stratification_k_m * along_m
    metal_degc = np.tile(air_degc + 10.0, (len(poles), 1))
    body_degc = np.full(len(poles), air.temperature_degc + BODY_RISE_K)
    for _ in range(_ROUNDS):
        loss = np.stack([_loss_w_mk(*item) for item in _each(poles, wires, metal_degc, air_degc, air)])
        metal_degc, terminal_degc, body_degc = _solved(
            poles,
            wires,
            metal_degc,
            loss,
            air,
            air_degc,
            step_m,
            between_w_k,
            apart,
            _stronger(body_degc, air),
        )
    surface_degc = air_degc + (metal_degc - air_degc) * np.stack(
        [1.0 - row * _through_mk_w(wire) for row, wire in zip(loss, wires, strict=True)]
    )
    return Warmth(
        terminal_degc=terminal_degc,
        body_degc=body_degc,
        along_m=along_m,
        metal_degc=metal_degc,
        surface_degc=surface_degc,
    )


def _stronger(body_degc: FloatArray, air: Air) -> FloatArray:
    """Loss of each body as a multiple of that at 30 K."""
    rise_k = np.clip(body_degc - air.temperature_degc, 0.5, 150.0)
    return np.asarray((rise_k / BODY_RISE_K) ** _BODY_POWER)


def _each(
    poles: Sequence[Pole], wires: Sequence[Conductor], metal_degc: FloatArray, air_degc: FloatArray, air: Air
) -> list[tuple[Pole, Conductor, FloatArray, FloatArray, Air]]:
    return [
        (pole, wire, row, air_degc, air) for pole, wire, row in zip(poles, wires, metal_degc, strict=True)
    ]


def _loss_w_mk(
    pole: Pole, wire: Conductor, metal_degc: FloatArray, air_degc: FloatArray, air: Air
) -> FloatArray:
    """Loss of each node per metre and kelvin at its own temperature."""
    rise_k = np.clip(metal_degc - air_degc, 0.5, 190.0)
    film = conductor_film_w_m2k(wire.outer_diameter_m, rise_k, air.temperature_degc) + air.fan_w_m2k
    return np.asarray(heat_loss_w_mk(wire, film * pole.bundled))


def _through_mk_w(wire: Conductor) -> float:
    """Resistance of the insulation of a metre."""
    return float(np.log(wire.outer_diameter_m / wire.diameter_m) / (2.0 * np.pi * INSULATION_W_MK))


def _solved(
    poles: Sequence[Pole],
    wires: Sequence[Conductor],
    before_degc: FloatArray,
    loss_w_mk: FloatArray,
    air: Air,
    air_degc: FloatArray,
    step_m: float,
    between_w_k: float,
    apart: float,
    stronger: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Balance of every node, terminal and body at fixed losses: conductors first, then the row of devices.

    Each conductor answers its terminal by a conductance and a source, so that only terminals and bodies are
    coupled.
    """
    from scipy.linalg import solve_banded

    count, nodes = before_degc.shape
    matrix, load = np.zeros((2 * count, 2 * count)), np.zeros(2 * count)
    kept = []
    for i, (pole, wire) in enumerate(zip(poles, wires, strict=True)):
        flow = wire.conductivity_w_mk * wire.area_mm2 * 1e-6 / step_m
        warm = 1.0 + wire.resistance_per_k * (before_degc[i] - 20.0)
        heat = pole.current_a**2 * wire.resistance_ohm_m * warm * step_m
        out = loss_w_mk[i] * step_m
        bands = np.zeros((3, nodes))
        bands[0, 1:], bands[2, :-1] = -flow, -flow
        bands[1] = out + 2.0 * flow
        bands[1, 0], bands[1, -1] = out[0] + 3.0 * flow, out[-1] + flow
        right = np.stack([heat + out * air_degc, np.zeros(nodes)], axis=1)
        right[0, 1] = 2.0 * flow  # answer to a terminal of 1 °C
        source, answer = solve_banded((1, 1), bands, right).T
        kept.append((source, answer))
        matrix[i, i] += 2.0 * flow * (1.0 - answer[0]) + pole.to_body_w_k
        matrix[i, count + i] -= pole.to_body_w_k
        load[i] += pole.current_a**2 * pole.joint_ohm + 2.0 * flow * source[0]
        body_w_k = pole.body_w_k * stronger[i]
        matrix[count + i, count + i] += body_w_k + pole.to_body_w_k
        matrix[count + i, i] -= pole.to_body_w_k
        load[count + i] += (
            pole.current_a**2 * pole.device_ohm + pole.foreign_w + body_w_k * air.temperature_degc
        )
    for i in range(count - 1):
        one, other = count + i, count + i + 1
        through = between_w_k * (1.0 if poles[i].group == poles[i + 1].group else apart)
        matrix[one, one] += through
        matrix[other, other] += through
        matrix[one, other] -= through
        matrix[other, one] -= through
    found = np.linalg.solve(matrix, load)
    metal = np.stack([source + answer * found[i] for i, (source, answer) in enumerate(kept)])
    return metal, found[:count], found[count:]
