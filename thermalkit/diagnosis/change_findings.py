"""What two visits show, in sentences for the client."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from thermalkit.diagnosis.finding import Evidence, Finding, NextStep
from thermalkit.language import Day, Interval, Sentence, say

if TYPE_CHECKING:
    from thermalkit.diagnosis.change import Change
    from thermalkit.diagnosis.earlier import Earlier


def change_findings(kind: str, found: Sequence[Change], earlier: Earlier) -> Iterator[Finding]:
    """A finding for each place that both visits measured, and for each that was not measured before.

    Parameters
    ----------
    kind : str
        The investigation; the code of the findings is `<kind>.change`.
    found : sequence of Change
    earlier : Earlier
    """
    places: dict[tuple[str, str | None, str | None], list[Change]] = {}
    for item in found:
        if item.outcome != "gone":
            places.setdefault((item.place, item.frame, item.mark), []).append(item)
    for items in places.values():
        both = [item for item in items if item.change is not None]
        yield _changed(kind, both, earlier) if both else _never_taken(kind, items[0], earlier)


def _changed(kind: str, items: Sequence[Change], earlier: Earlier) -> Finding:
    """The first quantity stands for the place, the others are told with it."""
    item = items[0]
    return Finding(
        code=f"{kind}.change",
        place=item.place,
        frame=item.frame,
        mark=item.mark,
        statement=changed(item, earlier),
        quantities=tuple(other.change for other in items if other.change is not None),
        reasons=tuple(_reasons(items)),
        evidence=tuple(_evidence(item)),
        sources=(say("source.change"),),
        cautions=(say("change.caution"),),
        rests_on=item.rests_on,
        confirmed=all(other.confirmed for other in items),
    )


def changed(item: Change, earlier: Earlier) -> Sentence:
    """By how much a quantity rose or fell, or that no change can be claimed.

    Raises
    ------
    ValueError
        It was not measured on both visits.
    """
    if item.change is None or item.before is None or item.after is None:
        raise ValueError(f"{item.place}: not measured on both visits")
    return say(
        f"change.{_course(item)}",
        place=item.place,
        term=item.term.name,
        change=_size(item.change.shown(), item.outcome),
        before=item.before.shown(),
        after=item.after.shown(),
        day=Day(earlier.surveyed_at.date()),
    )


def _course(item: Change) -> str:
    """Rose or fell, and whether that is good."""
    if item.outcome == "none" or item.change is None:
        return "none"
    course = "rose" if item.change.measured.value > 0 else "fell"
    return course if item.outcome in ("higher", "lower") else f"{course}.{item.outcome}"


def _size(change: Interval, outcome: str) -> Interval:
    """A fall without a minus sign that somebody may overlook."""
    if outcome == "none" or change.value >= 0:
        return change
    return replace(change, value=-change.value, low=-change.high, high=-change.low)


def _reasons(items: Sequence[Change]) -> Iterator[Sentence]:
    if any(item.alike_weather for item in items):
        yield say("change.alike")
    if items[0].mapped_px is not None:
        by = "change.mapped-by-edges" if items[0].mapped_by == "edges" else "change.mapped"
        yield say(by, pixels=max(1, round(items[0].mapped_px)))


def _evidence(item: Change) -> Iterator[Evidence]:
    """The pictures of both visits, else what was read on them."""
    for folder in ("", "earlier/"):
        if item.frame is None:
            yield Evidence(kind="reading", reference=f"{folder}site.toml")
        else:
            yield Evidence(kind="picture", reference=f"{folder}{item.frame}", mark=item.mark)


def _never_taken(kind: str, item: Change, earlier: Earlier) -> Finding:
    """What can still be said where nobody took a picture before."""
    steps = ("change.keep.frame", "change.keep.readings")
    return Finding(
        code=f"{kind}.change",
        place=item.place,
        frame=item.frame,
        mark=item.mark,
        statement=say("change.never-taken", place=item.place, day=Day(earlier.surveyed_at.date())),
        evidence=tuple(_evidence(item))[:1],
        next_steps=tuple(NextStep(step=say(id), by=say("by.surveyor")) for id in steps),
        rests_on=item.rests_on,
        confirmed=item.confirmed,
    )
