"""A row of poles as a camera sees it: devices on a rail, conductors going down, labels, bright metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from thermalkit.imaging.camera import Camera, apparent_frame
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.measured import FloatArray
from thermalkit.scenes.cabinets import Air, Pole, Warmth, warmth

TERMINAL_M = 0.014  # height of what is seen of a terminal and the end in it
DEVICE_ABOVE_M = 0.012  # back plate above the devices
RAIL_EMISSIVITY, METAL_EMISSIVITY = 0.15, 0.20
LABEL_EMISSIVITY = 0.90
GLOW_M = 0.03  # how wide a person shows in a row of bright terminals


@dataclass(frozen=True, slots=True, kw_only=True)
class Glow:
    """A warm person mirrored in bright metal: where along the row (in poles) and how much warmer."""

    at_pole: float
    excess_k: float = 11.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cabinet:
    """Everything that is true of one row of poles and of how it is looked at.

    `fault` and `suspect` (number of a pole) say what is wrong where; a healthy one has no suspect.
    `bright` makes the terminals bare metal. Poles whose id begins with "K" belong to no circuit.
    """

    poles: tuple[Pole, ...]
    air: Air
    camera: Camera
    fault: str = "none"
    suspect: int | None = None
    pitch_m: float = 0.0175
    device_m: float = 0.07
    left_m: float = 0.02
    distance_m: float = 0.8
    between_w_k: float = 0.02
    apart: float = 0.6
    emissivity: float = 0.93
    unlike: float = 0.015  # emissivity of single places lies within this of it
    room_degc: float = 23.0
    reflected_degc: float = 24.0
    bright: bool = False
    glows: tuple[Glow | None, ...] = (None,)  # one per frame
    fan: bool = False

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the picture."""
        return self.camera.rows, self.camera.columns

    @property
    def side_m(self) -> float:
        """Side of what a pixel sees."""
        return float(pixel_size_m(self.camera.field_of_view_deg[0], self.camera.columns, self.distance_m))

    @property
    def terminal_top_m(self) -> float:
        """Where devices end and terminals begin, from the upper edge of the picture."""
        return DEVICE_ABOVE_M + self.device_m

    @property
    def visible_m(self) -> float:
        """Length of conductor between terminal and lower edge of the picture."""
        return self.camera.rows * self.side_m - self.terminal_top_m - TERMINAL_M

    def warmth(self, poles: Sequence[Pole] | None = None) -> Warmth:
        """Temperatures, also of other poles in the same places."""
        return warmth(
            poles or self.poles, self.air, self.visible_m, between_w_k=self.between_w_k, apart=self.apart
        )

    def at_load(self, current_a: Sequence[float]) -> Warmth:
        """Temperatures at other currents."""
        return self.warmth(
            [replace(p, current_a=float(i)) for p, i in zip(self.poles, current_a, strict=True)]
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CabinetFrame:
    """One frame of a cabinet: what the camera stored and what was true; arrays (rows, columns)."""

    id: str
    apparent_degc: FloatArray
    true_surface_degc: FloatArray
    marks: tuple[Mark, ...]

    def truth_at(self, mark: Mark) -> float:
        """Mean true surface temperature of a mark, in °C."""
        return float(self.true_surface_degc[mark_mask(mark, self.true_surface_degc.shape)].mean())


def frames_of(cabinet: Cabinet, rng: np.random.Generator, name: str = "row") -> tuple[CabinetFrame, ...]:
    """Every frame of a cabinet, one for each of its glows."""
    warm = cabinet.warmth()
    places = rng.uniform(-cabinet.unlike, cabinet.unlike, (len(cabinet.poles), 3))
    ids = [name if i == 0 else f"{name}-{i + 1}" for i in range(len(cabinet.glows))]
    return tuple(
        _frame(cabinet, warm, places, id, glow, rng) for id, glow in zip(ids, cabinet.glows, strict=True)
    )


def _frame(
    cabinet: Cabinet,
    warm: Warmth,
    places: FloatArray,
    id: str,
    glow: Glow | None,
    rng: np.random.Generator,
) -> CabinetFrame:
    surface, emissivity = _maps(cabinet, warm, places)
    reflected = np.full(cabinet.shape, cabinet.reflected_degc)
    if glow is not None:
        reflected = reflected + _mirrored_k(cabinet, glow)
    return CabinetFrame(
        id=id,
        apparent_degc=apparent_frame(cabinet.camera, surface, emissivity, reflected, rng),
        true_surface_degc=surface,
        marks=tuple(marks_on(cabinet, id)),
    )


def _mirrored_k(cabinet: Cabinet, glow: Glow) -> FloatArray:
    across_m, _ = _positions_m(cabinet)
    centre_m = middle_m(cabinet, glow.at_pole)
    share = np.exp(-(((across_m - centre_m) / (0.5 * GLOW_M)) ** 2))
    return np.broadcast_to(glow.excess_k * share, cabinet.shape)


def middle_m(cabinet: Cabinet, pole: float) -> float:
    """Middle of a pole from the left edge of the picture."""
    return cabinet.left_m + (pole + 0.5) * cabinet.pitch_m


def _positions_m(cabinet: Cabinet) -> tuple[FloatArray, FloatArray]:
    rows, columns = cabinet.shape
    across = (np.arange(columns, dtype=np.float64)[None, :] + 0.5) * cabinet.side_m
    down = (np.arange(rows, dtype=np.float64)[:, None] + 0.5) * cabinet.side_m
    return across, down


def _maps(cabinet: Cabinet, warm: Warmth, places: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Surface temperature and emissivity of every pixel, painted from back to front."""
    across, down = _positions_m(cabinet)
    air = cabinet.air
    lower_m = down - cabinet.terminal_top_m
    back = air.temperature_degc - air.stratification_k_m * lower_m + 0.5
    surface = np.array(np.broadcast_to(back, cabinet.shape))
    emissivity = np.full(cabinet.shape, 0.92)
    rail = (np.abs(down - DEVICE_ABOVE_M - cabinet.device_m / 2.0) < 0.0175) & (across > 0.0)
    surface[rail], emissivity[rail] = air.temperature_degc + 2.0, RAIL_EMISSIVITY
    for i, pole in enumerate(cabinet.poles):
        _paint_conductor(cabinet, warm, i, pole, surface, emissivity, cabinet.emissivity + places[i, 1])
        _paint_device(cabinet, warm, i, surface, emissivity, places[i])
    return surface, emissivity


def _paint_conductor(
    cabinet: Cabinet,
    warm: Warmth,
    i: int,
    pole: Pole,
    surface: FloatArray,
    emissivity: FloatArray,
    own: float,
) -> None:
    across, down = _positions_m(cabinet)
    distance_m = down[:, 0] - cabinet.terminal_top_m - TERMINAL_M
    below = distance_m > 0.0
    half_m, side_m = pole.wire.outer_diameter_m / 2.0, cabinet.side_m
    off_m = np.abs(across[0] - middle_m(cabinet, i))
    share = np.clip((half_m - off_m) / side_m + 0.5, 0.0, 1.0)[None, :]
    along = warm.surface_at(i, np.maximum(distance_m[below], 0.0))[:, None]
    surface[below] += share * (along - surface[below])
    emissivity[below] += share * (own - emissivity[below])


def _paint_device(
    cabinet: Cabinet,
    warm: Warmth,
    i: int,
    surface: FloatArray,
    emissivity: FloatArray,
    places: FloatArray,
) -> None:
    across, down = _positions_m(cabinet)
    wide = np.abs(across - middle_m(cabinet, i)) < 0.48 * cabinet.pitch_m
    body = wide & (down >= DEVICE_ABOVE_M) & (down < cabinet.terminal_top_m)
    ends = wide & (down >= cabinet.terminal_top_m) & (down < cabinet.terminal_top_m + TERMINAL_M)
    # A housing is a little cooler than what is in it, and takes over towards its terminals.
    share = np.clip((down - cabinet.terminal_top_m + 0.02) / 0.02, 0.0, 1.0)
    housing = warm.body_degc[i] + share * (warm.terminal_degc[i] - warm.body_degc[i])
    surface[body] = np.broadcast_to(housing, surface.shape)[body]
    emissivity[body] = cabinet.emissivity + places[2]
    label = body & (down > DEVICE_ABOVE_M + 0.006) & (down < DEVICE_ABOVE_M + 0.014)
    surface[label] -= 0.4
    emissivity[label] = LABEL_EMISSIVITY
    surface[ends] = warm.terminal_degc[i]
    emissivity[ends] = METAL_EMISSIVITY if cabinet.bright else cabinet.emissivity + places[0]


def has_circuit(pole: Pole) -> bool:
    """Whether a pole is a conductor of a circuit, not something else on the rail."""
    return not pole.id.startswith("K")


def marks_on(cabinet: Cabinet, frame: str) -> list[Mark]:
    """What a surveyor draws: terminal, conductor and device of each circuit."""
    rows, columns = cabinet.shape
    side_m = cabinet.side_m
    found = []
    for i, pole in enumerate(cabinet.poles):
        centre = middle_m(cabinet, i) / side_m - 0.5
        half = max(0.36 * cabinet.pitch_m / side_m, 2.0)
        top, bottom = cabinet.terminal_top_m / side_m, (cabinet.terminal_top_m + TERMINAL_M) / side_m
        if not has_circuit(pole) or centre + half > columns - 2:
            continue
        body_top = (DEVICE_ABOVE_M + 0.018) / side_m
        body_bottom = max((cabinet.terminal_top_m - 0.024) / side_m, body_top + 3.0)
        found += [
            Mark(
                frame=frame,
                id=pole.id,
                shape="patch",
                points=_box(top + 0.5, bottom - 1.5, centre, half),
                role="terminal",
            ),
            Mark(
                frame=frame,
                id=f"{pole.id} cable",
                shape="trace",
                points=((round(bottom + 1.0, 1), round(centre, 1)), (float(rows - 3), round(centre, 1))),
                role="conductor",
            ),
            Mark(
                frame=frame,
                id=f"{pole.id} body",
                shape="patch",
                points=_box(body_top, body_bottom, centre, half),
                role="device",
            ),
        ]
    return found


def _box(top: float, bottom: float, centre: float, half: float) -> tuple[tuple[float, float], ...]:
    bottom = max(bottom, top + 2.0)
    left, right = round(centre - half, 1), round(centre + half, 1)
    high, low = round(top, 1), round(bottom, 1)
    return ((high, left), (high, right), (low, right), (low, left))
