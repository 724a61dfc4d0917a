"""A radiator on its wall as a camera and a fitter's notes see it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from thermalkit.imaging.camera import Camera, apparent_frame
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray
from thermalkit.scenes.panel_water import Connection, Panel, PanelState, panel_state, spread_over
from thermalkit.scenes.scene import AIR_ACCURACY_K
from thermalkit.scenes.things import Thing

Fault = Literal["none", "air", "deposit", "starved", "shut", "satisfied", "swapped"]
Quad = tuple[tuple[float, float], ...]

CONNECTIONS: dict[str, Connection] = {
    "top-bottom-same": (("top", "left"), ("bottom", "left")),
    "top-bottom-opposite": (("top", "left"), ("bottom", "right")),
    "bottom-opposite": (("bottom", "left"), ("bottom", "right")),
    "bottom-valve": (("top", "right"), ("bottom", "right")),
}
PIPE_ACCURACY_K = 1.5
_WATER_J_KGK = 4186.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """What the front is painted with, and its emissivity."""

    name: str = "paint"
    emissivity: float = 0.93


@dataclass(frozen=True, slots=True, kw_only=True)
class RadiatorScene:
    """Everything that is true of one radiator, its room and the view of it.

    `flow_share` is the water it gets over that of its design drop. `corners` are (row, column) of its front,
    from the upper left clockwise; they may lie outside the picture. `furniture` is a box (first row,
    row after the last, first column, column after the last) in front of it; `things` are on the wall.
    """

    panel: Panel
    type: str
    connection: str
    fault: Fault
    flow_degc: float
    room_degc: float
    design_drop_k: float
    flow_share: float
    camera: Camera
    corners: Quad
    setpoint_degc: float = 20.0
    outdoor_degc: float = 2.0
    minutes: float | None = None
    finish: Finish = Finish()
    reflected_degc: float = 20.0
    mirrored_k: float = 0.0
    below_water: float = 0.03
    ripple: float = 0.02
    channels: int = 24
    furniture: tuple[int, int, int, int] | None = None
    things: tuple[Thing, ...] = ()
    window: bool = False
    is_throttled: bool = False

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the picture."""
        return self.camera.rows, self.camera.columns

    @property
    def design_flow_kg_s(self) -> float:
        """Water that gives the design drop at these temperatures."""
        excess = self.flow_degc - self.design_drop_k / 2.0 - self.room_degc
        output_w = self.panel.rated_w * (max(excess, 1.0) / 50.0) ** self.panel.exponent
        return float(output_w / _WATER_J_KGK / self.design_drop_k)


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """What stands in the notes, as read and rounded; None where nothing was written."""

    room_degc: float
    emissivity: float | None
    reflected_degc: float | None
    flow_degc: float | None
    return_degc: float | None
    head: str
    warmer_than_set: str
    minutes_steady: float | None
    connection: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RadiatorSeen:
    """A frame, the notes and marks taken with it, and the truth."""

    frame: str
    scene: RadiatorScene
    apparent_degc: FloatArray
    true_surface_degc: FloatArray
    state: PanelState
    outline: Mark
    hidden: tuple[Mark, ...]
    notes: Notes


def radiator_seen(
    scene: RadiatorScene, rng: np.random.Generator, frame: str = "radiator", name: str = "radiator"
) -> RadiatorSeen:
    """Take the picture and write the notes.

    Parameters
    ----------
    scene : RadiatorScene
    rng : numpy.random.Generator
        Draws noise, what is left of reading errors, and how well the outline is drawn.
    frame, name : str
        Names of the frame and of the mark round the radiator.
    """
    state = panel_state(
        scene.panel,
        scene.flow_degc,
        scene.room_degc,
        scene.design_flow_kg_s * scene.flow_share,
        scene.minutes,
    )
    along, down = panel_places(scene)
    inside = (along >= 0.0) & (along <= 1.0) & (down >= 0.0) & (down <= 1.0)
    surface = np.where(inside, _front(scene, state, along, down), _surroundings(scene, state, along, down))
    emissivity = np.where(inside, scene.finish.emissivity, 0.93)
    reflected = np.full(scene.shape, scene.reflected_degc) + _mirrored(scene)
    for thing in scene.things:
        box = thing.pixels()
        surface[box] += thing.share * (scene.room_degc - surface[box]) + thing.excess_k
        emissivity[box] = thing.emissivity
    hidden: tuple[Mark, ...] = ()
    if scene.furniture is not None:
        top, below, left, right = scene.furniture
        surface[top:below, left:right] = scene.room_degc + 0.04 * (
            surface[top:below, left:right] - scene.room_degc
        )
        emissivity[top:below, left:right] = 0.92
        hidden = (_furniture_mark(scene, frame),)
    return RadiatorSeen(
        frame=frame,
        scene=scene,
        apparent_degc=apparent_frame(scene.camera, surface, emissivity, reflected, rng),
        true_surface_degc=surface,
        state=state,
        outline=_outline(scene, frame, name, rng),
        hidden=hidden,
        notes=_notes(scene, state, rng),
    )


def panel_places(scene: RadiatorScene) -> tuple[FloatArray, FloatArray]:
    """Place of each pixel on the front: 0 to 1 from its left and from its top; outside it beyond that."""
    matrix = np.linalg.inv(_perspective(np.asarray(scene.corners, dtype=np.float64)))
    rows, columns = np.indices(scene.shape, dtype=np.float64)
    x, y, w = np.tensordot(matrix, np.stack([columns, rows, np.ones_like(rows)]), axes=1)
    return x / w, y / w


def without_fault(scene: RadiatorScene) -> RadiatorScene:
    """The same radiator as its fitter meant it, for how large a fault shows."""
    panel = replace(scene.panel, air_depth=0.0, deposits=(), connection=CONNECTIONS[scene.connection])
    panel = replace(panel, connection=_sided(panel.connection, scene.panel.connection))
    return replace(scene, panel=panel, fault="none", flow_share=1.0, minutes=None)


def other_side(connection: Connection) -> Connection:
    """The same pipes at the other end."""
    side = {"left": "right", "right": "left"}
    (one, first), (other, second) = connection
    return (one, side[first]), (other, side[second])


def _sided(connection: Connection, like: Connection) -> Connection:
    """A connection turned so that its pipes come where they are."""
    return connection if set(connection) == set(like) else other_side(connection)


def _perspective(corners: FloatArray) -> FloatArray:
    """Matrix that takes (along, down, 1) of the front to (column, row, 1) of the picture."""
    unit = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    lines, right = [], []
    for (x, y), (row, column) in zip(unit, corners, strict=True):
        lines.append([x, y, 1.0, 0.0, 0.0, 0.0, -column * x, -column * y])
        lines.append([0.0, 0.0, 0.0, x, y, 1.0, -row * x, -row * y])
        right += [column, row]
    solved = np.linalg.solve(np.array(lines), np.array(right))
    return np.append(solved, 1.0).reshape(3, 3)


def _front(scene: RadiatorScene, state: PanelState, along: FloatArray, down: FloatArray) -> FloatArray:
    """Surface of the front: a little below its water, with the channels' ripple and cooler rims."""
    water = spread_over(state, np.clip(along, 0.0, 1.0), np.clip(down, 0.0, 1.0)) - scene.room_degc
    ripple = 1.0 + scene.ripple * np.cos(2.0 * np.pi * scene.channels * along)
    rim = np.minimum(np.minimum(along, 1.0 - along), np.minimum(down, 1.0 - down))
    edge = 1.0 - 0.10 * np.exp(-np.maximum(rim, 0.0) / 0.012)
    return np.asarray(scene.room_degc + water * (1.0 - scene.below_water) * ripple * edge)


def _surroundings(scene: RadiatorScene, state: PanelState, along: FloatArray, down: FloatArray) -> FloatArray:
    """The wall with the warm air above the radiator, floor, window, valve and pipes."""
    mean_k = float(state.cells_degc.mean()) - scene.room_degc
    wall = np.full(scene.shape, scene.room_degc - 0.06 * (scene.room_degc - scene.outdoor_degc))
    beside = np.exp(-np.maximum(np.maximum(-along, along - 1.0), 0.0) / 0.08)
    rising = np.where(down < 0.0, np.exp(down / 0.8), np.exp(-np.maximum(down - 1.0, 0.0) / 0.1))
    wall = wall + 0.22 * mean_k * beside * rising
    wall = np.where(down > 1.3, scene.room_degc - 1.0, wall)
    if scene.window:
        pane = (down < -0.35) & (along > 0.05) & (along < 0.95)
        wall = np.where(pane, scene.room_degc - 0.3 * (scene.room_degc - scene.outdoor_degc), wall)
    ends = zip(scene.panel.connection, (scene.flow_degc, state.return_degc), strict=True)
    for number, ((level, side), pipe_degc) in enumerate(ends):
        through = min(1.0, 8.0 * scene.flow_share) if number == 0 else 1.0
        pipe_k = 0.9 * (pipe_degc - scene.room_degc) * through
        at = -0.025 if side == "left" else 1.025
        from_down = 0.07 if level == "top" else 0.93
        near = (np.abs(along - at) < 0.014) & (down > from_down - 0.04) & (down < 1.3)
        wall = np.where(near, scene.room_degc + pipe_k, wall)
    return np.asarray(wall)


def _mirrored(scene: RadiatorScene) -> FloatArray:
    """A person that stands beside the camera, mirrored softly."""
    rows, columns = np.indices(scene.shape, dtype=np.float64)
    row = (rows / scene.shape[0] - 0.5) / 0.5
    column = (columns / scene.shape[1] - 0.62) / 0.18
    return np.asarray(scene.mirrored_k * np.exp(-(row**2) - column**2))


def _outline(scene: RadiatorScene, frame: str, name: str, rng: np.random.Generator) -> Mark:
    """The front as a person draws it: within a pixel or so, cut off at the picture's edge."""
    last = np.subtract(scene.shape, 1)
    jitter = rng.uniform(-1.0, 1.0, (4, 2)) * scene.shape[0] / 120.0
    corners = np.clip(np.asarray(scene.corners) + jitter, 0, last)
    points = tuple((round(float(r), 1), round(float(c), 1)) for r, c in corners)
    return Mark(frame=frame, id=name, shape="patch", points=points, role="radiator")


def _furniture_mark(scene: RadiatorScene, frame: str) -> Mark:
    top, below, left, right = scene.furniture or (0, 0, 0, 0)
    top, left = max(top - 2, 0), max(left - 2, 0)
    below, right = min(below, scene.shape[0] - 1), min(right + 1, scene.shape[1] - 1)
    points = ((top, left), (top, right), (below, right), (below, left))
    return Mark(
        frame=frame,
        id="furniture",
        shape="patch",
        points=tuple((float(r), float(c)) for r, c in points),
        role="hidden",
    )


def _notes(scene: RadiatorScene, state: PanelState, rng: np.random.Generator) -> Notes:
    has_pipes = rng.random() < 0.5
    under = rng.uniform(0.0, 0.04)
    is_warm = scene.room_degc >= scene.setpoint_degc - 0.05
    looks, asks = rng.random() < 0.9, rng.random() < 0.8
    head = "throttling" if is_warm else "open"

    def pipe(water_degc: float) -> float:
        error = rng.uniform(-PIPE_ACCURACY_K, PIPE_ACCURACY_K) / 2.0
        return round(water_degc - under * (water_degc - scene.room_degc) + error, 1)

    at_valve = (
        scene.flow_degc
        if scene.flow_share > 0.02
        else scene.room_degc + 0.6 * (scene.flow_degc - scene.room_degc)
    )
    paint = scene.finish.name == "paint"
    return Notes(
        room_degc=round(scene.room_degc + rng.uniform(-AIR_ACCURACY_K, AIR_ACCURACY_K), 1),
        emissivity=0.93 if paint else round(scene.finish.emissivity + rng.uniform(-0.04, 0.04), 2),
        reflected_degc=round(scene.reflected_degc + rng.uniform(-1.0, 1.0), 1),
        flow_degc=pipe(at_valve) if has_pipes else None,
        return_degc=pipe(state.return_degc) if has_pipes else None,
        head=head if looks else "unknown",
        warmer_than_set=("yes" if is_warm else "no") if asks else "unknown",
        minutes_steady=60.0 if scene.minutes is None else round(scene.minutes),
        connection=scene.connection if rng.random() < 0.9 else "unknown",
    )
