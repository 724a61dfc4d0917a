"""Decisions as a reader follows them: what was answered, when, by whom, and what became of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from thermalkit.annex.prose import remark_html
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.decisions import Answers, Case, PairsOn, Step, Words
from thermalkit.diagnosis.finding import Findings
from thermalkit.diagnosis.labels import mark_name
from thermalkit.diagnosis.run import case_of, investigation, kinds
from thermalkit.record.store import Record
from thermalkit.site import Site

LONGEST = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One entry of the record, in words."""

    title: str
    value: str
    proposal: str
    reason: str
    by: str
    when: str
    state: str


def decisions(record: Record, findings: Findings, site: Site, words: Wording) -> tuple[Decision, ...]:
    """Every entry of the record in its order, changes of mind included."""
    steps = {step.name: step for step in _steps(findings.kind)}
    case = case_of(findings, site)
    opened = {step.step for step in findings.open_steps}
    shown = []
    for entry in record.entries:
        step = steps.get(entry.step)
        last = record.last(entry.step) is entry
        state = "replaced" if not last else "stale" if entry.step in opened or step is None else "counts"
        value, proposed = (in_words(v, step, case, words) for v in (entry.value, entry.proposed))
        kept = entry.value == entry.proposed
        shown.append(
            Decision(
                title=words.either(f"{findings.kind}.step.{entry.step}", entry.step),
                value=value,
                proposal=words.say("annex.kept") if kept else words.say("annex.changed", proposed=proposed),
                reason=entry.reason,
                by=words.say("annex.left-out") if site.keys.report.private else entry.by,
                when=words.moment(entry.at),
                state=words.say(f"annex.{state}"),
            )
        )
    return tuple(shown)


def _steps(kind: str) -> tuple[Step, ...]:
    return tuple(investigation(kind).STEPS) if kind in kinds() else ()


def in_words(value: Any, step: Step | None, case: Case, words: Wording) -> str:
    """A decision as the surveyor saw it on screen, as far as that can be told."""
    if value is None or value in ("", [], {}):
        return words.say("annex.nothing")
    if isinstance(value, list):
        text = "; ".join(in_words(item, step, case, words) for item in value)
    elif isinstance(value, dict) and step is not None and isinstance(step.control, Answers):
        return _answers_in_words(value, step.control, case, words)
    elif isinstance(value, dict) and step is not None and isinstance(step.control, PairsOn):
        counts = {frame: len(pairs) for frame, pairs in value.items() if isinstance(pairs, list)}
        told = (words.say("annex.pairs-on", frame=frame, count=count) for frame, count in counts.items())
        text = "; ".join(told)
    elif isinstance(value, dict):
        text = _mark_in_words(value, words)
    elif step is not None and isinstance(step.control, Words):
        text = Markup(remark_html(str(value))).striptags()
    else:
        text = _option(value, step, case, words)
    return text if len(text) <= LONGEST else text[:LONGEST] + " …"


def _mark_in_words(value: dict[str, Any], words: Wording) -> str:
    try:
        rows, columns = zip(*value["points"], strict=True)
        return words.say(
            "annex.mark-on",
            mark=mark_name(str(value["id"]), words.language),
            frame=str(value["frame"]),
            row=round(sum(rows) / len(rows)),
            column=round(sum(columns) / len(columns)),
        )
    except (KeyError, TypeError, ValueError):
        return ", ".join(f"{key}: {item}" for key, item in value.items())


def _answers_in_words(value: dict[str, Any], control: Answers, case: Case, words: Wording) -> str:
    """Every question that was looked at, with its outcome; one that is not asked any more as it stands.

    What was answered alike of several places is told once, with those places.
    """
    asked = control.options(case)
    told: dict[tuple[str, str], list[str]] = {}
    for id, outcome in value.items():
        question = asked.get(id)
        outcomes = question.outcomes if question is not None else {}
        title = id if question is None else words.text(question.title)
        about = told.setdefault(
            (title, words.text(outcomes[outcome]) if outcome in outcomes else outcome), []
        )
        if question is not None and question.about:
            about.append(question.about)
    return "; ".join(
        f"{title}: {outcome} ({shared_names(about)})" if about else f"{title}: {outcome}"
        for (title, outcome), about in told.items()
    )


def shared_names(names: Iterable[str]) -> str:
    """Names in a list, those of one owner under its name once.

    Examples
    --------
    >>> shared_names(["Board 1 / F1", "Board 1 / F2", "Hall", "Board 2 / F1"])
    'Board 1 / F1, F2; Hall; Board 2 / F1'
    """
    owners: dict[str, list[str]] = {}
    for name in names:
        owner, _, own = name.rpartition(" / ")
        owners.setdefault(owner or name, []).append(own if owner else "")
    return "; ".join(
        f"{owner} / {', '.join(found)}" if (found := [own for own in owns if own]) else owner
        for owner, owns in owners.items()
    )


def _option(value: Any, step: Step | None, case: Case, words: Wording) -> str:
    options = getattr(step.control, "options", None) if step is not None else None
    try:
        return words.text(options(case)[value]) if options is not None else str(value)
    except (KeyError, TypeError):
        return str(value)
