"""What a learner may answer, by ids; their words stand in `locale`.

Ids are what the record holds and what a rubric and a key speak of. `OPEN` is no answer yet: nothing is
proposed to a learner.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from thermalkit.diagnosis.decisions import Asked, Case
from thermalkit.diagnosis.surface import NOT_CHOSEN
from thermalkit.language import Sentence, say

OPEN = NOT_CHOSEN
LOOKS = ("cold-strip", "cold-patch", "warm-line", "warm-line-bulge", "bright-spot", "even")
RESERVATIONS = ("sun", "small-difference", "unsteady", "rain", "wind")
TRUST = ("yes", "limited", "no")
BANDS_K = {
    "under-1": (0.0, 1.0),
    "1-2": (1.0, 2.0),
    "2-4": (2.0, 4.0),
    "4-8": (4.0, 8.0),
    "over-8": (8.0, 1e3),
}
EMISSIVITIES = ("1.00", "0.93", "0.80", "0.20")
VERDICTS = ("indicated", "not-indicated", "inconclusive")
CAUSES = ("bridge", "drying", "leak", "warm-pipe", "reflection", "sound")
JOBS = (
    *("record", "air-heat", "insulate", "find-water", "stop-water", "dry"),
    *("plumber", "again", "note-pipe", "tell", "nothing"),
)
PLACES_IN_ORDER = ("first", "second", "third")
TRAPS = ("reflection", "low-emissivity", "stain-not-cold", "warm-pipe", "furniture", "blur")
HINTS = ("look", "compare", "water", "numbers")

Options = Callable[[Case], Mapping[str, Sentence]]


def shown(step: str, ids: tuple[str, ...]) -> dict[str, Sentence]:
    """Options of a step with their words."""
    return {id: say("class.open" if id == OPEN else f"class.{step}.{id}") for id in ids}


def one(step: str, ids: tuple[str, ...]) -> Options:
    """Options of which one is chosen, or none yet."""
    return lambda case: shown(step, (OPEN, *ids))


def some(step: str, ids: tuple[str, ...]) -> Options:
    """Options of which any number is chosen."""
    return lambda case: shown(step, ids)


def order_asked(case: Case) -> Mapping[str, Asked]:
    """Which job comes first, second and third."""
    return {
        place: Asked(title=say(f"class.order.{place}"), by=say("class.order.by"), outcomes=shown("job", JOBS))
        for place in PLACES_IN_ORDER
    }
