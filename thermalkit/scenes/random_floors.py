"""Heated floors drawn at random: loops, feeds, furniture, cameras and how long they have warmed."""

from __future__ import annotations

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.measured import FloatArray
from thermalkit.physics.floor_heating import Slab
from thermalkit.scenes.floor_paths import Box, double_spiral, meander, rounded, spiral_fits
from thermalkit.scenes.floors import FloorScene, Pipe, looking

STEADY_MINUTES = 24 * 60.0


def random_floor(
    rng: np.random.Generator,
    *,
    spacing_mm: float | None = None,
    minutes: float | None = None,
    is_plain: bool | None = None,
) -> FloorScene:
    """A floor drawn at random.

    Parameters
    ----------
    rng : numpy.random.Generator
    spacing_mm : float, optional
        Between pipes; 100 to 300 otherwise.
    minutes : float, optional
        Since warm water entered; 20 to 90, or a day in a third of cases, otherwise.
    is_plain : bool, optional
        Whether every pipe is warm; three of four are so otherwise.

    Returns
    -------
    FloorScene
    """
    spacing = spacing_mm or float(rng.choice([100.0, 150.0, 200.0, 250.0, 300.0]))
    room = (rng.uniform(3000.0, 4600.0), rng.uniform(2800.0, 4200.0))
    is_tiled = bool(rng.random() < 0.6)
    height = rng.uniform(0.045, 0.085)
    slab = Slab(
        thickness_m=height,
        pipe_height_m=0.010 + rng.uniform(0.0, min(0.012, 0.2 * height)),
        conductivity_w_mk=rng.uniform(1.0, 1.5),
        covering_m2k_w=rng.uniform(0.01, 0.02) if is_tiled else rng.uniform(0.06, 0.11),
    )
    plain = bool(rng.random() < 0.75) if is_plain is None else is_plain
    pipes, special = _laid(rng, room, spacing, plain)
    if minutes is None:
        minutes = STEADY_MINUTES if rng.random() < 1.0 / 3.0 else rng.uniform(20.0, 90.0)
    to_frame, camera, distance = _view(rng, room)
    free = [_box(rng, room, 300.0, 900.0) for _ in range(rng.integers(0, 3))]
    rugs = [_box(rng, room, 500.0, 1400.0) for _ in range(int(rng.random() < 0.35))]
    return FloorScene(
        room_mm=room,
        spacing_mm=spacing,
        slab=slab,
        is_tiled=is_tiled,
        pipes=pipes,
        flow_excess_k=rng.uniform(13.0, 22.0),
        drop_k=rng.uniform(3.0, 8.0),
        minutes=minutes,
        room_degc=rng.uniform(18.0, 22.0),
        camera=camera,
        to_frame=to_frame,
        distance_m=distance,
        furniture=tuple(free),
        rugs=tuple(rugs),
        special=special,
        joint_k=rng.uniform(0.0, 0.15) if is_tiled else 0.0,
        boards_k=0.0 if is_tiled else rng.uniform(0.0, 0.04),
    )


def _view(rng: np.random.Generator, room_mm: tuple[float, float]) -> tuple[FloatArray, Camera, float]:
    """A camera held above the floor near a wall, looking down into the room."""
    camera = Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(45.0, 34.5),
        noise_k=rng.uniform(0.03, 0.08),
        offset_k=rng.uniform(-1.0, 1.0),
        vignetting_k=rng.uniform(-0.3, 0.1),
        drift_k=rng.uniform(-0.2, 0.2),
        blur_px=rng.uniform(0.6, 1.0),
    )
    middle = np.array(room_mm) * rng.uniform(0.42, 0.58, 2)
    height, tilt, turn = rng.uniform(2000.0, 2600.0), rng.uniform(15.0, 40.0), rng.uniform(0.0, 360.0)
    return looking(camera, middle, height, tilt, turn), camera, height / 1000.0 / np.cos(np.radians(tilt))


def _laid(
    rng: np.random.Generator, room_mm: tuple[float, float], spacing: float, plain: bool
) -> tuple[tuple[Pipe, ...], tuple[Box, ...]]:
    """One or two loops, feeds that pass along a wall or between them, manifold and threshold."""
    wide, high = room_mm
    margin = rng.uniform(80.0, 150.0)
    way = 2.0 * rng.uniform(60.0, 90.0)  # of a pair of feeds
    has_feed = bool(rng.random() < 0.5)
    is_split = bool(rng.random() < 0.5)
    between = is_split and has_feed and bool(rng.random() < 0.5)
    low = margin + (spacing + way if has_feed and not between else 0.0)
    boxes: list[Box] = [(margin, low, wide - margin, high - margin)]
    if is_split:
        middle = wide * rng.uniform(0.4, 0.6)
        half = (spacing + (spacing + way if between else 0.0)) / 2.0
        boxes = [
            (margin, low, middle - half, high - margin),
            (middle + half, low, wide - margin, high - margin),
        ]
    cold = int(rng.integers(len(boxes) + (2 if has_feed else 0))) if not plain else -1
    starved = float(rng.uniform(0.45, 0.8)) if rng.random() < 0.15 else 1.0
    pipes = []
    for number, box in enumerate(boxes):
        line = (double_spiral if spiral_fits(box, spacing) else meander)(box, spacing)
        if rng.random() < 0.5:
            line = line * (1.0, -1.0) + (0.0, box[1] + box[3])
        share = 0.0 if number == cold else starved if number == 0 else 1.0
        pipes.append(Pipe(line_mm=line, share=share))
    special: list[Box] = [(0.0, 0.0, 450.0, 250.0)]
    if has_feed:
        is_cold = cold >= len(boxes)
        for side in (0.0, way / 2.0):
            ends = (
                [(middle - way / 4.0 + side, 0.0), (middle - way / 4.0 + side, high)]
                if between
                else [(0.0, margin + side), (wide, margin + side)]
            )
            pipes.append(
                Pipe(line_mm=rounded(np.array(ends), 50.0), role="feed", share=0.0 if is_cold else 1.0)
            )
        x, y = (middle, high) if between else (wide, margin)
        special.append((x - 450.0, y - 300.0, x + 450.0, y + 300.0))
    return tuple(pipes), tuple(special)


def _box(rng: np.random.Generator, room_mm: tuple[float, float], least: float, most: float) -> Box:
    wide, high = rng.uniform(least, most, 2)
    left, low = (rng.uniform(0.0, side - size) for side, size in zip(room_mm, (wide, high), strict=True))
    return (left, low, left + wide, low + high)
