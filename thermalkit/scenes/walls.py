"""Walls whose inner surface is known exactly: an outer corner, a flat outer wall, an inner wall.

Outer ones are two-dimensional sections, extended along the third direction. Positions run along the inner
surface in metres: from the corner line (left wall negative), or from the middle of the band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray
from thermalkit.physics.conduction import Body, Material, Solution, graded_edges_m, periodic_response, steady
from thermalkit.scenes.buildups import CONCRETE, TIMBER, Layer, Layers, air_layer, random_layers
from thermalkit.scenes.climate import DAY_S, Climate

LIMIT_FILM_M2K_W = 0.25  # ISO 13788, opaque surfaces, mould
REACH_M = 2.0  # of the walls away from corner or band; a few times their thickness
_FINEST_M = 0.002
_COARSEST_M = 0.06
_GROWTH = 1.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """Inner surface resistance that rises smoothly towards a sheltered place."""

    open_m2k_w: float
    sheltered_m2k_w: float
    reach_m: float = 0.2

    def at(self, distance_m: FloatArray) -> FloatArray:
        """Resistance at distances from the sheltered place."""
        excess = self.sheltered_m2k_w - self.open_m2k_w
        share = np.exp(-np.abs(distance_m) / self.reach_m)
        return np.asarray(self.open_m2k_w + excess * share, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """What the inner surface of a section answers, at the positions asked for; all of one shape.

    `factor` is the temperature factor with 0.25 m²K/W everywhere, as limits are stated;
    `factor_at_films` with the films really there; `swing` the complex answer to 1 K of daily swing
    outdoors, film included.
    """

    factor: FloatArray
    factor_at_films: FloatArray
    film_m2k_w: FloatArray
    swing: NDArray[np.complex128]

    def surface_degc(self, climate: Climate, room_degc: FloatArray) -> FloatArray:
        """Surface temperature at the moment, the room air being given place by place."""
        mean = climate.outdoor_mean_degc + self.factor_at_films * (room_degc - climate.outdoor_mean_degc)
        turned: FloatArray = np.real(self.swing * np.exp(1j * climate.since_warmest))
        return mean + climate.outdoor_swing_k * turned


@dataclass(frozen=True, slots=True, kw_only=True)
class OuterCorner:
    """Two walls of one build-up meeting at a right angle; the film rises towards the corner line.

    A `post` of another material may fill the corner of the thickest layer.
    """

    layers: Layers
    film: Film
    post: Material | None = None
    outer_film_m2k_w: float = 0.04

    @property
    def cause(self) -> str:
        """What makes its coldest place cold, for the truth file."""
        return f"outer corner with a {self.post.name} post" if self.post else "outer corner"

    def film_m2k_w(self, along_m: FloatArray) -> FloatArray:
        """Inner surface resistance along the walls."""
        return self.film.at(along_m)

    def points_m(self, along_m: FloatArray) -> FloatArray:
        """Positions in the body; both walls are alike, so the right one answers for the left."""
        distance_m = np.abs(along_m)
        return np.stack([distance_m, np.zeros_like(distance_m)], axis=-1)

    def along_m(self, points_m: FloatArray) -> FloatArray:
        """Distance from the corner line."""
        return np.asarray(points_m.max(axis=-1))

    def body(self) -> Body:
        """Both walls from above, the room at positive coordinates."""
        depths_m = _depths_m(self.layers)
        edges_m = graded_edges_m(
            [*-depths_m[:0:-1], 0.0, REACH_M],
            [*[3 * _FINEST_M] * len(self.layers), _FINEST_M, _COARSEST_M],
            _GROWTH,
            coarsest_m=_COARSEST_M,
        )
        body = Body(edges_m, edges_m)
        for item, depth_m in reversed(list(zip(self.layers, depths_m[1:], strict=True))):
            body.paint([(-depth_m, REACH_M)] * 2, item.material)
        body.paint([(0.0, REACH_M)] * 2, "inside")
        if self.post is not None:
            core = thickest(self.layers)
            body.paint([(-depths_m[core + 1], -depths_m[core])] * 2, self.post)
        for axis in (0, 1):
            body.expose(axis, "low", "outside")
        return body


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A strip in which some layers, `first` to `last` counted from the room, are another material."""

    name: str
    material: Material
    width_m: float
    first: int
    last: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatWall:
    """A flat wall, sound or with a band in it; the film rises towards `sheltered_at_m`.

    `is_level`: the band and what shelters the wall run level across the picture (a lintel below a
    ceiling), else upright.
    """

    layers: Layers
    film: Film
    sheltered_at_m: float
    band: Band | None = None
    is_level: bool = False
    outer_film_m2k_w: float = 0.04

    @property
    def cause(self) -> str:
        """What makes its coldest place cold, for the truth file."""
        return self.band.name if self.band else "none"

    def film_m2k_w(self, along_m: FloatArray) -> FloatArray:
        """Inner surface resistance along the wall."""
        return self.film.at(along_m - self.sheltered_at_m)

    def points_m(self, along_m: FloatArray) -> FloatArray:
        """Positions in the body."""
        return np.stack([along_m, np.zeros_like(along_m)], axis=-1)

    def along_m(self, points_m: FloatArray) -> FloatArray:
        """Distance from the middle of the band."""
        return points_m[..., 0]

    def body(self) -> Body:
        """The wall cut across the band: along it, and through it with the room at depth 0."""
        depths_m = _depths_m(self.layers)
        half_m = self.band.width_m / 2.0 if self.band else 0.5
        along_m = graded_edges_m(
            [-REACH_M, -half_m, half_m, REACH_M],
            [_COARSEST_M, 3 * _FINEST_M, 3 * _FINEST_M, _COARSEST_M],
            _GROWTH,
            coarsest_m=_COARSEST_M,
        )
        finest_m = [*[3 * _FINEST_M] * len(self.layers), _FINEST_M]
        through_m = graded_edges_m(-depths_m[::-1], finest_m, _GROWTH, coarsest_m=_COARSEST_M / 3.0)
        body = Body(along_m, through_m)
        for item, near_m, far_m in zip(self.layers, depths_m, depths_m[1:], strict=False):
            body.paint([None, (-far_m, -near_m)], item.material)
        if self.band is not None:
            through = (-depths_m[self.band.last + 1], -depths_m[self.band.first])
            body.paint([(-half_m, half_m), through], self.band.material)
        body.expose(1, "high", "inside")
        body.expose(1, "low", "outside")
        return body


@dataclass(frozen=True, slots=True, kw_only=True)
class InnerWall:
    """A flat wall between two rooms of one temperature, built alike from its middle to both faces.

    `layers` run from the room to the middle, past which no heat goes.
    """

    layers: Layers
    film: Film
    is_level: bool = False

    @property
    def cause(self) -> str:
        """Nothing makes it colder than the room."""
        return "none"

    def film_m2k_w(self, along_m: FloatArray) -> FloatArray:
        """Inner surface resistance, the same everywhere."""
        return np.full_like(along_m, self.film.open_m2k_w)


Wall = OuterCorner | FlatWall | InnerWall


def section(wall: Wall, along_m: FloatArray) -> Section:
    """Answers of the inner surface of a wall.

    Parameters
    ----------
    wall : OuterCorner, FlatWall or InnerWall
    along_m : ndarray of float64, any shape
        Positions along the inner surface; beyond 2 m the wall goes on unchanged.
    """
    if isinstance(wall, InnerWall):
        one = np.ones_like(along_m)
        film_m2k_w = wall.film_m2k_w(along_m)
        return Section(
            factor=one, factor_at_films=one, film_m2k_w=film_m2k_w, swing=np.zeros(one.shape, np.complex128)
        )
    along_m = np.clip(along_m, -REACH_M, REACH_M)
    body, points_m = wall.body(), wall.points_m(along_m)
    outside = wall.outer_film_m2k_w
    real = steady(body, {"inside": lambda faces: wall.film_m2k_w(wall.along_m(faces)), "outside": outside})
    limit = steady(body, {"inside": LIMIT_FILM_M2K_W, "outside": outside})
    return Section(
        factor=_factor(limit, points_m),
        factor_at_films=_factor(real, points_m),
        film_m2k_w=wall.film_m2k_w(along_m),
        swing=periodic_response(real, "outside", DAY_S).point_response(points_m, "inside"),
    )


def _factor(solution: Solution, points_m: FloatArray) -> FloatArray:
    return solution.at({"inside": 1.0, "outside": 0.0}).temperature_degc(points_m, "inside")


def random_film(rng: np.random.Generator) -> Film:
    """Between a free wall and a sheltered corner, 0.13 to 0.25 m²K/W (ISO 6946 and ISO 13788)."""
    open_m2k_w = rng.uniform(0.13, 0.19)
    sheltered_m2k_w = rng.uniform(open_m2k_w, 0.25)
    return Film(open_m2k_w=open_m2k_w, sheltered_m2k_w=sheltered_m2k_w, reach_m=float(rng.uniform(0.05, 0.4)))


def random_corner(rng: np.random.Generator) -> OuterCorner:
    """An outer corner of any build-up, sometimes with a post in it."""
    layers = random_layers(rng)
    post = TIMBER if layers[1].material.name == "insulation" else CONCRETE
    has_post = rng.random() < 0.25
    outer = rng.uniform(0.03, 0.06)
    return OuterCorner(
        layers=layers, film=random_film(rng), post=post if has_post else None, outer_film_m2k_w=outer
    )


def random_patch(rng: np.random.Generator) -> FlatWall:
    """A flat wall with concrete through it, or without its insulation in a strip."""
    layers = random_layers(rng)
    band = _random_band(rng, layers)
    sheltered_at_m = rng.uniform(0.1, 0.6) + band.width_m / 2.0
    return _flat(rng, layers, band, float(sheltered_at_m))


def random_sound(rng: np.random.Generator) -> FlatWall:
    """A flat wall in which nothing is wrong."""
    return _flat(rng, random_layers(rng), None, float(rng.uniform(-0.6, 0.6)))


def thickest(layers: Layers) -> int:
    """Number of the thickest layer, counted from the room."""
    return int(np.argmax([item.thickness_m for item in layers]))


def _flat(rng: np.random.Generator, layers: Layers, band: Band | None, sheltered_at_m: float) -> FlatWall:
    return FlatWall(
        layers=layers,
        film=random_film(rng),
        sheltered_at_m=sheltered_at_m,
        band=band,
        is_level=bool(rng.random() < 0.6),
        outer_film_m2k_w=rng.uniform(0.03, 0.06),
    )


def _random_band(rng: np.random.Generator, layers: Layers) -> Band:
    names = [item.material.name for item in layers]
    width_m = rng.uniform(0.10, 0.40)
    if "insulation" in names and rng.random() < 0.6:
        gap = names.index("insulation")
        material = _hollow(layers[gap])
        return Band(name="missing insulation", material=material, width_m=width_m, first=gap, last=gap)
    if names[0] == "plasterboard":
        return Band(name="timber post", material=TIMBER, width_m=width_m, first=1, last=1)
    last = max(1, len(layers) - 2)  # behind the outer skin, or through a solid wall
    return Band(name="concrete lintel", material=CONCRETE, width_m=width_m, first=1, last=last)


def _hollow(item: Layer) -> Material:
    return air_layer(item.thickness_m).material


def _depths_m(layers: Layers) -> FloatArray:
    """Depth of each layer's two faces from the room, shape (layers + 1,)."""
    return np.concatenate([[0.0], np.cumsum([item.thickness_m for item in layers])])
