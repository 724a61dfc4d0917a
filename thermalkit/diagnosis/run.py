"""One loop for the command, the notebook, the class, the portfolio and the tests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from importlib import import_module
from keyword import iskeyword
from pkgutil import iter_modules
from types import ModuleType
from typing import TYPE_CHECKING, Any, Literal

from thermalkit.diagnosis.decisions import Case, NotADecision, Step
from thermalkit.diagnosis.finding import Finding, Findings, OpenStep

if TYPE_CHECKING:
    from thermalkit.site.survey import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a step is answered with; missing and stale answers carry the proposal."""

    value: Any
    state: Literal["decided", "missing", "stale"]


Proposing = Callable[[], Any]  # works out the proposal, which a decision that stands needs not
Answering = Callable[[Step, Proposing, dict[str, Any]], Answer]


def accept(step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
    """Take every proposal, as nobody's decision."""
    return Answer(value=propose(), state="missing")


def kinds() -> tuple[str, ...]:
    """The investigations there are: the folders beside this file."""
    import thermalkit.diagnosis as here

    return tuple(sorted(module.name.rstrip("_") for module in iter_modules(here.__path__) if module.ispkg))


def package_of(kind: str) -> str:
    """Name of the package of an investigation; one that is a word of the language ends in an underscore.

    Examples
    --------
    >>> package_of("class")
    'thermalkit.diagnosis.class_'
    """
    return f"thermalkit.diagnosis.{kind}{'_' if iskeyword(kind) else ''}"


def investigation(kind: str) -> ModuleType:
    """The module of an investigation.

    It has `STEPS`, `survey(case)`, `findings(case)`, `pictures(case)`; `charts(case)` where it has any,
    `compared(case)` where two visits can be compared.

    Raises
    ------
    KeyError
        There is no such investigation.
    """
    if kind not in kinds():
        raise KeyError(kind)
    return import_module(package_of(kind))


def run(kind: str, site: Site, answer: Answering, earlier: Answering = accept) -> Findings:
    """Findings of an investigation, every step answered by `answer`, changes since an earlier visit included.

    The run goes to the end: an open step takes what `answer` gave (the proposal), is named in
    `open_steps`, and what rests on it is not confirmed. A caller that must not go on looks there.
    `earlier` answers the steps of the earlier visit, if the site holds one.
    """
    from thermalkit.diagnosis.change import changes
    from thermalkit.diagnosis.change_findings import change_findings
    from thermalkit.diagnosis.earlier import earlier_visit

    module = investigation(kind)
    case = Case(site=site)
    open_steps = walk(kind, case, answer)
    found = tuple(_with_confirmation(case, module.STEPS, item) for item in module.findings(case))
    before = earlier_visit(kind, case, earlier)
    changed = () if before is None else changes(kind, case, before)
    if before is not None:
        told = change_findings(kind, changed, before)
        found += tuple(_confirmed_twice(case, module.STEPS, item) for item in told)
    return Findings(
        kind=kind,
        site_name=site.keys.site.name,
        site_reference=site.keys.site.reference or "",
        inputs=tuple(sorted(site.files.items())),
        survey=module.survey(case),
        findings=found,
        pictures=tuple(module.pictures(case)),
        charts=tuple(module.charts(case)) if hasattr(module, "charts") else (),
        assumptions=case.assumptions_used(),
        open_steps=open_steps,
        decisions=dict(case.values),
        changes=changed,
        earlier_decisions=None if before is None else dict(before.decisions),
    )


def case_of(findings: Findings, site: Site) -> Case:
    """The case as it stood when findings were reached, for whoever shows them."""
    case = Case(site=site)

    def as_reached(step: Step, case: Case) -> Any:
        return findings.decisions[step.name] if step.name in findings.decisions else step.propose(case)

    def taken(step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
        return Answer(value=propose(), state="decided")

    walk(findings.kind, case, taken, as_reached)
    return case


def proposed(step: Step, case: Case) -> Any:
    """The proposal of a step."""
    return step.propose(case)


def walk(
    kind: str, case: Case, answer: Answering, propose: Callable[[Step, Case], Any] = proposed
) -> tuple[OpenStep, ...]:
    """Answer every step of an investigation in its order; the steps left open.

    `propose` is for a screen that walks again and again and remembers proposals by their inputs.
    """
    steps = investigation(kind).STEPS
    return tuple(opened for step in steps if (opened := _answered(case, step, answer, propose)))


def _answered(
    case: Case, step: Step, answer: Answering, propose: Callable[[Step, Case], Any]
) -> OpenStep | None:
    """Answer one step; a decision that is no answer (any more) is stale."""
    if not step.applies(case):
        return None
    given = answer(step, partial(propose, step, case), case.inputs(step))
    state, value = given.state, given.value
    try:
        decided = step.control.checked(value, case)
    except NotADecision:
        state, value = "stale", propose(step, case)
        decided = step.control.checked(value, case)
    case.values[step.name], case.decided[step.name] = value, decided
    case.confirmed[step.name] = state == "decided"
    return None if state == "decided" else OpenStep(step=step.name, title=step.title_for(case), state=state)


def _confirmed_twice(case: Case, steps: tuple[Step, ...], finding: Finding) -> Finding:
    """Of a change, the earlier visit's steps count too; whether they were decided it knows already."""
    now = _with_confirmation(case, steps, finding)
    return replace(now, confirmed=now.confirmed and finding.confirmed)


def _with_confirmation(case: Case, steps: tuple[Step, ...], finding: Finding) -> Finding:
    """A finding is confirmed when every step below it was decided by a person."""
    by_name = {step.name: step for step in steps}
    below: set[str] = set()
    pending = list(finding.rests_on)
    while pending:
        name = pending.pop()
        if name in case.values and name not in below:
            below.add(name)
            pending.extend(by_name[name].uses)
    order = tuple(name for name in by_name if name in below)
    return replace(finding, rests_on=order, confirmed=all(case.confirmed[name] for name in order))
