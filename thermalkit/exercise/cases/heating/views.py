"""Invented radiators as a case shows them: what is true of one, its day, and what else is in view."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.exercise.cases.wall_traps import free_box
from thermalkit.exercise.cases.walls import camera_of, within
from thermalkit.exercise.difficulty import LEVELS, Band
from thermalkit.scenes.panel_water import Deposit, Panel
from thermalkit.scenes.radiators import CONNECTIONS, Fault, Finish, RadiatorScene
from thermalkit.scenes.things import Box, Thing

FLOW_DEGC: dict[str, Band] = {"easy": (58.0, 68.0), "medium": (50.0, 62.0), "hard": (44.0, 54.0)}
"""Water that enters, by difficulty: the warmer it is, the more a fault stands out."""
LOW_FLOW_DEGC: Band = (36.0, 41.0)
CHROME = 0.20
_LITTLE_WATER: Band = (0.08, 0.2)
_OFTEN_LOW = 0.2  # of faults: low water alone must not tell that a radiator works
_CONNECTIONS = ("top-bottom-same", "top-bottom-opposite", "bottom-valve")
_TYPES = {"11": (1600.0, 1.30), "21": (2200.0, 1.32), "22": (2850.0, 1.33)}
_MILD_DEGC, _COLD_DEGC = (12.5, 15.0), (-4.0, 8.0)


def radiator_scene(
    rng: np.random.Generator, difficulty: str, truth: str, *, mild: bool, covered: bool
) -> RadiatorScene:
    """A radiator of which something is true, without things in view."""
    low = truth == "healthy" or rng.random() < _OFTEN_LOW
    scene = _working(rng, difficulty, within(rng, LOW_FLOW_DEGC if low else FLOW_DEGC[difficulty]))
    scene = replace(scene, outdoor_degc=within(rng, _MILD_DEGC if mild else _COLD_DEGC))
    if covered:
        scene = replace(scene, furniture=_furniture(rng, scene))
    panel = scene.panel
    if truth == "air":
        panel = replace(panel, air_depth=rng.uniform(0.2, 0.35), tilt=rng.uniform(-0.05, 0.05))
        return replace(scene, panel=panel, fault="air")
    if truth == "deposit":
        heap = Deposit(
            middle=rng.uniform(0.42, 0.58), half_width=rng.uniform(0.2, 0.32), height=rng.uniform(0.25, 0.4)
        )
        return replace(scene, panel=replace(panel, deposits=(heap,)), fault="deposit")
    if truth in ("starved", "satisfied"):
        fault: Fault = "starved" if truth == "starved" else "satisfied"
        return replace(scene, flow_share=within(rng, _LITTLE_WATER), fault=fault)
    if truth == "chrome":
        return replace(scene, finish=Finish(name="chrome", emissivity=rng.uniform(0.19, 0.21)))
    return scene


def other_radiator(rng: np.random.Generator, scene: RadiatorScene, difficulty: str) -> RadiatorScene:
    """One of another room that works: it tempts to a comparison that says nothing."""
    other = _working(rng, difficulty, scene.flow_degc)
    room_degc = scene.room_degc + float(rng.choice((-1.0, 1.0)) * rng.uniform(2.5, 4.0))
    camera = replace(scene.camera)
    return replace(
        other,
        room_degc=room_degc,
        reflected_degc=room_degc + rng.uniform(-0.5, 0.5),
        outdoor_degc=scene.outdoor_degc,
        camera=camera,
        corners=_corners(rng, camera.rows, camera.columns, other.panel),
    )


def _working(rng: np.random.Generator, difficulty: str, flow_degc: float) -> RadiatorScene:
    room_degc = float(rng.uniform(18.5, 21.5))
    type_ = str(rng.choice(list(_TYPES)))
    per_m2, exponent = _TYPES[type_]
    connection = str(rng.choice(_CONNECTIONS))
    height, length = float(rng.choice((0.5, 0.6))), round(float(rng.uniform(0.9, 1.4)), 1)
    panel = Panel(
        length_m=length,
        height_m=height,
        rated_w=per_m2 * length * height,
        exponent=exponent,
        connection=CONNECTIONS[connection],
        channel_pa=rng.uniform(10.0, 25.0),
        header_pa=rng.uniform(3.0, 8.0),
    )
    camera = camera_of(rng, LEVELS[difficulty])
    return RadiatorScene(
        panel=panel,
        type=type_,
        connection=connection,
        fault="none",
        flow_degc=flow_degc,
        room_degc=room_degc,
        design_drop_k=rng.uniform(3.0, 4.5) if flow_degc < 45.0 else rng.uniform(6.0, 10.0),
        flow_share=rng.uniform(0.9, 1.3),
        camera=camera,
        corners=_corners(rng, camera.rows, camera.columns, panel),
        finish=Finish(name="paint", emissivity=rng.uniform(0.92, 0.94)),
        reflected_degc=room_degc + rng.uniform(-0.8, 0.8),
        channels=round(length / 0.0333),
    )


def _corners(
    rng: np.random.Generator, rows: int, columns: int, panel: Panel
) -> tuple[tuple[float, float], ...]:
    """The front in the lower part of the picture, seen a little from the side."""
    width = columns * rng.uniform(0.54, 0.64)
    height = width * panel.height_m / panel.length_m
    row, column = rows * 0.9 - 0.5 * height - 4.0, columns * (0.5 + rng.uniform(-0.06, 0.06))
    lean = rng.uniform(-0.05, 0.05)
    return tuple(
        (
            float(row + down * height * (1.0 + 2.0 * lean * along)),
            float(column + along * width),
        )
        for down, along in ((-0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.5, -0.5))
    )


def _furniture(rng: np.random.Generator, scene: RadiatorScene) -> Box:
    """Something low before one end of the front."""
    corners = np.asarray(scene.corners)
    (top, left), (below, right) = corners.min(axis=0), corners.max(axis=0)
    wide = rng.uniform(0.12, 0.2) * (right - left)
    first = left - 0.06 * (right - left) if rng.random() < 0.5 else right - 0.8 * wide
    return (
        int(below - rng.uniform(0.3, 0.45) * (below - top)),
        scene.shape[0],
        int(max(first, 0)),
        int(min(first + wide, scene.shape[1])),
    )


def with_things(rng: np.random.Generator, scene: RadiatorScene, picture_trap: str) -> RadiatorScene:
    """The scene with a lamp, which is brightest, and the trap on the wall above."""
    corners = np.asarray(scene.corners)
    top = int(corners[:, 0].min()) - 2
    front: Box = (top, scene.shape[0], 0, scene.shape[1])
    hot_k = scene.flow_degc - scene.room_degc + rng.uniform(12.0, 25.0)
    lamp_box = free_box(rng, scene.shape, [front], 0.09, 0.09)
    lamp = Thing(name="lamp", box=lamp_box, share=1.0, excess_k=float(hot_k))
    if picture_trap == "low-emissivity":
        box = free_box(rng, scene.shape, [front, lamp_box], 0.12, 0.1)
        trap = Thing(name="metal plate", box=box, emissivity=rng.uniform(0.1, 0.25))
    else:
        box = free_box(rng, scene.shape, [front, lamp_box], 0.08, 0.1)
        trap = Thing(name="rust mark", box=box)
    return replace(scene, things=(lamp, trap))
