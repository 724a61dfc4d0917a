"""What two visits can be compared by, with the load taken out.

On a round of many cabinets a line for each sound circuit would bury what matters. Circuits out of the
ordinary and those repaired since are compared one by one, the sound ones of a cabinet together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from thermalkit.diagnosis.change import Compared
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.panel.examined import Examined, carried_degc, examined
from thermalkit.diagnosis.panel.judged import RESTS_ON
from thermalkit.diagnosis.panel.like import exponent
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray
from thermalkit.physics.conductors import MOST_LOAD_RATIO

MOST_EACH = 12  # circuits of a visit up to which each is compared by itself


def compared(case: Case) -> Iterator[Compared]:
    """Of each circuit the difference to its like and its rise, both at the rated load, and its joint.

    An earlier visit gives every circuit, so that whatever the later one asks for is there; on the later one
    the line of the cabinet speaks for its sound circuits.
    """
    items = examined(case)
    one_by_one = case.site.earlier is None or len(items) <= MOST_EACH
    for item in items:
        is_told = item.is_exception and not item.is_reflection
        is_alone = one_by_one or is_told or item.way.circuit.repaired_on is not None
        for found in _of(case, item):
            yield found if is_alone else replace(found, is_spoken_for=True)
    yield from _together(case, items)


def _of(case: Case, item: Examined) -> Iterator[Compared]:
    place, mark = item.way.label, item.way.first
    difference = _difference(case, item)
    if difference is not None:
        yield _one(place, mark, "like-difference-at-rating", difference)
    rated, air = item.way.circuit.rated_current_a, item.reading.air_degc
    if rated is not None and air is not None:
        carried = carried_degc(case, item, rated)
        if carried is not None:
            yield _one(place, mark, "rise-at-rating", carried - air)
    if item.joint is not None and item.joint.resistance_mohm is not None:
        yield _one(place, mark, "contact-resistance", item.joint.resistance_mohm)


def _together(case: Case, items: Sequence[Examined]) -> Iterator[Compared]:
    """The furthest of the sound circuits of each cabinet from its like, named by the cabinet."""
    quiet: dict[str, list[FloatArray]] = {}
    marks: dict[str, Mark] = {}
    for item in items:
        difference = None if item.is_exception else _difference(case, item)
        if difference is not None and item.way.first is not None:
            quiet.setdefault(item.way.cabinet.label, []).append(difference)
            marks.setdefault(item.way.cabinet.label, item.way.first)
    for label, found in quiet.items():
        yield _one(label, marks[label], "like-difference-at-rating", np.max(found, axis=0), is_whole=True)


def _difference(case: Case, item: Examined) -> FloatArray | None:
    """The difference to its like at the rated load, shape (draws,)."""
    rated, current = item.way.circuit.rated_current_a, item.reading.current_a
    read, largest = item.way.circuit.measured_current_a, item.excess.largest
    if largest is None or rated is None or current is None or not read or rated / read > MOST_LOAD_RATIO:
        return None
    scatter = case.draws.rectangular(f"like-scatter {item.way.id}", case.assumed("like-scatter").half_width)
    return np.asarray(largest[1] * (rated / current) ** exponent(case) + scatter, dtype=np.float64)


def _one(place: str, mark: Mark | None, term: str, draws: FloatArray, *, is_whole: bool = False) -> Compared:
    return Compared(
        place=place,
        term=term,
        draws=draws,
        frame=mark.frame if mark else None,
        mark=mark.id if mark and not is_whole else None,
        higher_is="worse",
        rests_on=RESTS_ON,
    )
