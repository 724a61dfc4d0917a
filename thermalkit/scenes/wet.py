"""Temperature of a wall that evaporates, or is warmed from within, in three dimensions.

A wall of plane layers is linear and the same everywhere along its face, so that waves along the face do not
mix: each wave of heat put in answers with its own resistance, exact through all layers. Evaporation depends
on the temperature it makes and is found with it.

Source
------
Conduction by Fourier series along the layers (Carslaw and Jaeger, Conduction of Heat in Solids, from memory);
evaporation as in `wet_surface_temperature_degc`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.fft import dctn, idctn

from thermalkit.imaging.statistics import pixel_size_m
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import PSYCHROMETRIC_PA_K, saturation_pressure_pa
from thermalkit.scenes.buildups import Layer, Layers
from thermalkit.scenes.scene import Scene, plane_m
from thermalkit.scenes.walls import InnerWall, OuterCorner

_STILLEST_PER_M = 1e-6  # stands for the mean over the face
_STEEPEST = 700.0  # of a hyperbolic cosine that still is a number
_CLOSE_K = 1e-7
_MOST_ROUNDS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """The inner face of plane layers: how waves along it answer to heat.

    The picture's edges let no heat through along the wall. `beyond_w_m2k` is what lies behind the layers:
    an outer film, or 0 at the middle of an inner wall.
    """

    layers: Layers
    film_m2k_w: float
    beyond_w_m2k: float
    side_m: float
    shape: tuple[int, int]

    def admittance_w_m2k(self, from_layer: int = 0, depth_m: float = 0.0) -> FloatArray:
        """Heat flowing outward for 1 K, wave by wave, at a depth into one of the layers."""
        waves = self._waves_per_m()
        found = np.full(self.shape, self.beyond_w_m2k)
        for number in range(len(self.layers) - 1, from_layer - 1, -1):
            item = self.layers[number]
            left_m = item.thickness_m - (depth_m if number == from_layer else 0.0)
            own = item.material.conductivity_w_mk * waves
            bend = np.tanh(waves * left_m)
            found = own * (found + own * bend) / (own + found * bend)
        return found

    def rise_k(self, heat_w_m2: FloatArray, depth_m: float = 0.0) -> FloatArray:
        """Rise of the surface for heat put in at a depth, both of shape (rows, columns)."""
        answer = 1.0 / (1.0 / self.film_m2k_w + self.admittance_w_m2k())
        for number, item in enumerate(self.layers):
            passed_m = min(depth_m, item.thickness_m)
            if passed_m > 0.0:
                answer = answer * self._left_after(item, number, passed_m)
            depth_m -= passed_m
        return np.asarray(idctn(answer * dctn(heat_w_m2, norm="ortho"), norm="ortho"))

    def evaporating_degc(
        self, dry_degc: FloatArray, wet_share: FloatArray, convective_w_m2k: float, vapour_pa: float
    ) -> FloatArray:
        """Surface temperature once evaporation and conduction have settled; (rows, columns)."""
        transfer = convective_w_m2k / PSYCHROMETRIC_PA_K
        warmest = float(dry_degc.max())
        slope = transfer * float(saturation_pressure_pa(warmest + 1.0) - saturation_pressure_pa(warmest))
        pace = 2.0 / (2.0 + slope * self.film_m2k_w)  # evaporation cools, and so slows itself
        theta = np.array(dry_degc, dtype=np.float64)
        for _ in range(_MOST_ROUNDS):
            spent_w_m2 = wet_share * transfer * (saturation_pressure_pa(theta) - vapour_pa)
            change = dry_degc - self.rise_k(spent_w_m2) - theta
            theta += pace * change
            if np.max(np.abs(change)) < _CLOSE_K:
                break
        return theta

    def _waves_per_m(self) -> FloatArray:
        rows, columns = (np.pi * np.arange(n) / (n * self.side_m) for n in self.shape)
        return np.asarray(np.maximum(np.hypot(rows[:, None], columns[None, :]), _STILLEST_PER_M))

    def _left_after(self, item: Layer, number: int, passed_m: float) -> FloatArray:
        """What is left of a wave after part of a layer, on the way outward; the same on the way back."""
        waves = self._waves_per_m()
        turn = np.minimum(waves * passed_m, _STEEPEST)
        if passed_m < item.thickness_m:
            behind = self.admittance_w_m2k(number, passed_m)
        else:
            behind = self.admittance_w_m2k(number + 1)
        own = item.material.conductivity_w_mk * waves
        return np.asarray(1.0 / (np.cosh(turn) + behind / own * np.sinh(turn)))


def face_of(scene: Scene) -> Face:
    """The face of a scene's wall, flat, with the film of its open stretch."""
    wall = scene.wall
    if isinstance(wall, OuterCorner):
        raise TypeError("water is only known on flat walls")
    side_m = float(pixel_size_m(scene.camera.field_of_view_deg[0], scene.camera.columns, scene.distance_m))
    return Face(
        layers=wall.layers,
        film_m2k_w=wall.film.open_m2k_w,
        beyond_w_m2k=0.0 if isinstance(wall, InnerWall) else 1.0 / wall.outer_film_m2k_w,
        side_m=side_m,
        shape=scene.shape,
    )


def wet_share(scene: Scene) -> FloatArray:
    """How much of each pixel evaporates, (rows, columns)."""
    shares = [item.wetness * item.shape.share(*plane_m(scene)) for item in scene.stains]
    return np.asarray(np.max([np.zeros(scene.shape), *shares], axis=0), dtype=np.float64)


def changed_degc(scene: Scene, dry_degc: FloatArray) -> FloatArray:
    """Surface temperature with the scene's heat and water, from that without; (rows, columns)."""
    if not scene.stains and not scene.heats:
        return dry_degc
    face, theta = face_of(scene), np.array(dry_degc)
    for heat in scene.heats:
        theta += face.rise_k(heat.power_w_m2 * heat.shape.share(*plane_m(scene)), heat.depth_m)
    return face.evaporating_degc(
        theta, wet_share(scene), scene.convective_w_m2k, scene.climate.vapour_pressure_pa
    )
