"""Views of invented walls that several kinds of cases draw: camera, day, boxes, things and traps in view.

A second picture shows a sound wall of another room, whose air is another: it tempts to a comparison that says
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from thermalkit.exercise.cases import Redrawn
from thermalkit.exercise.difficulty import LEVELS, Band, Difficulty
from thermalkit.imaging.camera import Camera
from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.scenes import FlatWall, Heat, Options, Run, Scene, Seen, Spot, Stain, random_climate, seen
from thermalkit.scenes.buildups import Layers, layer
from thermalkit.scenes.scene import Errors, plane_m, random_errors
from thermalkit.scenes.things import Box, Thing
from thermalkit.scenes.walls import Film
from thermalkit.scenes.wet import face_of

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


def heated(scene: Scene, shape: Run | Spot, name: str, rise_k: float) -> Scene:
    """The scene with heat behind the plaster that warms the surface by as much at most."""
    depth_m = 0.02
    unit = face_of(scene).rise_k(shape.share(*plane_m(scene)), depth_m)
    heat = Heat(name=name, shape=shape, power_w_m2=rise_k / float(unit.max()), depth_m=depth_m)
    return replace(scene, heats=(*scene.heats, heat))


def with_reflection(rng: np.random.Generator, scene: Scene, difficulty: str) -> tuple[Scene, list[Box]]:
    """The scene with something warm that the paint mirrors, and its box."""
    rows, columns = scene.shape
    top, left = rng.uniform(0.25, 0.4) * rows, rng.choice((0.12, 0.55)) * columns
    box = (round(top), round(top + 0.45 * rows), round(left), round(left + 0.28 * columns))
    thing = Thing(name="mirrored", box=box, mirrored_k=within(rng, BANDS[difficulty].mirrored_k), hides=False)
    return replace(scene, things=(thing,)), [box]


def free_box(rng: np.random.Generator, scene: Scene, taken: list[Box], high: float, wide: float) -> Box:
    """A box that touches none of those taken, sized as shares of the picture."""
    rows, columns = scene.shape
    height, width = round(high * rows), round(wide * columns)
    for _ in range(60):
        top, left = int(rng.integers(3, rows - height - 3)), int(rng.integers(3, columns - width - 3))
        box = (top, top + height, left, left + width)
        if not any(_touch(box, other) for other in taken):
            return box
    raise Redrawn


def _touch(one: Box, other: Box, gap: int = 4) -> bool:
    return (
        one[0] < other[1] + gap
        and other[0] < one[1] + gap
        and one[2] < other[3] + gap
        and other[2] < one[3] + gap
    )


def with_trap(rng: np.random.Generator, scene: Scene, trap: str, taken: list[Box]) -> tuple[Scene, Box]:
    """The scene with the trap in it, and its box."""
    things = scene.things or ()
    if trap == "reflection":
        box = free_box(rng, scene, taken, 0.34, 0.2)
        thing = Thing(name="mirrored person", box=box, mirrored_k=rng.uniform(12.0, 16.0), hides=False)
        return replace(scene, things=(*things, thing)), box
    if trap == "low-emissivity":
        box = free_box(rng, scene, taken, 0.14, 0.1)
        thing = Thing(name="metal plate", box=box, emissivity=rng.uniform(0.1, 0.25))
        return replace(scene, things=(*things, thing)), box
    box = free_box(rng, scene, taken, 0.32, 0.22)
    x, y, radius = _middle_m(scene, box)
    if trap == "stain-not-cold":
        shape = Spot(centre_m=(x, y), radius_m=radius, raggedness=0.25, seed=int(rng.integers(1 << 30)))
        return replace(scene, stains=(*scene.stains, Stain(name="old stain", shape=shape, wetness=0.0))), box
    run = Run(points_m=((x, y + radius), (x, y - radius)), width_m=0.022)
    return heated(scene, run, "pipe beside", rng.uniform(1.0, 1.5)), box


def _middle_m(scene: Scene, box: Box) -> tuple[float, float, float]:
    """Middle of a box in metres across and up, and the radius that fits in it."""
    rows, columns = scene.shape
    side_m = size_m(scene)[1] / columns
    x = 0.5 * (box[2] + box[3]) * side_m
    y = (rows - 0.5 * (box[0] + box[1])) * side_m
    return x, y, 0.45 * side_m * min(box[1] - box[0], box[3] - box[2])


def lamp_in(rng: np.random.Generator, scene: Scene, taken: list[Box]) -> Thing:
    """What is brightest in every picture, and has nothing to do with the question."""
    box = free_box(rng, scene, taken, 0.1, 0.1)
    return Thing(name="lamp", box=box, share=1.0, excess_k=rng.uniform(12.0, 20.0))


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
