"""The earlier visit of a site as this one sees it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from thermalkit.diagnosis.decisions import Case, MarksOn, Step
from thermalkit.diagnosis.overlay import Overlay, mapped_mark, overlay
from thermalkit.diagnosis.run import Answer, Answering, Proposing, accept, investigation, proposed, walk
from thermalkit.diagnosis.visits import alike_inputs, shared_inputs
from thermalkit.imaging.mark import Mark
from thermalkit.measured import Draws

if TYPE_CHECKING:
    from thermalkit.diagnosis.finding import Findings, OpenStep

_VISIT = "earlier"
_LIMIT = "limit"  # the step whose decision holds for both visits


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """The earlier visit as this one sees it: its case, what nobody decided then, and when it was.

    The case is held against the limit of this visit; `decisions` are those of then, `shared` what both
    visits have in common, `alike` what nearly so (see `visits`).
    `mapped` holds, by frame and mark, how the earlier picture was laid under this one for places marked on
    this visit only, and to within how many pixels they were found on it.
    """

    case: Case
    open_steps: tuple[OpenStep, ...]
    decisions: Mapping[str, Any]
    shared: tuple[str, ...]
    alike: tuple[str, ...]
    mapped: Mapping[tuple[str, str], tuple[Overlay, float]] = field(default_factory=dict)

    @property
    def surveyed_at(self) -> datetime:
        """When the visit was."""
        return self.case.site.keys.site.surveyed_at


def earlier_visit(
    kind: str,
    case: Case,
    answer: Answering = accept,
    propose: Callable[[Step, Case], Any] = proposed,
) -> Earlier | None:
    """The earlier visit of a case, walked with its own decisions; None where there is none.

    Marks that only this visit has are carried over to the earlier picture where that can be laid under
    this one.

    Parameters
    ----------
    kind : str
        The investigation.
    case : Case
        The later visit, walked.
    answer : callable
        Decisions of the earlier visit; its proposals otherwise, which nobody confirmed.
    propose : callable
        As `walk` takes it.
    """
    old = case.site.earlier
    if old is None:
        return None
    module = investigation(kind)
    earlier = Case(site=old, draws=Draws(case.draws.size, visit=_VISIT))
    opened = walk(kind, earlier, answer, propose)
    decisions = dict(earlier.values)
    if _LIMIT in case.values:
        for now, then in zip(_answers(case), _answers(earlier), strict=True):
            then[_LIMIT] = now[_LIMIT]
    shared = shared_inputs(case.site, old)
    if hasattr(module, "shared"):
        shared += tuple(module.shared(case, earlier))
    alike = alike_inputs(case.site, old)
    earlier.draws = Draws(case.draws.size, visit=_VISIT, shared=shared, alike=alike)
    return Earlier(
        case=earlier,
        open_steps=opened,
        decisions=decisions,
        shared=shared,
        alike=alike,
        mapped=dict(_carried_over(module.STEPS, case, earlier)),
    )


def earlier_of(findings: Findings, case: Case) -> Earlier | None:
    """The earlier visit as it stood when findings were reached, for whoever shows it."""
    decisions = findings.earlier_decisions or {}

    def as_reached(step: Step, case: Case) -> Any:
        return decisions[step.name] if step.name in decisions else step.propose(case)

    def taken(step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
        return Answer(value=propose(), state="decided")

    return earlier_visit(findings.kind, case, taken, as_reached)


def _answers(case: Case) -> tuple[dict[str, Any], ...]:
    return case.values, case.decided, case.confirmed


def _carried_over(
    steps: Iterable[Step], case: Case, earlier: Case
) -> Iterator[tuple[tuple[str, str], tuple[Overlay, float]]]:
    """Add to the earlier case the places it lacks; frame and name of each, and how surely it was placed."""
    of_the_day = {s.name for s in steps if isinstance(s.control, MarksOn) and s.control.of_the_day}
    known = {(mark.frame, mark.id) for marks in _marks(earlier).values() for mark in marks}
    overlays: dict[str, Overlay | None] = {}
    for step, marks in _marks(case).items():
        for mark in () if step in of_the_day else marks:
            if (mark.frame, mark.id) in known:
                continue
            if mark.frame not in overlays:
                overlays[mark.frame] = overlay(case.site, earlier.site, mark.frame)
            over = overlays[mark.frame]
            if over is None:
                continue
            rows, columns = earlier.site.frames[mark.frame].apparent_degc.shape
            found = mapped_mark(mark, over, (rows, columns))
            if found is not None and step in earlier.decided:
                earlier.decided[step] = (*earlier.decided[step], found[0])
                yield (mark.frame, mark.id), (over, found[1])


def _marks(case: Case) -> dict[str, tuple[Mark, ...]]:
    """Marks that were decided, by step."""
    return {
        step: value
        for step, value in case.decided.items()
        if isinstance(value, tuple) and all(isinstance(item, Mark) for item in value)
    }
