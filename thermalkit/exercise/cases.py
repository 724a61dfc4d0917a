"""One invented case: a wall with one thing true of it, one trap of the visit and one of the picture.

Everything follows from the random numbers that are handed in. A second picture shows a sound wall of another
room, whose air is another: it tempts to a comparison that says nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from thermalkit.exercise.difficulty import LEVELS, Band, Difficulty
from thermalkit.exercise.plan import ClassKeys
from thermalkit.imaging.camera import Camera
from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.physics.moist_air import saturation_pressure_pa, vapour_pressure_pa
from thermalkit.scenes import (
    FlatWall,
    Heat,
    Options,
    OuterCorner,
    Run,
    Scene,
    Seen,
    Spot,
    Stain,
    random_climate,
    seen,
)
from thermalkit.scenes.buildups import CONCRETE, Layers, layer
from thermalkit.scenes.scene import Errors, random_errors
from thermalkit.scenes.things import Box, Thing
from thermalkit.scenes.walls import Band as Strip
from thermalkit.scenes.walls import Film
from thermalkit.scenes.wet import face_of, wet_share

Mask = NDArray[np.bool_]

FRAME, OTHER_FRAME = "wall-1", "wall-2"
DETECTORS = ((120, 160), (144, 192))
VISIT_TRAPS = ("sun", "small-difference")
_BESIDE_WARM = ("low-emissivity", "stain-not-cold")  # a second warm spot could be meant as well
TRAPS_BY_TRUTH = {
    "bridge": ("reflection", "low-emissivity"),
    "drying": ("reflection", "low-emissivity", "warm-pipe"),
    "leak": ("reflection", "low-emissivity"),
    "warm-pipe": _BESIDE_WARM,
    "reflection": _BESIDE_WARM,
    "sound": _BESIDE_WARM,
}
NEUTRAL = {"warm-pipe": ("warm-pipe",), "leak": ("warm-pipe",), "reflection": ("reflection",)}
"""Traps that are the matter itself in a case: naming them there is neither right nor wrong."""


class Redrawn(Exception):
    """These random numbers give a case that is not handed out."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """A case with its truth, before it is written.

    `area` is where the place is, (rows, columns); `unfit` where a sound stretch must not be taken; `extremes`
    are true temperatures of the wall at what stands out most, as many as there are right answers.
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
    sample_scatter: float


def draw_case(rng: np.random.Generator, plan: ClassKeys, truth: str) -> Drawn:
    """Draw a case in which something is true.

    Raises
    ------
    Redrawn
        What was drawn lies outside the bands of the difficulty.
    """
    level = LEVELS[plan.difficulty]
    visit_trap = str(rng.choice(VISIT_TRAPS))
    picture_trap = str(rng.choice(TRAPS_BY_TRUTH[truth]))
    scene = _plain_scene(rng, level, truth, small=visit_trap == "small-difference")
    scene, keep_out = _MATTERS[truth](rng, scene, level)
    scene, trap_box = _with_trap(rng, scene, picture_trap, keep_out)
    lamp = _lamp(rng, scene, [*keep_out, trap_box])
    scene = replace(scene, things=(*(scene.things or ()), lamp))
    picture = seen(scene, rng, Options(contact=False, emissivity=False), frame=FRAME)
    area = _area(picture, truth)
    unfit = _unfit(picture, area, truth, [trap_box, lamp.box])
    _require_depth(picture, area, unfit, truth, level)
    drawn = Drawn(
        truth=truth,
        visit_trap=visit_trap,
        picture_trap=picture_trap,
        picture=picture,
        other=_other_room(rng, scene),
        area=area,
        unfit=unfit,
        brightest=lamp.box,
        accuracy_k=round(_within(rng, level.accuracy_k), 1),
        hours_since_sun=float(rng.integers(3, 11) if visit_trap == "sun" else rng.integers(24, 90)),
        sample_scatter=round(rng.uniform(-0.2, 0.4), 1),
    )
    return _moist_enough(rng, drawn, level) if truth == "bridge" else drawn


def _within(rng: np.random.Generator, band: Band) -> float:
    return float(rng.uniform(*band))


# ---- the wall, the day, the camera


def _plain_scene(rng: np.random.Generator, level: Difficulty, truth: str, *, small: bool) -> Scene:
    camera = _camera(rng, level)
    climate = replace(
        random_climate(rng),
        indoor_degc=rng.uniform(18.0, 22.0),
        stratification_k_m=rng.uniform(0.0, 0.3),
        indoor_humidity=_within(rng, level.room_humidity),
    )
    difference_k = rng.uniform(6.0, 9.0) if small else rng.uniform(12.0, 20.0)
    climate = replace(
        climate,
        outdoor_mean_degc=climate.indoor_degc - difference_k,
        outdoor_swing_k=min(climate.outdoor_swing_k, 0.1 * difference_k),
    )
    errors = random_errors(rng)
    return Scene(
        wall=FlatWall(layers=_warm_layers(rng), film=_even_film(rng), sheltered_at_m=0.0),
        climate=climate,
        camera=camera,
        errors=Errors(air_k=errors.air_k, humidity=errors.humidity, outdoor_k=errors.outdoor_k),
        distance_m=round(float(rng.uniform(1.8, 2.6)), 1),
        emissivity=rng.uniform(0.92, 0.94),
        reflected_degc=climate.indoor_degc + rng.uniform(-0.8, 0.8),
        things=(),
    )


def _camera(rng: np.random.Generator, level: Difficulty) -> Camera:
    rows, columns = DETECTORS[rng.integers(len(DETECTORS))]
    across_deg = rng.uniform(38.0, 48.0)
    offset_k = 0.8 * level.accuracy_k[0]
    return Camera(
        rows=rows,
        columns=columns,
        field_of_view_deg=(across_deg, across_deg * rows / columns),
        noise_k=_within(rng, level.noise_k),
        offset_k=rng.uniform(-offset_k, offset_k),
        vignetting_k=rng.uniform(-0.1, 0.05),
        drift_k=rng.uniform(-0.1, 0.1),
        blur_px=rng.uniform(0.5, 0.9),
    )


def _even_film(rng: np.random.Generator) -> Film:
    film = rng.uniform(0.13, 0.16)
    return Film(open_m2k_w=film, sheltered_m2k_w=film)


def _warm_layers(rng: np.random.Generator) -> Layers:
    """Masonry insulated outside: dry, it is nearly as warm as the room."""
    return (
        layer("plaster", 0.015, 0.57, 1.1),
        layer("masonry", rng.uniform(0.175, 0.24), rng.uniform(0.5, 0.9), 1.4),
        layer("insulation", rng.uniform(0.10, 0.16), 0.035, 0.05),
        layer("render", 0.010, 0.87, 1.6),
    )


def _size_m(scene: Scene) -> tuple[float, float]:
    """Height and width of what the picture shows."""
    rows, columns = scene.shape
    side_m = float(pixel_size_m(scene.camera.field_of_view_deg[0], columns, scene.distance_m))
    return rows * side_m, columns * side_m


def _box_m(scene: Scene, left_m: float, right_m: float, low_m: float, high_m: float) -> Box:
    """A box of the wall, in metres from the lower left corner, as rows and columns."""
    rows, columns = scene.shape
    height_m, width_m = _size_m(scene)
    return (
        round(max(0.0, 1.0 - high_m / height_m) * rows),
        round(min(1.0, 1.0 - low_m / height_m) * rows),
        round(max(0.0, left_m / width_m) * columns),
        round(min(1.0, right_m / width_m) * columns),
    )


# ---- what is true: the scene with it, and boxes that have to stay clear


def _bridge(rng: np.random.Generator, scene: Scene, level: Difficulty) -> tuple[Scene, list[Box]]:
    """A corner of solid brick, a concrete post, or a lintel; moist enough to reach the humidity wanted."""
    rows, columns = scene.shape
    kind = rng.choice(("corner", "post", "lintel"))
    if kind == "corner":
        brick = layer("brick", rng.uniform(0.24, 0.36), rng.uniform(0.55, 0.8), 1.4)
        film = Film(open_m2k_w=0.13, sheltered_m2k_w=rng.uniform(0.18, 0.25), reach_m=0.2)
        wall: OuterCorner | FlatWall = OuterCorner(
            layers=(layer("plaster", 0.015, 0.57, 1.1), brick), film=film
        )
        scene = replace(
            scene,
            wall=wall,
            origin=rng.choice((0.3, 0.7)) + rng.uniform(-0.04, 0.04),
            angle_deg=rng.uniform(40, 50),
        )
    else:
        masonry = layer("masonry", rng.uniform(0.24, 0.30), rng.uniform(0.10, 0.16), 1.0)
        layers = (layer("plaster", 0.015, 0.57, 1.1), masonry, layer("render", 0.02, 0.87, 1.6))
        strip = Strip(name="concrete", material=CONCRETE, width_m=rng.uniform(0.16, 0.28), first=1, last=1)
        is_level = bool(kind == "lintel")
        wall = FlatWall(
            layers=layers, film=_even_film(rng), sheltered_at_m=0.0, band=strip, is_level=is_level
        )
        at = 0.25 if is_level else rng.choice((0.3, 0.7))
        scene = replace(scene, wall=wall, origin=at + rng.uniform(-0.03, 0.03))
    half = 0.16
    at = scene.origin
    if kind == "lintel":
        return scene, [(round((at - half) * rows), round((at + half) * rows), 0, columns)]
    return scene, [(0, rows, round((at - half) * columns), round((at + half) * columns))]


def _wet_patch(rng: np.random.Generator, scene: Scene) -> tuple[tuple[float, float], float]:
    """Centre and radius of a patch on one side of the picture, in metres."""
    height_m, width_m = _size_m(scene)
    centre = (rng.choice((0.3, 0.7)) * width_m, rng.uniform(0.35, 0.65) * height_m)
    return (float(centre[0]), float(centre[1])), float(rng.uniform(0.13, 0.18) * width_m)


def _drying(rng: np.random.Generator, scene: Scene, level: Difficulty) -> tuple[Scene, list[Box]]:
    (x, y), radius = _wet_patch(rng, scene)
    spot = Spot(
        centre_m=(x, y),
        radius_m=radius,
        stretch=float(rng.uniform(0.8, 1.2)),
        raggedness=0.3,
        softness_m=0.03,
        seed=int(rng.integers(1 << 30)),
    )
    stain = Stain(name="wet", shape=spot, wetness=float(rng.uniform(0.35, 1.0)))
    return replace(scene, stains=(stain,)), [_round_box(scene, x, y, 1.5 * radius)]


def _round_box(scene: Scene, x: float, y: float, reach: float) -> Box:
    return _box_m(scene, x - reach, x + reach, y - reach, y + reach)


def _pipe(rng: np.random.Generator, scene: Scene, x: float) -> tuple[Run, list[Box]]:
    """A pipe from the upper edge down and then across, and the boxes it takes."""
    height_m, width_m = _size_m(scene)
    turn_m = rng.uniform(0.3, 0.6) * height_m
    across = 1.0 if x < 0.5 * width_m else -1.0
    end_m = x - across * min(rng.uniform(0.1, 0.2) * width_m, 0.22 * width_m)
    run = Run(points_m=((x, height_m), (x, float(turn_m)), (float(end_m), float(turn_m))), width_m=0.022)
    reach = 0.09 * width_m
    left, right = sorted((x, float(end_m)))
    return run, [
        _box_m(scene, x - reach, x + reach, turn_m - reach, height_m),
        _box_m(scene, left - reach, right + reach, turn_m - reach, turn_m + reach),
    ]


def _warm_pipe(rng: np.random.Generator, scene: Scene, level: Difficulty) -> tuple[Scene, list[Box]]:
    _, width_m = _size_m(scene)
    run, boxes = _pipe(rng, scene, float(rng.choice((0.3, 0.7)) * width_m))
    return _heated(scene, run, "pipe", _within(rng, level.depth_k)), boxes


def _heated(scene: Scene, shape: Run | Spot, name: str, rise_k: float) -> Scene:
    """The scene with heat behind the plaster that warms the surface by as much at most."""
    from thermalkit.scenes.scene import plane_m

    depth_m = 0.02
    unit = face_of(scene).rise_k(shape.share(*plane_m(scene)), depth_m)
    heat = Heat(name=name, shape=shape, power_w_m2=rise_k / float(unit.max()), depth_m=depth_m)
    return replace(scene, heats=(*scene.heats, heat))


def _leak(rng: np.random.Generator, scene: Scene, level: Difficulty) -> tuple[Scene, list[Box]]:
    """A pipe, a warm bulge where it weeps, and a wet patch round it that dries and is cold."""
    scene, boxes = _drying(rng, scene, level)
    scene = replace(scene, stains=(replace(scene.stains[0], wetness=1.0),))
    x, y = scene.stains[0].shape.centre_m  # type: ignore[union-attr]
    radius = scene.stains[0].shape.radius_m  # type: ignore[union-attr]
    height_m, _ = _size_m(scene)
    run = Run(points_m=((x, height_m), (x, y)), width_m=0.022)
    bulge = Spot(centre_m=(x, y), radius_m=0.3 * radius, stretch=1.2, softness_m=0.02)
    scene = _heated(scene, run, "pipe", rng.uniform(2.0, 3.0))
    scene = _heated(scene, bulge, "warm water", rng.uniform(4.5, 6.0))
    reach = 0.25 * radius + 0.03
    return scene, [*boxes, _box_m(scene, x - reach, x + reach, y, height_m)]


def _reflection(rng: np.random.Generator, scene: Scene, level: Difficulty) -> tuple[Scene, list[Box]]:
    rows, columns = scene.shape
    top, left = rng.uniform(0.25, 0.4) * rows, rng.choice((0.12, 0.55)) * columns
    box = (round(top), round(top + 0.45 * rows), round(left), round(left + 0.28 * columns))
    thing = Thing(name="mirrored", box=box, mirrored_k=_within(rng, level.mirrored_k), hides=False)
    return replace(scene, things=(thing,)), [box]


def _sound(rng: np.random.Generator, scene: Scene, level: Difficulty) -> tuple[Scene, list[Box]]:
    return scene, []


_MATTERS = {
    "bridge": _bridge,
    "drying": _drying,
    "leak": _leak,
    "warm-pipe": _warm_pipe,
    "reflection": _reflection,
    "sound": _sound,
}


# ---- traps of the picture, and what is brightest


def _free(rng: np.random.Generator, scene: Scene, taken: list[Box], high: float, wide: float) -> Box:
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


def _with_trap(rng: np.random.Generator, scene: Scene, trap: str, taken: list[Box]) -> tuple[Scene, Box]:
    """The scene with the trap in it, and its box."""
    things = scene.things or ()
    if trap == "reflection":
        box = _free(rng, scene, taken, 0.34, 0.2)
        thing = Thing(name="mirrored person", box=box, mirrored_k=rng.uniform(12.0, 16.0), hides=False)
        return replace(scene, things=(*things, thing)), box
    if trap == "low-emissivity":
        box = _free(rng, scene, taken, 0.14, 0.1)
        thing = Thing(name="metal plate", box=box, emissivity=rng.uniform(0.1, 0.25))
        return replace(scene, things=(*things, thing)), box
    box = _free(rng, scene, taken, 0.32, 0.22)
    x, y, radius = _middle_m(scene, box)
    if trap == "stain-not-cold":
        shape = Spot(centre_m=(x, y), radius_m=radius, raggedness=0.25, seed=int(rng.integers(1 << 30)))
        return replace(scene, stains=(*scene.stains, Stain(name="old stain", shape=shape, wetness=0.0))), box
    run = Run(points_m=((x, y + radius), (x, y - radius)), width_m=0.022)
    return _heated(scene, run, "pipe beside", rng.uniform(1.0, 1.5)), box


def _middle_m(scene: Scene, box: Box) -> tuple[float, float, float]:
    """Middle of a box in metres across and up, and the radius that fits in it."""
    rows, columns = scene.shape
    side_m = _size_m(scene)[1] / columns
    x = 0.5 * (box[2] + box[3]) * side_m
    y = (rows - 0.5 * (box[0] + box[1])) * side_m
    return x, y, 0.45 * side_m * min(box[1] - box[0], box[3] - box[2])


def _lamp(rng: np.random.Generator, scene: Scene, taken: list[Box]) -> Thing:
    """What is brightest in every picture, and has nothing to do with the question."""
    box = _free(rng, scene, taken, 0.1, 0.1)
    return Thing(name="lamp", box=box, share=1.0, excess_k=rng.uniform(12.0, 20.0))


# ---- what is true where


def _area(picture: Seen, truth: str) -> Mask:
    """Where the place is: what stands out at least half as much as its extreme."""
    scene = picture.scene
    shown = np.isfinite(picture.true_factor)
    if truth == "bridge":
        factor = np.where(shown, picture.true_factor_at_films, np.nan)
        depth = np.nanquantile(factor, 0.9) - factor
        return np.asarray(np.nan_to_num(depth, nan=0.0) >= 0.5 * np.nanmax(depth))
    if truth in ("drying", "leak"):
        return np.asarray((wet_share(scene) >= 0.25) & shown)
    if truth == "warm-pipe":
        from thermalkit.scenes.scene import plane_m

        heat = scene.heats[0]
        rise = face_of(scene).rise_k(heat.power_w_m2 * heat.shape.share(*plane_m(scene)), heat.depth_m)
        return np.asarray((rise >= 0.35 * rise.max()) & shown)
    if truth == "reflection":
        glow = next(thing for thing in picture.things if thing.name == "mirrored").glow_k(scene.shape)
        return np.asarray((glow >= 0.35 * glow.max()) & shown)
    return np.zeros(scene.shape, dtype=np.bool_)


def _unfit(picture: Seen, area: Mask, truth: str, boxes: list[Box]) -> Mask:
    """Where no sound stretch can be taken: the place and its surroundings, traps, things."""
    from scipy import ndimage

    reach = max(2, picture.scene.shape[1] // 40)
    wide = np.array(ndimage.binary_dilation(area, iterations=reach))
    for top, below, left, right in boxes:
        wide[top:below, left:right] = True
    if truth == "bridge":
        factor = picture.true_factor_at_films
        depth = np.nan_to_num(np.nanquantile(factor, 0.9) - factor, nan=0.0)
        wide |= depth >= 0.25 * depth.max()
    return np.asarray(wide, dtype=np.bool_)


def _require_depth(picture: Seen, area: Mask, unfit: Mask, truth: str, level: Difficulty) -> None:
    """Refuse a case whose place stands out too little or too much for the difficulty."""
    if truth == "sound":
        return
    if area.sum() < 60 or np.mean(~unfit) < 0.25:
        raise Redrawn
    found_k = differences_k(picture, area, unfit, truth)
    if truth == "leak" and found_k[0] < 0.5 * level.depth_k[0]:
        raise Redrawn
    depth_k = max(abs(value) for value in found_k)
    if not level.depth_k[0] <= depth_k <= level.depth_k[1]:
        raise Redrawn


def differences_k(picture: Seen, area: Mask, unfit: Mask, truth: str) -> tuple[float, ...]:
    """How much colder the place is than sound wall, at what stands out most; more than one where two do.

    Of something mirrored: what the picture shows, and nothing, which is what is true of the wall.
    """
    sound = float(picture.true_surface_degc[~unfit].mean())
    if truth == "sound":
        return (0.0,)
    if truth == "reflection":
        shown = picture.apparent_degc
        return (float(shown[~unfit].mean() - np.quantile(shown[area], 0.98)), 0.0)
    inside = picture.true_surface_degc[area]
    cold, warm = sound - float(np.quantile(inside, 0.02)), sound - float(np.quantile(inside, 0.98))
    return {"warm-pipe": (warm,), "leak": (cold, warm)}.get(truth, (cold,))


# ---- the other room


def _other_room(rng: np.random.Generator, scene: Scene) -> Seen:
    """A sound wall of a room that is warmer or colder, seen with the same camera."""
    shift_k = rng.choice((-1.0, 1.0)) * rng.uniform(2.5, 4.0)
    indoor_degc = scene.climate.indoor_degc + shift_k
    climate = replace(scene.climate, indoor_degc=indoor_degc, indoor_humidity=rng.uniform(0.38, 0.44))
    other = replace(
        scene,
        wall=FlatWall(layers=_warm_layers(rng), film=_even_film(rng), sheltered_at_m=0.0),
        climate=climate,
        stains=(),
        heats=(),
        things=(),
        origin=0.5,
        reflected_degc=indoor_degc + rng.uniform(-0.5, 0.5),
    )
    return seen(other, rng, Options(contact=False, emissivity=False), frame=OTHER_FRAME)


def _moist_enough(rng: np.random.Generator, drawn: Drawn, level: Difficulty) -> Drawn:
    """A bridge whose room is so moist that its coldest spot reaches a humidity of the band.

    Raises
    ------
    Redrawn
        No room is as dry or as moist as that.
    """
    scene = drawn.picture.scene
    wanted = _within(rng, level.bridge_humidity)
    coldest = float(np.quantile(drawn.picture.true_surface_degc[drawn.area], 0.02))
    humidity = (
        wanted
        * float(saturation_pressure_pa(coldest))
        / float(vapour_pressure_pa(scene.climate.indoor_degc, 1.0))
    )
    if not 0.40 <= humidity <= 0.85:
        raise Redrawn
    share = humidity / scene.climate.indoor_humidity
    climate = replace(scene.climate, indoor_humidity=humidity)
    read = min(99.0, round(100.0 * (humidity + scene.errors.humidity), 1))
    written = replace(drawn.picture.written, relative_humidity_percent=read)
    picture = replace(
        drawn.picture,
        scene=replace(scene, climate=climate),
        true_humidity=drawn.picture.true_humidity * share,
        written=written,
    )
    return replace(drawn, picture=picture)
