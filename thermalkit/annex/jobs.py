"""What to do next, by whom, and for which places."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from thermalkit.annex.place import MORE_LIKELY_THAN_NOT, Place, is_cure
from thermalkit.annex.wording import VERDICTS, Wording
from thermalkit.diagnosis.finding import Finding, NextStep, Verdict

MOST_WITHOUT_HURRY = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Something to do, by whom, and the places that ask for it."""

    job: str
    by: str
    places: tuple[Place, ...]
    verdict: Verdict | None = None
    at_once: bool = False


def weight(finding: Finding, step: NextStep) -> Verdict | None:
    """A finding without a limit asks as strongly as one that breaks it, where it is more likely than not.

    What would only tell causes apart does not.
    """
    likely = finding.probability is not None and finding.probability >= MORE_LIKELY_THAN_NOT
    asks = finding.verdict is None and likely and not step.tells_apart
    return "indicated" if asks else finding.verdict


def _order(place: Place, finding: Finding, step: NextStep) -> int:
    """The cure of the likeliest cause, then what else follows, then what only tells causes apart."""
    if step.tells_apart and place.is_answered:
        return 2
    return 0 if is_cure(finding) else 1


def jobs(found: Iterable[Place], words: Wording) -> tuple[Job, ...]:
    """Every next step once, the most urgent first; of jobs alike what the likeliest cause calls for."""
    asking: dict[tuple[str, str], list[Place]] = {}
    urgent: dict[tuple[str, str], Verdict | None] = {}
    order: dict[tuple[str, str], int] = {}
    at_once: set[tuple[str, str]] = set()
    for place in found:
        for finding in place.findings:
            for step in finding.next_steps:
                key = (words.text(step.step), words.text(step.by))
                who = asking.setdefault(key, [])
                if place not in who:
                    who.append(place)
                urgent[key] = min(urgent.get(key), weight(finding, step), key=VERDICTS.index)
                order[key] = min(order.get(key, 2), _order(place, finding, step))
                if step.at_once:
                    at_once.add(key)
    ordered = sorted(asking, key=lambda key: (key not in at_once, VERDICTS.index(urgent[key]), order[key]))
    return tuple(
        Job(job=key[0], by=key[1], places=tuple(asking[key]), verdict=urgent[key], at_once=key in at_once)
        for key in ordered
    )


def urgent(todo: tuple[Job, ...]) -> tuple[Job, ...]:
    """Jobs for page one: those that a verdict asks for, or the first few where none does."""
    asked = tuple(job for job in todo if job.at_once or job.verdict in ("indicated", "inconclusive"))
    return asked or todo[:MOST_WITHOUT_HURRY]
