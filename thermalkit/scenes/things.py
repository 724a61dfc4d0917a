"""What else is in the picture: things that stand in view, and what the wall mirrors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray

Box = tuple[int, int, int, int]
"""First row, row after the last, first column, column after the last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A box of the picture that is not plain wall.

    Its temperature is the wall's, moved by `share` of the way to the room's air, plus `excess_k`. Where it
    only is mirrored (`hides` false) the wall stays and `mirrored_k` is added to the reflected temperature.
    """

    name: str
    box: Box
    share: float = 0.0
    excess_k: float = 0.0
    emissivity: float = 0.93
    mirrored_k: float = 0.0
    hides: bool = True

    def pixels(self) -> tuple[slice, slice]:
        """Index of its box."""
        top, below, left, right = self.box
        return slice(top, below), slice(left, right)

    def glow_k(self, shape: tuple[int, int]) -> FloatArray:
        """What a mirrored thing adds to the reflected temperature, (rows, columns), soft at its edges."""
        top, below, left, right = self.box
        row = (np.arange(shape[0])[:, None] - (top + below) / 2.0) / (below - top)
        column = (np.arange(shape[1])[None, :] - (left + right) / 2.0) / (right - left)
        return np.asarray(self.mirrored_k * np.exp(-8.0 * (row**2 + column**2)))


def random_things(
    rng: np.random.Generator, shape: tuple[int, int], marks: tuple[Mark, ...]
) -> tuple[Thing, ...]:
    """None to a few things, clear of the marks as a surveyor would draw them."""
    taken = [_box(mark, margin=max(4, shape[1] // 40)) for mark in marks]
    found = [_skirting(rng, shape)] if rng.random() < 0.5 else []
    for draw in (_radiator, _furniture, _lamp, _socket, _person):
        thing = draw(rng, _free_box(rng, shape)) if rng.random() < 0.35 else None
        if thing is not None and not any(_overlap(thing.box, box) for box in taken):
            found.append(thing)
    return tuple(found)


def _box(mark: Mark, margin: int) -> Box:
    rows, columns = np.asarray(mark.points, dtype=int).T
    return (
        int(rows.min()) - margin,
        int(rows.max()) + margin + 1,
        int(columns.min()) - margin,
        int(columns.max()) + margin + 1,
    )


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[1] and other[0] < one[1] and one[2] < other[3] and other[2] < one[3]


def _free_box(rng: np.random.Generator, shape: tuple[int, int]) -> Box:
    height, width = (max(6, int(side * rng.uniform(0.08, 0.30))) for side in shape)
    top, left = rng.integers(0, shape[0] - height), rng.integers(0, shape[1] - width)
    return int(top), int(top) + height, int(left), int(left) + width


def _low(box: Box, share: float) -> Box:
    """The same box with a smaller height or width, from its upper left corner."""
    top, below, left, right = box
    return top, top + max(3, int((below - top) * share)), left, left + max(3, int((right - left) * share))


def _skirting(rng: np.random.Generator, shape: tuple[int, int]) -> Thing:
    height = max(2, int(shape[0] * rng.uniform(0.03, 0.07)))
    return Thing(name="skirting", box=(shape[0] - height, shape[0], 0, shape[1]), share=rng.uniform(0.1, 0.4))


def _radiator(rng: np.random.Generator, box: Box) -> Thing:
    return Thing(name="radiator", box=box, share=1.0, excess_k=rng.uniform(8.0, 35.0))


def _furniture(rng: np.random.Generator, box: Box) -> Thing:
    return Thing(name="furniture", box=box, share=rng.uniform(0.7, 1.0))


def _lamp(rng: np.random.Generator, box: Box) -> Thing:
    return Thing(name="lamp", box=_low(box, 0.3), share=1.0, excess_k=rng.uniform(5.0, 40.0))


def _socket(rng: np.random.Generator, box: Box) -> Thing:
    return Thing(name="metal plate", box=_low(box, 0.3), emissivity=rng.uniform(0.1, 0.4))


def _person(rng: np.random.Generator, box: Box) -> Thing:
    return Thing(name="mirrored person", box=box, mirrored_k=rng.uniform(3.0, 12.0), hides=False)
