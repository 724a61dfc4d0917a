"""Everything that is true of one view of an invented wall, chosen or drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.measured import FloatArray
from thermalkit.scenes.climate import Climate, random_climate
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import OuterCorner, Wall, random_corner, random_patch, random_sound
from thermalkit.scenes.water import Heat, Stain

CAMERA_ACCURACY_K = 2.0
CAMERA_ACCURACY_PERCENT = 2.0
AIR_ACCURACY_K = 0.5
HUMIDITY_ACCURACY = 0.03
OUTDOOR_ACCURACY_K = 0.5
CONTACT_ACCURACY_K = 0.5
DETECTORS = ((120, 160), (240, 320), (480, 640))


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """What the surveyor's instruments read too much, the same at every place of one visit."""

    air_k: float = 0.0
    humidity: float = 0.0
    outdoor_k: float = 0.0
    contact_k: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Everything that is true of one view.

    `origin` is where the wall's position 0 lies across (or, for a level band, down) the picture, as a
    fraction. A corner is seen along a line that meets the normal of its left wall at `angle_deg`. A flat wall
    may be stained, wet and warmed from within; water evaporates by the convective part of its film.
    """

    wall: Wall
    climate: Climate
    camera: Camera
    errors: Errors
    distance_m: float = 2.0
    origin: float = 0.5
    angle_deg: float = 45.0
    emissivity: float = 0.93
    reflected_degc: float = 20.0
    things: tuple[Thing, ...] | None = None  # None draws some
    stains: tuple[Stain, ...] = ()
    heats: tuple[Heat, ...] = ()
    convective_w_m2k: float = 2.5

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the picture."""
        return self.camera.rows, self.camera.columns


def positions_m(scene: Scene) -> tuple[FloatArray, FloatArray]:
    """Position of each pixel along the wall's section and its height, broadcastable to the picture."""
    rows, columns = scene.shape
    side_m = float(pixel_size_m(scene.camera.field_of_view_deg[0], columns, scene.distance_m))
    down = np.arange(rows, dtype=np.float64)[:, None]
    across_m = (np.arange(columns, dtype=np.float64)[None, :] - scene.origin * columns) * side_m
    height_m: FloatArray = ((rows - 1) / 2.0 - down) * side_m
    if isinstance(scene.wall, OuterCorner):
        return across_m / _foreshortening(across_m, scene.angle_deg), height_m
    if scene.wall.is_level:
        return (scene.origin * rows - down) * side_m, height_m
    return across_m, height_m


def plane_m(scene: Scene) -> tuple[FloatArray, FloatArray]:
    """Metres across from the left and up from the lower edge of the picture, broadcastable to it."""
    rows, columns = scene.shape
    side_m = float(pixel_size_m(scene.camera.field_of_view_deg[0], columns, scene.distance_m))
    across_m = (np.arange(columns, dtype=np.float64)[None, :] + 0.5) * side_m
    up_m = (rows - 0.5 - np.arange(rows, dtype=np.float64)[:, None]) * side_m
    return across_m, up_m


def _foreshortening(across_m: FloatArray, angle_deg: float) -> FloatArray:
    """Length in the picture over length along the wall, left and right of a corner line."""
    angle = np.radians(angle_deg)
    return np.asarray(np.where(across_m < 0.0, np.cos(angle), np.sin(angle)), dtype=np.float64)


def random_scene(rng: np.random.Generator, wall: Wall | None = None, climate: Climate | None = None) -> Scene:
    """A plausible wall on a plausible day, seen with a plausible camera."""
    wall = wall or (random_corner, random_patch, random_sound)[rng.integers(3)](rng)
    climate = climate or random_climate(rng)
    camera = random_camera(rng)
    return Scene(
        wall=wall,
        climate=climate,
        camera=camera,
        errors=random_errors(rng),
        distance_m=rng.uniform(1.5, 3.0),
        origin=rng.uniform(0.35, 0.65),
        angle_deg=rng.uniform(38.0, 52.0),
        emissivity=rng.uniform(0.90, 0.96),
        reflected_degc=climate.indoor_degc + rng.uniform(-1.0, 1.0),
    )


def random_camera(rng: np.random.Generator) -> Camera:
    """A hand-held camera whose places differ in error by about 0.2 K at most."""
    rows, columns = DETECTORS[rng.choice(len(DETECTORS), p=(0.45, 0.45, 0.10))]
    across_deg = rng.uniform(24.0, 50.0)
    return Camera(
        rows=rows,
        columns=columns,
        field_of_view_deg=(across_deg, across_deg * rows / columns),
        noise_k=rng.uniform(0.03, 0.10),
        offset_k=rng.uniform(-CAMERA_ACCURACY_K, CAMERA_ACCURACY_K),
        vignetting_k=rng.uniform(-0.3, 0.1),
        drift_k=rng.uniform(-0.2, 0.2),
        blur_px=rng.uniform(0.5, 1.0),
        dead_pixels=int(rng.integers(4)),
    )


def random_errors(rng: np.random.Generator) -> Errors:
    """Errors within the stated accuracies, all equally likely."""
    return Errors(
        air_k=rng.uniform(-AIR_ACCURACY_K, AIR_ACCURACY_K),
        humidity=rng.uniform(-HUMIDITY_ACCURACY, HUMIDITY_ACCURACY),
        outdoor_k=rng.uniform(-OUTDOOR_ACCURACY_K, OUTDOOR_ACCURACY_K),
        contact_k=rng.uniform(-CONTACT_ACCURACY_K, CONTACT_ACCURACY_K),
    )
