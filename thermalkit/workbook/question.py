"""One question as a screen asks it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from thermalkit.diagnosis.decisions import Case, Step
from thermalkit.language import render
from thermalkit.record.store import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A step with what is proposed and what was decided so far.

    `state` is "decided", "missing" or "stale"; `entry` is the last decision that can still be shown.
    """

    step: Step
    case: Case
    propose: Callable[[], Any]
    entry: Entry | None
    state: str
    language: str

    @property
    def title(self) -> str:
        """What is asked."""
        return render(self.step.title_for(self.case), self.language)

    @property
    def proposal(self) -> Any:
        """What is proposed, worked out when it is looked at."""
        return self.propose()

    @property
    def filled_in(self) -> Any:
        """What the control starts from: the last decision, else the proposal."""
        return self.proposal if self.entry is None else self.entry.value

    def asks_the_same(self, other: Question | None) -> bool:
        """Whether a control that is being edited may stay as it is."""
        return other is not None and self._facts() == other._facts()

    def _facts(self) -> tuple[Any, ...]:
        inputs = self.case.inputs(self.step)  # from which the proposal follows
        return (self.step.name, None if self.entry is None else self.entry.value, self.state, inputs)
