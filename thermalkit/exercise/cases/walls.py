"""Views of invented walls that several kinds of cases draw: camera, day, boxes, things and traps in view.

A second picture shows a sound wall of another room, whose air is another: it tempts to a comparison that says
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from thermalkit.exercise.difficulty import LEVELS, Band, Difficulty
from thermalkit.imaging.camera import Camera
from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.scenes import FlatWall, Options, Scene, Seen, random_climate, seen
from thermalkit.scenes.buildups import Layers, layer
from thermalkit.scenes.scene import Errors, random_errors
from thermalkit.scenes.things import Box
from thermalkit.scenes.walls import Film

Mask = NDArray[np.bool_]

FRAME, OTHER_FRAME = "wall-1", "wall-2"
DETECTORS = ((120, 160), (144, 192))
VISIT_TRAPS = ("sun", "small-difference")


@dataclass(frozen=True, slots=True, kw_only=True)
class WallBands:
    """Bands of one level: how far the place stands out, how warm is what is mirrored, how dry rooms are."""

    depth_k: Band
    mirrored_k: Band
    room_humidity: Band


BANDS = {
    "easy": WallBands(depth_k=(3.0, 6.0), mirrored_k=(45.0, 70.0), room_humidity=(0.36, 0.42)),
    "medium": WallBands(depth_k=(2.2, 5.0), mirrored_k=(35.0, 60.0), room_humidity=(0.38, 0.46)),
    "hard": WallBands(depth_k=(1.5, 3.5), mirrored_k=(25.0, 45.0), room_humidity=(0.40, 0.48)),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallCase:
    """A case with its truth, before it is written.

    `area` is where the place is, (rows, columns); `unfit` where a sound stretch must not be taken;
    `brightest` the box of what is brightest and has nothing to do with the question.
    """

    truth: str
    visit_trap: str
    picture_trap: str
    picture: Seen
    other: Seen
    area: Mask
    unfit: Mask
    brightest: Box
    accuracy_k: float
    hours_since_sun: float


def hours_since_sun(rng: np.random.Generator, visit_trap: str) -> float:
    """When the sun last reached the wall."""
    return float(rng.integers(3, 11) if visit_trap == "sun" else rng.integers(24, 90))


def within(rng: np.random.Generator, band: Band) -> float:
    """A number of a band."""
    return float(rng.uniform(*band))


def plain_scene(rng: np.random.Generator, difficulty: str, *, small: bool) -> Scene:
    """A warm wall in which nothing is wrong; `small`: little difference between indoors and outdoors."""
    level, bands = LEVELS[difficulty], BANDS[difficulty]
    camera = camera_of(rng, level)
    climate = replace(
        random_climate(rng),
        indoor_degc=rng.uniform(18.0, 22.0),
        stratification_k_m=rng.uniform(0.0, 0.3),
        indoor_humidity=within(rng, bands.room_humidity),
    )
    difference_k = rng.uniform(6.0, 9.0) if small else rng.uniform(12.0, 20.0)
    climate = replace(
        climate,
        outdoor_mean_degc=climate.indoor_degc - difference_k,
        outdoor_swing_k=min(climate.outdoor_swing_k, 0.1 * difference_k),
    )
    errors = random_errors(rng)
    return Scene(
        wall=FlatWall(layers=warm_layers(rng), film=even_film(rng), sheltered_at_m=0.0),
        climate=climate,
        camera=camera,
        errors=Errors(air_k=errors.air_k, humidity=errors.humidity, outdoor_k=errors.outdoor_k),
        distance_m=round(float(rng.uniform(1.8, 2.6)), 1),
        emissivity=rng.uniform(0.92, 0.94),
        reflected_degc=climate.indoor_degc + rng.uniform(-0.8, 0.8),
        things=(),
    )


def camera_of(rng: np.random.Generator, level: Difficulty) -> Camera:
    """A camera whose errors lie well within what is stated of it."""
    rows, columns = DETECTORS[rng.integers(len(DETECTORS))]
    across_deg = rng.uniform(38.0, 48.0)
    offset_k = 0.8 * level.accuracy_k[0]
    return Camera(
        rows=rows,
        columns=columns,
        field_of_view_deg=(across_deg, across_deg * rows / columns),
        noise_k=within(rng, level.noise_k),
        offset_k=rng.uniform(-offset_k, offset_k),
        vignetting_k=rng.uniform(-0.1, 0.05),
        drift_k=rng.uniform(-0.1, 0.1),
        blur_px=rng.uniform(0.5, 0.9),
    )


def even_film(rng: np.random.Generator) -> Film:
    """The inner film of a wall that is free everywhere."""
    film = rng.uniform(0.13, 0.16)
    return Film(open_m2k_w=film, sheltered_m2k_w=film)


def warm_layers(rng: np.random.Generator) -> Layers:
    """Masonry insulated outside: dry, it is nearly as warm as the room."""
    return (
        layer("plaster", 0.015, 0.57, 1.1),
        layer("masonry", rng.uniform(0.175, 0.24), rng.uniform(0.5, 0.9), 1.4),
        layer("insulation", rng.uniform(0.10, 0.16), 0.035, 0.05),
        layer("render", 0.010, 0.87, 1.6),
    )


def size_m(scene: Scene) -> tuple[float, float]:
    """Height and width of what the picture shows."""
    rows, columns = scene.shape
    side_m = float(pixel_size_m(scene.camera.field_of_view_deg[0], columns, scene.distance_m))
    return rows * side_m, columns * side_m


def box_m(scene: Scene, left_m: float, right_m: float, low_m: float, high_m: float) -> Box:
    """A box of the wall, in metres from the lower left corner, as rows and columns."""
    rows, columns = scene.shape
    height_m, width_m = size_m(scene)
    return (
        round(max(0.0, 1.0 - high_m / height_m) * rows),
        round(min(1.0, 1.0 - low_m / height_m) * rows),
        round(max(0.0, left_m / width_m) * columns),
        round(min(1.0, right_m / width_m) * columns),
    )


def other_room(rng: np.random.Generator, scene: Scene) -> Seen:
    """A sound wall of a room that is warmer or colder, seen with the same camera."""
    shift_k = rng.choice((-1.0, 1.0)) * rng.uniform(2.5, 4.0)
    indoor_degc = scene.climate.indoor_degc + shift_k
    climate = replace(scene.climate, indoor_degc=indoor_degc, indoor_humidity=rng.uniform(0.38, 0.44))
    other = replace(
        scene,
        wall=FlatWall(layers=warm_layers(rng), film=even_film(rng), sheltered_at_m=0.0),
        climate=climate,
        stains=(),
        heats=(),
        things=(),
        origin=0.5,
        reflected_degc=indoor_degc + rng.uniform(-0.5, 0.5),
    )
    return seen(other, rng, Options(contact=False, emissivity=False), frame=OTHER_FRAME)


def widened(area: Mask, boxes: list[Box]) -> Mask:
    """Where no sound stretch can be taken: a place and its surroundings, and boxes of things."""
    from scipy import ndimage

    reach = max(2, area.shape[1] // 40)
    wide = np.array(ndimage.binary_dilation(area, iterations=reach))
    for top, below, left, right in boxes:
        wide[top:below, left:right] = True
    return wide


def glow_area(picture: Seen) -> Mask:
    """Where something warm is mirrored clearly."""
    glow = next(thing for thing in picture.things if thing.name == "mirrored").glow_k(picture.scene.shape)
    return np.asarray((glow >= 0.35 * glow.max()) & np.isfinite(picture.true_factor))
