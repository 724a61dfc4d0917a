"""What the outer walls of invented buildings are made of.

Source
------
Conductivities and heat capacities: ranges about the design values of ISO 10456, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.physics.conduction import Material

AIR_LAYER_M2K_W = 0.18  # unventilated, ISO 6946, from memory
CONCRETE = Material(name="concrete", conductivity_w_mk=2.0, heat_capacity_j_m3k=2.2e6)
TIMBER = Material(name="timber", conductivity_w_mk=0.13, heat_capacity_j_m3k=0.8e6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of a wall, plane and of even thickness."""

    material: Material
    thickness_m: float

    @property
    def resistance_m2k_w(self) -> float:
        """Thickness over conductivity."""
        return self.thickness_m / self.material.conductivity_w_mk


Layers = tuple[Layer, ...]
"""From the room outwards."""


def layer(name: str, thickness_m: float, conductivity_w_mk: float, heat_capacity_mj_m3k: float) -> Layer:
    """A layer of a homogeneous material."""
    heat_capacity = 1e6 * heat_capacity_mj_m3k
    material = Material(name=name, conductivity_w_mk=conductivity_w_mk, heat_capacity_j_m3k=heat_capacity)
    return Layer(material=material, thickness_m=thickness_m)


def air_layer(thickness_m: float) -> Layer:
    """Still air between two leaves, as a solid of the same resistance."""
    return layer("air layer", thickness_m, thickness_m / AIR_LAYER_M2K_W, 0.0012)


def random_layers(rng: np.random.Generator) -> Layers:
    """Solid brick, cavity, insulated outside or timber frame; factors from poor to good."""
    kinds = (_solid_brick, _solid_brick, _cavity, _insulated, _timber_frame)
    return kinds[rng.integers(len(kinds))](rng)


def _plaster(rng: np.random.Generator) -> Layer:
    return layer("plaster", rng.uniform(0.010, 0.020), rng.uniform(0.35, 0.70), 1.1)


def _brick(rng: np.random.Generator, thickness_m: float) -> Layer:
    return layer("brick", thickness_m, rng.uniform(0.55, 0.95), rng.uniform(1.2, 1.6))


def _insulation(rng: np.random.Generator, thickness_m: float) -> Layer:
    return layer("insulation", thickness_m, rng.uniform(0.032, 0.042), rng.uniform(0.02, 0.10))


def _solid_brick(rng: np.random.Generator) -> Layers:
    return (_plaster(rng), _brick(rng, rng.uniform(0.22, 0.36)))


def _cavity(rng: np.random.Generator) -> Layers:
    width_m = rng.uniform(0.05, 0.10)
    cavity = _insulation(rng, width_m) if rng.random() < 0.5 else air_layer(width_m)
    block = layer("block", 0.100, rng.uniform(0.15, 0.60), rng.uniform(0.6, 1.4))
    return (_plaster(rng), block, cavity, _brick(rng, 0.1025))


def _insulated(rng: np.random.Generator) -> Layers:
    masonry = layer("masonry", rng.uniform(0.175, 0.24), rng.uniform(0.5, 1.3), rng.uniform(1.2, 1.8))
    render = layer("render", 0.010, 0.87, 1.6)
    return (_plaster(rng), masonry, _insulation(rng, rng.uniform(0.06, 0.16)), render)


def _timber_frame(rng: np.random.Generator) -> Layers:
    board = layer("plasterboard", 0.0125, 0.25, 0.9)
    sheathing = layer("sheathing", 0.009, 0.13, 1.0)
    insulation = _insulation(rng, rng.uniform(0.09, 0.14))
    return (board, insulation, sheathing, air_layer(0.05), _brick(rng, 0.1025))
