"""What two visits to a circuit can be compared by, with the load taken out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.change import Compared
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.panel.examined import Examined, carried_degc, examined
from thermalkit.diagnosis.panel.judged import RESTS_ON
from thermalkit.diagnosis.panel.like import exponent
from thermalkit.measured import FloatArray
from thermalkit.physics.conductors import MOST_LOAD_RATIO


def compared(case: Case) -> Iterator[Compared]:
    """Of each circuit the difference to its like and its rise, both at the rated load, and its joint."""
    for item in examined(case):
        yield from _of(case, item)


def _of(case: Case, item: Examined) -> Iterator[Compared]:
    at_rated = _share(case, item)
    largest = item.excess.largest
    if largest is not None and at_rated is not None:
        scatter = case.draws.rectangular(
            f"like-scatter {item.way.id}", case.assumed("like-scatter").half_width
        )
        yield _one(item, "like-difference-at-rating", largest[1] * at_rated + scatter)
    rated, air = item.way.circuit.rated_current_a, item.reading.air_degc
    if rated is not None and air is not None:
        carried = carried_degc(case, item, rated)
        if carried is not None:
            yield _one(item, "rise-at-rating", carried - air)
    if item.joint is not None and item.joint.resistance_mohm is not None:
        yield _one(item, "contact-resistance", item.joint.resistance_mohm)


def _share(case: Case, item: Examined) -> FloatArray | None:
    """By what a difference grows from the load of the frame to the rated one, shape (draws,)."""
    rated, current = item.way.circuit.rated_current_a, item.reading.current_a
    read = item.way.circuit.measured_current_a
    if rated is None or current is None or not read or rated / read > MOST_LOAD_RATIO:
        return None
    return np.asarray((rated / current) ** exponent(case), dtype=np.float64)


def _one(item: Examined, term: str, draws: FloatArray) -> Compared:
    mark = item.way.first
    return Compared(
        place=item.way.label,
        term=term,
        draws=draws,
        frame=mark.frame if mark else None,
        mark=mark.id if mark else None,
        higher_is="worse",
        rests_on=RESTS_ON,
    )
