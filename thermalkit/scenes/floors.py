"""A heated floor as a camera sees it, with the pipes that lie in it as truth."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.camera import Camera, apparent_frame
from thermalkit.measured import FloatArray
from thermalkit.physics.floor_heating import Slab, pipe_heat_w_m, surface_since_m2k_w
from thermalkit.scenes.floor_paths import STEP_MM, Box

GRID_MM = 10.0
AROUND_MM = 400.0
_STEPS = 72
_CLICK_PX, _TAPE_MM = 1.0, 3.0
_JOINT_MM = 4.0
_PLACES = (
    *((0.05, 0.05), (0.05, 0.95), (0.95, 0.95), (0.95, 0.05)),
    *((0.5, 0.5), (0.05, 0.5), (0.5, 0.05), (0.5, 0.95), (0.95, 0.5), (0.3, 0.3), (0.7, 0.7)),
)
Role = Literal["loop", "feed"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pipe:
    """A line in mm from flow to return; `share` is its water's excess over that intended, 0 where cold."""

    line_mm: FloatArray
    role: Role = "loop"
    share: float = 1.0

    @property
    def is_warm(self) -> bool:
        """Whether warm water runs in it."""
        return self.share > 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FloorScene:
    """Everything that is true of a heated floor and the view of it.

    `to_frame` takes (x, y, 1) in mm to the picture; `furniture` stands on the floor, `rugs` lie on it,
    `special` are thresholds and the manifold.
    """

    room_mm: tuple[float, float]
    spacing_mm: float
    slab: Slab
    is_tiled: bool
    pipes: tuple[Pipe, ...]
    flow_excess_k: float
    drop_k: float
    minutes: float
    room_degc: float
    camera: Camera
    to_frame: FloatArray
    distance_m: float
    furniture: tuple[Box, ...] = ()
    rugs: tuple[Box, ...] = ()
    special: tuple[Box, ...] = ()
    joint_k: float = 0.0
    boards_k: float = 0.0

    @property
    def covered(self) -> tuple[Box, ...]:
        """Where nothing is seen, or anything may lie."""
        return (*self.furniture, *self.rugs, *self.special)

    @property
    def every_pipe_is_warm(self) -> bool:
        """What a look at the manifold tells."""
        return all(pipe.is_warm for pipe in self.pipes)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FloorSeen:
    """A frame of a floor, the reference points as clicked and taped, and the true surface on a grid in mm.

    `points` are (row, column, x, y); `wrong` is the one whose position was written down wrong.
    """

    scene: FloorScene
    apparent_degc: FloatArray
    points: FloatArray
    wrong: int | None
    surface_degc: FloatArray = field(repr=False)


def seen_floor(
    scene: FloorScene, rng: np.random.Generator, *, points: int = 9, slip_mm: float = 0.0
) -> FloorSeen:
    """The floor as a camera and a tape measure show it.

    Parameters
    ----------
    scene : FloorScene
    rng : numpy.random.Generator
        Draws noise, clicks and the tape's errors.
    points : int
        How many reference points.
    slip_mm : float
        How far off one of them was written down.

    Returns
    -------
    FloorSeen
    """
    surface = surface_degc(scene)
    frame = _pictured(scene, surface, rng)
    known = _points(scene, rng, points)
    wrong = None
    if slip_mm:
        wrong = int(rng.integers(len(known)))
        turn = rng.uniform(0.0, 2.0 * np.pi)
        known[wrong, 2:] += slip_mm * np.array([np.cos(turn), np.sin(turn)])
    return FloorSeen(scene=scene, apparent_degc=frame, points=known, wrong=wrong, surface_degc=surface)


def later(scene: FloorScene, minutes: float) -> FloorScene:
    """The same floor at another time of its warming up."""
    return replace(scene, minutes=minutes)


def surface_degc(scene: FloorScene) -> FloatArray:
    """True surface of the bare floor on a grid of `GRID_MM` that reaches `AROUND_MM` beyond the walls.

    Convolution of the pipes with what one line does to the surface in a row of its spacing.
    """
    from scipy import fft

    shape = tuple(
        fft.next_fast_len(int((side + 2 * AROUND_MM) / GRID_MM) + 1, real=True)
        for side in scene.room_mm[::-1]
    )
    source = np.zeros(shape)
    mean = scene.flow_excess_k - scene.drop_k / 2.0
    for pipe in scene.pipes:
        cooling = scene.flow_excess_k - scene.drop_k * np.linspace(0.0, 1.0, len(pipe.line_mm))
        _deposit(source, pipe.line_mm, pipe.share * cooling / mean * STEP_MM)
    along = 2.0 * np.pi * np.fft.fftfreq(shape[0], GRID_MM / 1000.0)
    across = 2.0 * np.pi * np.fft.rfftfreq(shape[1], GRID_MM / 1000.0)
    wave = np.hypot(along[:, None], across[None, :])
    knots, kernel = _kernel(scene.slab, scene.spacing_mm, round(scene.minutes, 2))
    response = mean * np.interp(wave, knots, kernel)
    # Millimetres of pipe per cell, as metres per square metre.
    source *= 1000.0 / GRID_MM**2
    excess = fft.irfft2(fft.rfft2(source) * response, s=shape)
    return np.asarray(scene.room_degc + excess)


def ripple_along_k(scene: FloorScene, surface: FloatArray, line_mm: FloatArray) -> FloatArray:
    """How much warmer the true surface is over a pipe than the shallower dip to its sides, by its points.

    Two pipes so near that no dip shows between them have none.
    """
    from scipy.spatial import cKDTree

    ahead = np.gradient(line_mm, axis=0)
    normal = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / np.linalg.norm(ahead, axis=1)[:, None]
    others = [pipe.line_mm for pipe in scene.pipes if pipe.line_mm is not line_mm]
    reach = np.full(len(line_mm), scene.spacing_mm / 2.0)
    if others:
        reach = np.minimum(reach, cKDTree(np.concatenate(others)).query(line_mm)[0] / 2.0)
    away = reach[:, None] * np.linspace(0.0, 1.0, 8)
    places = line_mm[:, None, None] + away[:, :, None, None] * normal[:, None, None] * [[-1.0], [1.0]]
    seen = at_mm(surface, places.reshape(-1, 2)).reshape(places.shape[:3])
    return np.asarray(seen[:, 0, 0] - seen.min(axis=1).max(axis=1))


def at_mm(surface: FloatArray, places_mm: FloatArray) -> FloatArray:
    """The grid's values at places, shape (places,)."""
    from scipy import ndimage

    at = (places_mm[:, ::-1] + AROUND_MM) / GRID_MM
    return np.asarray(ndimage.map_coordinates(surface, at.T, order=1, mode="nearest"))


def in_frame(scene: FloorScene, places_mm: FloatArray) -> FloatArray:
    """(row, column) of places in mm, shape (places, 2)."""
    seen = np.c_[places_mm, np.ones(len(places_mm))] @ scene.to_frame.T
    return np.asarray(seen[:, :2] / seen[:, 2:])


def on_floor(scene: FloorScene, places_px: FloatArray) -> FloatArray:
    """(x, y) in mm of places of the picture, shape (places, 2)."""
    back = np.c_[places_px, np.ones(len(places_px))] @ np.linalg.inv(scene.to_frame).T
    return np.asarray(back[:, :2] / back[:, 2:])


def is_inside(places_mm: FloatArray, boxes: tuple[Box, ...], margin_mm: float = 0.0) -> NDArray[np.bool_]:
    """Which places lie in one of the boxes."""
    inside = np.zeros(len(places_mm), dtype=np.bool_)
    for left, low, right, high in boxes:
        x, y = places_mm.T
        inside |= (
            (x > left - margin_mm) & (x < right + margin_mm) & (y > low - margin_mm) & (y < high + margin_mm)
        )
    return inside


@cache
def _kernel(slab: Slab, spacing_mm: float, minutes: float) -> tuple[FloatArray, FloatArray]:
    """Excess of the surface per kelvin of water, by wave number; early steps are shorter in effect."""
    step = 60.0 * minutes / _STEPS
    heat = pipe_heat_w_m(_STEPS, max(step, 1.0), 1.0, spacing_mm / 1000.0, slab)
    knots = np.r_[0.0, np.geomspace(2.0, 500.0, 90)]
    return knots, surface_since_m2k_w(knots, heat, max(step, 1.0), slab)


def _deposit(source: FloatArray, line_mm: FloatArray, amount: FloatArray) -> None:
    """Share each point among the four cells about it."""
    column, row = ((line_mm + AROUND_MM) / GRID_MM).T
    first_row, first_column = np.floor(row).astype(int), np.floor(column).astype(int)
    down, across = row - first_row, column - first_column
    for i in (0, 1):
        for j in (0, 1):
            weight = np.abs(1 - i - down) * np.abs(1 - j - across)
            np.add.at(source, (first_row + i, first_column + j), amount * weight)


def _pictured(scene: FloorScene, surface: FloatArray, rng: np.random.Generator) -> FloatArray:
    from scipy import ndimage

    rows, columns = scene.camera.rows, scene.camera.columns
    grid = np.moveaxis(np.mgrid[:rows, :columns], 0, -1).reshape(-1, 2).astype(np.float64)
    floor = on_floor(scene, grid)
    at = (floor[:, ::-1] + AROUND_MM) / GRID_MM
    shown = ndimage.map_coordinates(surface, at.T, order=3, mode="nearest")
    shown += _texture(scene, floor, rng)
    under = is_inside(floor, scene.rugs)
    if under.any():
        soft = ndimage.gaussian_filter(surface, 4.0)
        warmed = ndimage.map_coordinates(soft, at[under].T, order=1, mode="nearest")
        shown[under] = scene.room_degc + 0.55 * (warmed - scene.room_degc)
    shown[is_inside(floor, scene.furniture)] = scene.room_degc + 0.7
    wall = ~is_inside(floor, ((0.0, 0.0, *scene.room_mm),))
    shown[wall] = scene.room_degc + 0.3
    return apparent_frame(
        scene.camera, np.asarray(shown).reshape(rows, columns), 0.94, scene.room_degc + 0.5, rng
    )


def _texture(scene: FloorScene, floor_mm: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Joints of tiles, and boards that are not quite alike, as apparent temperature."""
    if scene.is_tiled:
        size = float(rng.choice([300.0, 450.0, 600.0]))
        near = np.min(np.abs((floor_mm + size / 2.0) % size - size / 2.0), axis=1)
        wide = 9.0  # what a pixel mixes
        return np.asarray(-scene.joint_k * _JOINT_MM / wide * (near < wide / 2.0))
    board = np.floor(floor_mm[:, 1] / 120.0).astype(int)
    each = rng.normal(0.0, scene.boards_k, 200)
    return np.asarray(each[board % 200])


def _points(scene: FloorScene, rng: np.random.Generator, count: int) -> FloatArray:
    """Reference points towards the corners of what is seen, then between them."""
    rows, columns = scene.camera.rows, scene.camera.columns
    ends = np.array(_PLACES[:count])
    at: FloatArray = (ends + rng.uniform(-0.03, 0.03, ends.shape)) * (rows - 1, columns - 1)
    floor = on_floor(scene, at)
    floor = np.clip(floor, 40.0, np.array(scene.room_mm) - 40.0)
    clicked = in_frame(scene, floor) + rng.normal(0.0, _CLICK_PX, floor.shape)
    return np.asarray(np.c_[clicked, floor + rng.normal(0.0, _TAPE_MM, floor.shape)])


def looking(
    camera: Camera, middle_mm: FloatArray, height_mm: float, tilt_deg: float, turn_deg: float
) -> FloatArray:
    """The map from the floor to the picture of a camera above it.

    Parameters
    ----------
    camera : Camera
    middle_mm : ndarray, shape (2,)
        Where the picture's middle looks.
    height_mm : float
        Of the camera.
    tilt_deg : float
        From straight down.
    turn_deg : float
        Towards where it looks, from the x axis.

    Returns
    -------
    ndarray, shape (3, 3)
    """
    tilt, turn = np.radians([tilt_deg, turn_deg])
    ahead = np.array([np.cos(turn), np.sin(turn)])
    look = np.array([*(np.sin(tilt) * ahead), -np.cos(tilt)])
    right = np.array([ahead[1], -ahead[0], 0.0])
    down = np.cross(look, right)
    eye = np.array([*(middle_mm - height_mm * np.tan(tilt) * ahead), height_mm])
    focal = camera.columns / 2.0 / np.tan(np.radians(camera.field_of_view_deg[0]) / 2.0)
    axes = np.stack([down * focal, right * focal, look])
    axes[0] += (camera.rows - 1) / 2.0 * look
    axes[1] += (camera.columns - 1) / 2.0 * look
    return np.asarray(np.c_[axes[:, :2], -axes @ eye])
