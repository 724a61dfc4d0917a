"""What a learner may answer, by ids; their words stand in `locale`.

`OPEN` is no answer yet: nothing is proposed to a learner. What only one kind of case offers stands in
`questions`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from thermalkit.diagnosis.class_.questions import AskedNumber, in_own_words, kind_of, questions
from thermalkit.diagnosis.decisions import Asked, Case
from thermalkit.diagnosis.surface import NOT_CHOSEN
from thermalkit.language import Sentence, say

OPEN = NOT_CHOSEN
TRUST = ("yes", "limited", "no")
EMISSIVITIES = ("1.00", "0.93", "0.80", "0.20")
VERDICTS = ("indicated", "not-indicated", "inconclusive")
PLACES_IN_ORDER = ("first", "second", "third")
_SHARED = {"trust": TRUST, "emissivity": EMISSIVITIES, "verdict": VERDICTS}

Options = Callable[[Case], Mapping[str, Sentence]]


def ids(kind: str, step: str) -> tuple[str, ...]:
    """Options of a step."""
    return _SHARED[step] if step in _SHARED else questions(kind).ids(step)


def words(kind: str, step: str, id: str) -> Sentence:
    """An option in words."""
    return say("class.open") if id == OPEN else in_own_words("class", kind, f"{step}.{id}")


def title(step: str) -> Callable[[Case], Sentence]:
    """What a step asks, in the words of the case's kind."""
    return lambda case: in_own_words("class", kind_of(case.site), f"step.{step}")


def one(step: str) -> Options:
    """Options of which one is chosen, or none yet."""
    return lambda case: {OPEN: say("class.open"), **some(step)(case)}


def some(step: str) -> Options:
    """Options of which any number is chosen."""

    def shown(case: Case) -> dict[str, Sentence]:
        kind = kind_of(case.site)
        return {id: words(kind, step, id) for id in ids(kind, step)}

    return shown


def hint_text(case: Case, id: str) -> Sentence:
    """What a hint says once it is taken."""
    return words(kind_of(case.site), "hint-text", id)


def numbers_asked(case: Case) -> Mapping[str, AskedNumber]:
    """Numbers to be worked out."""
    return questions(kind_of(case.site)).numbers


def order_asked(case: Case) -> Mapping[str, Asked]:
    """Which job comes first, second and third."""
    return {
        place: Asked(title=say(f"class.order.{place}"), by=say("class.order.by"), outcomes=some("job")(case))
        for place in PLACES_IN_ORDER
    }
