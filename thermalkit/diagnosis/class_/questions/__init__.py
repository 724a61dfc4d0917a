"""What is asked about cases of one kind: one folder here for each, found by its name.

A site is of the kind whose own section it holds; without any it is one of damp. Ids are what the record
holds and what a rubric and a key speak of. Their words stand in a `locale` as `class.KIND.STEP.ID`, or as
`class.STEP.ID` where kinds share them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Any

from thermalkit.language import Sentence, Value, Words, catalogue, say

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.diagnosis.finding import Quantity
    from thermalkit.diagnosis.surface import View
    from thermalkit.measured import FloatArray
    from thermalkit.site import Site

DEFAULT = "damp"
Note = tuple[Sentence, Words]


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedNumber:
    """A number that a learner works out: its unit, how it is shown, and where it can lie at all."""

    unit: str
    digits: int
    low: float
    high: float
    off_unit: str = ""
    """Unit of a difference of two such numbers; left out where it is the same."""

    @property
    def units(self) -> tuple[str, ...]:
        """What may stand behind the number: the unit as people write it first, then other ways."""
        return ("°C", "degC", "C") if self.unit == "degC" else (self.unit,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A number that stands beside each temperature of a picture, such as the humidity of the air there.

    `table(site, frame)` gives it by surface temperature in °C, as read and without intervals; nothing where
    it was not read. `draws` gives the same with its uncertainty, by the formula of `source`.
    """

    unit: str
    digits: int
    source: str
    table: Callable[[Site, str], list[list[float]]]
    draws: Callable[[Case, View, FloatArray], Iterator[Quantity]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Questions:
    """All that a kind asks otherwise than another.

    `options` are ids by step; `bands_k` what may be foretold, as from and to in K; `notes` what was written
    down that only this kind reads. `shown_by` is the section of a site file that such a site holds.
    """

    shown_by: type[Any] | None
    options: Mapping[str, tuple[str, ...]]
    bands_k: Mapping[str, tuple[float, float]]
    numbers: Mapping[str, AskedNumber]
    beside: Beside
    notes: Callable[[Site], Iterator[Note]]

    def ids(self, step: str) -> tuple[str, ...]:
        """Options of a step of this kind; KeyError where all kinds share them."""
        return tuple(self.bands_k) if step == "predict" else self.options[step]


@cache
def kinds() -> tuple[str, ...]:
    """Kinds of cases there are questions about."""
    return tuple(sorted(module.name for module in iter_modules(__path__) if module.ispkg))


@cache
def questions(kind: str) -> Questions:
    """The questions of a kind."""
    found: Questions = import_module(f"{__name__}.{kind}").QUESTIONS
    return found


def kind_of(site: Site) -> str:
    """The kind of a site that is given to a learner."""
    for kind in kinds():
        section = questions(kind).shown_by
        if section is not None and site.sections(section):
            return kind
    return DEFAULT


def in_own_words(start: str, kind: str, rest: str, /, **values: Value) -> Sentence:
    """The sentence `START.KIND.REST`, or `START.REST` where the kind has no words of its own.

    Examples
    --------
    >>> in_own_words("class", "damp", "trust.yes").id
    'class.trust.yes'
    """
    own = f"{start}.{kind}.{rest}"
    return say(own if own in catalogue("en") else f"{start}.{rest}", **values)
