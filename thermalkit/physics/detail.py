"""A construction detail: a section drawn from its dimensions, and the numbers a reader may quote of it.

One detail is one small file in `details/`, found by being there. Drawings are in millimetres; x runs
along or through the wall, y is the other axis of the section.

Source
------
ISO 10211:2017 and ISO 13788:2012 (from memory): heat flow with the usual films, f_Rsi with 0.25 m²K/W.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any, ClassVar

import numpy as np

from thermalkit.physics.conduction import Body, Material, graded_edges_m
from thermalkit.physics.conduction.network import Films
from thermalkit.physics.domain import require_within
from thermalkit.physics.envelope import MOULD_FILM_M2K_W, OUTDOOR_FILM_M2K_W
from thermalkit.physics.layers import INDOOR_FILM_M2K_W, layer_resistance_m2k_w, transmittance_w_m2k

FINEST_MM = 4.0
GROWTH = 1.5
_MM = 1e-3

Range = tuple[float, float]
PointsMm = Sequence[tuple[float, float]]


def within(default: float, low: float, high: float) -> Any:
    """A dimension of a detail with its default and the range that is plausible."""
    return field(default=default, metadata={"low": low, "high": high})


def solid(name: str, conductivity_w_mk: float) -> Material:
    """A material of a drawing."""
    return Material(name=name, conductivity_w_mk=conductivity_w_mk)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of a section in mm; one without width or height is not there."""

    x_mm: Range
    y_mm: Range
    filling: Material | str

    @property
    def is_there(self) -> bool:
        """Whether it has an area."""
        return all(high - low > 1e-6 for low, high in (self.x_mm, self.y_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class Flank:
    """A plane part beside a junction: its U with the films of the section, its inner and outer length."""

    part: str
    transmittance_w_m2k: float
    inner_m: float
    outer_m: float


def drawn(boxes: Iterable[Box], finest_mm: float = FINEST_MM) -> Body:
    """A section from its boxes, later ones over earlier ones; its outer edges let no heat through."""
    there = [box for box in boxes if box.is_there]
    edges = []
    for axis in ("x_mm", "y_mm"):
        sides = sorted({round(side, 6) for box in there for side in getattr(box, axis)})
        edges.append(graded_edges_m(np.array(sides) * _MM, finest_mm * _MM, GROWTH))
    body = Body(*edges)
    for box in there:
        body.paint([(low * _MM, high * _MM) for low, high in (box.x_mm, box.y_mm)], box.filling)
    return body


def plane_w_m2k(
    *layers: tuple[float, float],
    film_m2k_w: float = INDOOR_FILM_M2K_W["horizontal"],
    outdoor_film_m2k_w: float = OUTDOOR_FILM_M2K_W,
) -> float:
    """U of plane layers from (mm, W/(m K)) of each; those without thickness are not there.

    Examples
    --------
    >>> round(plane_w_m2k((220.0, 0.77), (13.0, 0.57), (0.0, 0.035)), 2)
    2.09
    """
    there = [layer for layer in layers if layer[0] > 0.0]
    resistance = float(sum(layer_resistance_m2k_w(*layer) for layer in there))
    films = {"film_m2k_w": film_m2k_w, "outdoor_film_m2k_w": outdoor_film_m2k_w}
    return float(transmittance_w_m2k(resistance, **films))


@dataclass(frozen=True, kw_only=True)
class Detail(ABC):
    """A section of a building with its dimensions; a detail adds fields made by `within`.

    `line_mm` leads along the inner surface that is judged, and `origin` is the number of its point from
    which lengths along it are counted.
    """

    origin: ClassVar[int] = 0

    def __post_init__(self) -> None:
        """Refuse what lies outside its plausible range."""
        for item in fields(self):
            require_within(item.name, getattr(self, item.name), item.metadata["low"], item.metadata["high"])

    @abstractmethod
    def boxes(self) -> tuple[Box, ...]:
        """The drawing; "inside" and "outside" are its environments."""

    @abstractmethod
    def flanks(self) -> tuple[Flank, ...]:
        """The plane parts that are counted without the junction."""

    @abstractmethod
    def line_mm(self) -> PointsMm:
        """Points of the inner surface that is judged, in order; straight between them."""

    def cures(self) -> Mapping[str, Detail]:
        """The same detail after each cure, by the cure's name."""
        return {}

    def body(self, finest_mm: float = FINEST_MM) -> Body:
        """The drawing on its grid."""
        return drawn(self.boxes(), finest_mm)

    def films(self) -> Films:
        """Surface resistances for heat flows."""
        return {"inside": INDOOR_FILM_M2K_W["horizontal"], "outside": OUTDOOR_FILM_M2K_W}

    def factor_films(self) -> Films:
        """Surface resistances for the temperature factor."""
        return {**self.films(), "inside": MOULD_FILM_M2K_W}
