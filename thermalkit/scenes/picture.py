"""One wall of an invented building as a camera and a surveyor's instruments see it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.camera import apparent_frame
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.statistics import mark_statistics
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import surface_humidity
from thermalkit.scenes.placing import suspect_and_sound
from thermalkit.scenes.scene import Scene, positions_m
from thermalkit.scenes.things import Thing, random_things
from thermalkit.scenes.walls import Section, section
from thermalkit.scenes.wet import changed_degc


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """Which optional things the surveyor wrote down."""

    daily_mean: bool = True
    contact: bool = True
    emissivity: bool = True
    reflected: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What stands in the surveyor's notes, as read and rounded; None where nothing was written."""

    air_temperature_degc: float
    relative_humidity_percent: float
    outdoor_degc: float
    daily_mean_degc: float | None
    contact_degc: float | None
    emissivity: float | None
    reflected_degc: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A frame, the notes taken with it, and the truth; arrays of shape (rows, columns).

    `true_factor` holds for a film of 0.25 m²K/W everywhere, `true_factor_at_films` for the films really
    there, both without water or heat in the wall; humidity is that over what the surface really has.
    Factors, humidity and film are NaN where something hides the wall.
    """

    frame: str
    scene: Scene
    apparent_degc: FloatArray
    true_surface_degc: FloatArray
    true_factor: FloatArray
    true_factor_at_films: FloatArray
    true_humidity: FloatArray
    true_film_m2k_w: FloatArray
    things: tuple[Thing, ...]
    suspect: Mark
    sound: Mark
    written: Written


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthAtMark:
    """True values that a mark stands for."""

    surface_degc: float
    factor: float
    factor_at_films: float
    humidity: float
    film_m2k_w: float


def seen(scene: Scene, rng: np.random.Generator, options: Options | None = None, frame: str = "wall") -> Seen:
    """Take the picture and write the notes.

    Parameters
    ----------
    scene : Scene
    rng : numpy.random.Generator
        Draws the marks, things in view, noise and what is left of reading errors.
    options : Options, optional
        What is written down; everything, if left out.
    frame : str
        Name of the frame, which its marks carry.
    """
    options = options or Options()
    along_m, height_m = positions_m(scene)
    answers = section(scene.wall, along_m)
    room_degc = scene.climate.room_degc(height_m)
    dry_degc = np.broadcast_to(answers.surface_degc(scene.climate, room_degc), scene.shape)
    wall_degc = changed_degc(scene, dry_degc)
    suspect, sound = suspect_and_sound(wall_degc, along_m, frame, rng)
    things = random_things(rng, scene.shape, (suspect, sound)) if scene.things is None else scene.things
    surface_degc, emissivity, reflected_degc, hidden = _with_things(scene, wall_degc, room_degc, things)
    maps = _maps(scene, answers, wall_degc, hidden)
    return Seen(
        frame=frame,
        scene=scene,
        apparent_degc=apparent_frame(scene.camera, surface_degc, emissivity, reflected_degc, rng),
        true_surface_degc=surface_degc,
        **maps,
        things=things,
        suspect=suspect,
        sound=sound,
        written=_written(scene, surface_degc, sound, options, rng),
    )


def truth_at(picture: Seen, mark: Mark) -> TruthAtMark:
    """True values at a mark: at its coldest 3 x 3 pixels for a suspect place, else their means."""
    mask = mark_mask(mark, picture.scene.shape) & np.isfinite(picture.true_factor)
    if mark.role == "suspect":
        mask = _coldest_spot(picture.true_surface_degc, mask)
    return TruthAtMark(
        surface_degc=float(picture.true_surface_degc[mask].mean()),
        factor=float(picture.true_factor[mask].mean()),
        factor_at_films=float(picture.true_factor_at_films[mask].mean()),
        humidity=float(picture.true_humidity[mask].mean()),
        film_m2k_w=float(picture.true_film_m2k_w[mask].mean()),
    )


def _with_things(
    scene: Scene, wall_degc: FloatArray, room_degc: FloatArray, things: tuple[Thing, ...]
) -> tuple[FloatArray, FloatArray, FloatArray, NDArray[np.bool_]]:
    """Surface temperature, emissivity and reflected temperature of what is in view, and where no wall is."""
    surface = np.array(wall_degc)
    emissivity = np.full(scene.shape, scene.emissivity)
    reflected = np.full(scene.shape, scene.reflected_degc)
    hidden = np.zeros(scene.shape, dtype=np.bool_)
    to_room = np.broadcast_to(room_degc, scene.shape) - wall_degc
    for thing in things:
        box = thing.pixels()
        if thing.hides:
            surface[box] = wall_degc[box] + thing.share * to_room[box] + thing.excess_k
            emissivity[box] = thing.emissivity
            hidden[box] = True
        else:
            reflected = reflected + thing.glow_k(scene.shape)
    return surface, emissivity, reflected, hidden


def _maps(
    scene: Scene, answers: Section, wall_degc: FloatArray, hidden: NDArray[np.bool_]
) -> dict[str, FloatArray]:
    maps = {
        "true_factor": answers.factor,
        "true_factor_at_films": answers.factor_at_films,
        "true_film_m2k_w": answers.film_m2k_w,
        "true_humidity": surface_humidity(scene.climate.vapour_pressure_pa, wall_degc),
    }
    return {name: np.where(hidden, np.nan, values) for name, values in maps.items()}


def _written(
    scene: Scene, surface_degc: FloatArray, sound: Mark, options: Options, rng: np.random.Generator
) -> Written:
    climate, errors = scene.climate, scene.errors
    touched = mark_statistics(surface_degc, mark_mask(sound, scene.shape)).mean_degc
    stated = np.clip(scene.emissivity + rng.uniform(-0.02, 0.02), 0.90, 0.96)
    reflected_error_k = rng.uniform(-1.0, 1.0)
    humidity = np.clip(climate.indoor_humidity + errors.humidity, 0.02, 0.99)
    return Written(
        air_temperature_degc=_shown(climate.indoor_degc + errors.air_k),
        relative_humidity_percent=_shown(100.0 * humidity),
        outdoor_degc=_shown(climate.outdoor_degc + errors.outdoor_k),
        daily_mean_degc=_shown(climate.outdoor_mean_degc + errors.outdoor_k) if options.daily_mean else None,
        contact_degc=_shown(touched + errors.contact_k) if options.contact else None,
        emissivity=_shown(stated, 2) if options.emissivity else None,
        reflected_degc=_shown(scene.reflected_degc + reflected_error_k) if options.reflected else None,
    )


def _shown(value: float, digits: int = 1) -> float:
    return round(float(value), digits) + 0.0  # never -0.0


def _coldest_spot(surface_degc: FloatArray, mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The 3 x 3 pixels round the coldest measurable spot within a mask."""
    spot = mark_statistics(surface_degc, mask).coldest
    if spot is None:
        return mask
    row, column = (int(x) for x in spot.place)
    around = np.zeros_like(mask)
    around[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2] = True
    return around & mask
