"""What changed since an earlier visit, each change with the interval that two visits allow.

An investigation offers `compared(case) -> Iterator[Compared]`: what of it compares between visits, place by
place, as draws. Both visits are walked, each with its own decisions; what they share (`visits.shared_inputs`)
has the same draws and cancels in the difference. Investigations that share more say so with
`shared(new, old) -> Iterator[str]`, names of inputs or their first words, for the two cases.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.run import investigation
from thermalkit.diagnosis.visits import is_weather_alike
from thermalkit.glossary import TERMS, Term
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray, Measured, measured

if TYPE_CHECKING:
    from thermalkit.diagnosis.earlier import Earlier

HigherIs = Literal["better", "worse"]
Outcome = Literal["better", "worse", "higher", "lower", "none", "new", "gone"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """A quantity of one place that two visits can be compared by.

    `draws` has shape (draws,) and comes from the draws of the case. What depends on the weather of the
    day, such as degrees, is compared only where the weather was alike (`needs_alike_weather`); better are
    factors and values at fixed conditions. The first quantity of a place stands for it. What another line of
    the same visit speaks for (`is_spoken_for`) was looked at, and is not told by itself.
    """

    place: str
    term: str
    draws: FloatArray
    room: str | None = None
    frame: str | None = None
    mark: str | None = None
    higher_is: HigherIs | None = None
    needs_alike_weather: bool = False
    is_spoken_for: bool = False
    rests_on: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[str, ...]:
        """What makes it the same quantity on another visit."""
        at = (self.frame, self.mark or "") if self.frame else (self.room or self.place, "")
        return (*at, self.term)


@dataclass(frozen=True, slots=True)
class ChangeTerm(Term):
    """The change of a quantity of the glossary."""

    @property
    def name(self) -> Sentence:
        """Change of what."""
        return say("change.of", term=say(f"term.{self.id.removeprefix('change-of-')}"))

    @property
    def definition(self) -> Sentence:
        """What it means."""
        return say("change.of.definition")


def change_term(term: Term) -> ChangeTerm:
    """The term for a difference between two visits.

    Examples
    --------
    >>> change_term(TERMS["surface-temperature"]).unit
    'K'
    """
    unit = "K" if term.unit == "degC" else term.unit
    return ChangeTerm(f"change-of-{term.id}", f"Δ{term.symbol}", unit, term.kept, term.shown)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A quantity of one place on both visits.

    `before` is None at a new place, `after` at one no longer looked at; `change` where either is missing.
    `outcome` "none" means that no change can be claimed. `confirmed` tells whether persons decided, on
    both visits, all that it rests on. `mapped_px` is how surely a place that was marked on this visit only
    was found on the earlier picture, None where both marked it; by edges alone (`mapped_by`) it is confirmed
    by nobody.
    """

    place: str
    term: Term
    outcome: Outcome
    room: str | None = None
    frame: str | None = None
    mark: str | None = None
    before: Quantity | None = None
    after: Quantity | None = None
    change: Quantity | None = None
    alike_weather: bool = False
    confirmed: bool = True
    mapped_px: float | None = None
    mapped_by: Literal["points", "edges"] | None = None
    rests_on: tuple[str, ...] = ()


def changes(kind: str, case: Case, earlier: Earlier) -> tuple[Change, ...]:
    """Every quantity that compares, place by place: those of this visit, then those no longer looked at.

    Parameters
    ----------
    kind : str
        The investigation.
    case : Case
        The later visit, walked.
    earlier : Earlier
        From `earlier_visit`.
    """
    module = investigation(kind)
    if not hasattr(module, "compared"):
        return ()
    now = {item.key: item for item in module.compared(case)}
    then = {item.key: item for item in module.compared(earlier.case)}
    spoken_for = {key[:-1] for key, item in now.items() if item.is_spoken_for}
    return (
        *(
            _change(case, earlier, item, then.get(key))
            for key, item in now.items()
            if _fits(case, item) and not item.is_spoken_for
        ),
        *(
            _gone(earlier, item)
            for key, item in then.items()
            if key not in now and key[:-1] not in spoken_for and _fits(case, item)
        ),
    )


def _fits(case: Case, item: Compared) -> bool:
    """Whether a quantity may be compared in the weather of both visits."""
    old = case.site.earlier
    return not item.needs_alike_weather or (old is not None and is_weather_alike(case.site, old, item.room))


def _change(case: Case, earlier: Earlier, now: Compared, then: Compared | None) -> Change:
    after = quantity(now.term, measured(now.draws, TERMS[now.term].unit))
    new = Change(
        place=now.place,
        term=after.term,
        outcome="new",
        room=now.room,
        frame=now.frame,
        mark=now.mark,
        after=after,
        alike_weather=now.needs_alike_weather,
        confirmed=_is_confirmed(case, now),
        rests_on=now.rests_on,
    )
    if then is None:
        return new
    over, unsure_px = earlier.mapped.get((now.frame or "", now.mark or ""), (None, None))
    difference = _rounded(change_term(after.term), measured(now.draws - then.draws, ""))
    return replace(
        new,
        mapped_px=unsure_px,
        mapped_by=None if over is None else over.by,
        before=quantity(then.term, measured(then.draws, TERMS[then.term].unit)),
        change=difference,
        outcome=_outcome(difference.measured, now.higher_is),
        confirmed=new.confirmed
        and _is_confirmed(earlier.case, then)
        and (over is None or over.by == "points"),
    )


def _gone(earlier: Earlier, then: Compared) -> Change:
    before = quantity(then.term, measured(then.draws, TERMS[then.term].unit))
    return Change(
        place=then.place,
        term=before.term,
        outcome="gone",
        room=then.room,
        frame=then.frame,
        mark=then.mark,
        before=before,
        alike_weather=then.needs_alike_weather,
        confirmed=_is_confirmed(earlier.case, then),
        rests_on=then.rests_on,
    )


def _is_confirmed(case: Case, item: Compared) -> bool:
    return all(case.confirmed.get(name, True) for name in item.rests_on)


def _rounded(term: Term, found: Measured) -> Quantity:
    value, low, high = (round(v, term.kept) + 0.0 for v in (found.value, found.low, found.high))
    return Quantity(term=term, measured=Measured(value=value, low=low, high=high, unit=term.unit))


def _outcome(change: Measured, higher_is: HigherIs | None) -> Outcome:
    """No change is claimed where the interval holds zero."""
    if change.low <= 0.0 <= change.high:
        return "none"
    is_up = bool(np.sign(change.value) > 0)
    if higher_is is None:
        return "higher" if is_up else "lower"
    return higher_is if is_up else ("worse" if higher_is == "better" else "better")
