"""What a wall of an age is usually made of, as intervals for what nobody opened.

Periods and numbers are rough and belong to no country; a surveyor narrows them by what is seen.

Source
------
Common practice, with no published source; conductivities about the design values of ISO 10456 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from thermalkit.measured import Draws
from thermalkit.physics.domain import FloatArray
from thermalkit.physics.layers import air_layer_resistance_m2k_w, layer_resistance_m2k_w
from thermalkit.physics.tables import row_named, table_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The lowest, the usual and the highest value."""

    low: float
    typical: float
    high: float

    def drawn(self, quantiles: FloatArray) -> FloatArray:
        """Values of a triangular distribution at quantiles 0 to 1, same shape.

        Examples
        --------
        >>> Spread(low=0.0, typical=1.0, high=2.0).drawn(np.array([0.0, 0.5, 1.0]))
        array([0., 1., 2.])
        """
        width = self.high - self.low
        rising = np.sqrt(quantiles * width * (self.typical - self.low))
        falling = np.sqrt((1.0 - quantiles) * width * (self.high - self.typical))
        is_rising = quantiles * width < self.typical - self.low
        return np.asarray(np.where(is_rising, self.low + rising, self.high - falling))


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyLayer:
    """One layer of a family; an air layer has no conductivity of its own."""

    name: str
    material: str
    thickness_mm: Spread
    conductivity_w_mk: Spread | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLayer:
    """A layer in many possible walls, arrays of shape (size,)."""

    name: str
    thickness_mm: FloatArray
    resistance_m2k_w: FloatArray

    @property
    def conductivity_w_mk(self) -> FloatArray:
        """Of an air layer, that of a solid of its resistance."""
        return self.thickness_mm / 1000.0 / self.resistance_m2k_w


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Walls of one make and age, layers from the room outwards."""

    name: str
    layers: tuple[FamilyLayer, ...]

    def drawn(self, draws: Draws, wall: str) -> tuple[DrawnLayer, ...]:
        """Possible walls, one for each draw; the same for the same wall.

        Parameters
        ----------
        draws : Draws
        wall : str
            Name of the wall that is looked at; two walls are drawn independently.
        """
        return tuple(_drawn(layer, draws, wall) for layer in self.layers)

    def resistance_m2k_w(self, draws: Draws, wall: str) -> FloatArray:
        """Of all layers without films, shape (size,)."""
        total: FloatArray = np.sum([layer.resistance_m2k_w for layer in self.drawn(draws, wall)], axis=0)
        return total


def _drawn(layer: FamilyLayer, draws: Draws, wall: str) -> DrawnLayer:
    thickness = layer.thickness_mm.drawn(draws.quantiles(f"thickness {wall} {layer.name}"))
    if layer.conductivity_w_mk is None:
        resistance = air_layer_resistance_m2k_w(thickness)
    else:
        conductivity = layer.conductivity_w_mk.drawn(draws.quantiles(f"conductivity {wall} {layer.name}"))
        resistance = layer_resistance_m2k_w(thickness, conductivity)
    return DrawnLayer(name=layer.name, thickness_mm=thickness, resistance_m2k_w=resistance)


@cache
def families() -> dict[str, Family]:
    """Families of the shipped table, by name."""
    layers: dict[str, list[FamilyLayer]] = {}
    for row in table_rows("buildup_families.csv"):
        layers.setdefault(row["family"], []).append(_layer(row))
    return {name: Family(name=name, layers=tuple(rows)) for name, rows in layers.items()}


def family(name: str) -> Family:
    """The family of exactly that name.

    Raises
    ------
    UnknownName
        There is no such family; the message names the nearest ones.

    Examples
    --------
    >>> [layer.name for layer in family("solid brick before 1920").layers]
    ['plaster', 'brick']
    """
    return row_named("family", name, families())


def _layer(row: dict[str, str]) -> FamilyLayer:
    return FamilyLayer(
        name=row["layer"],
        material=row["material"],
        thickness_mm=_spread(row, "thickness_{}_mm"),
        conductivity_w_mk=_spread(row, "conductivity_{}_w_mk") if row["conductivity_low_w_mk"] else None,
    )


def _spread(row: dict[str, str], column: str) -> Spread:
    low, typical, high = (float(row[column.format(end)]) for end in ("low", "typical", "high"))
    return Spread(low=low, typical=typical, high=high)
