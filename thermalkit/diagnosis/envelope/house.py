"""The whole house: which place does most harm, which loses most, a line for each room, what was left out.

All of it stands under the name of the site, so that a reader meets it in one place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.air_leaks import repeated_views
from thermalkit.diagnosis.envelope.cooling import leaked_air_held, room_air_held
from thermalkit.diagnosis.envelope.examined import Examined, limits_of
from thermalkit.diagnosis.finding import (
    Axis,
    Chart,
    Evidence,
    Finding,
    Limit,
    Quantity,
    Series,
    Verdict,
    quantity,
)
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.labels import house_label, room_label
from thermalkit.language import Sentence, Words, say
from thermalkit.measured import FloatArray, measured

if TYPE_CHECKING:
    from thermalkit.site.model import RoomKeys

SURE = 0.95  # of two places, how often one has to be the larger for an order to be claimed
MOST_NAMED = 8

Draws = Callable[[Examined], FloatArray | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rank:
    """A place in an order; it shares `rank` with those from which it cannot be told apart."""

    rank: int
    item: Examined
    draws: FloatArray


def ranked(items: Sequence[Examined], draws: Draws) -> tuple[Rank, ...]:
    """Places in falling order; a new rank begins where the order to the first of the last is sure."""
    known = [(item, found) for item in items if (found := draws(item)) is not None]
    known.sort(key=lambda pair: -float(np.median(pair[1])))
    ranks: list[Rank] = []
    for number, (item, found) in enumerate(known, start=1):
        first = next((r for r in ranks if r.rank == ranks[-1].rank), None)
        same = first is not None and not is_larger(first.draws, found)
        ranks.append(Rank(rank=ranks[-1].rank if same else number, item=item, draws=found))
    return tuple(ranks)


def is_larger(one: FloatArray, other: FloatArray) -> bool:
    """Whether one result is surely larger than another; what they share cancels."""
    return float(np.mean(one > other)) >= SURE


def harm(item: Examined) -> FloatArray | None:
    """What a place is ranked by for harm: how cold it is; cooled, how damp the room's air gets on it."""
    if item.is_cooled:
        return item.place.humidity_percent
    return None if item.place.factor is None else 1.0 - item.place.factor


def loss_of(item: Examined) -> FloatArray | None:
    """What a place is ranked by for what it costs."""
    return item.loss.extra_w_k


def house_findings(case: Case, items: Sequence[Examined]) -> Iterator[Finding]:
    """Both orders where there is more than one place, then room by room."""
    suspects = [item for item in items if item.is_suspect]
    for cooled in (False, True):
        yield from _order(case, [item for item in suspects if item.is_cooled is cooled])
    for room in case.site.keys.rooms:
        yield from _room(case, room, suspects)
    yield from _frames_without_places(case)
    yield from _not_looked_at(case)


def _order(case: Case, items: Sequence[Examined]) -> Iterator[Finding]:
    """Places by harm and by heat, as far as either is known."""
    orders = {name: ranked(items, draws) for name, draws in (("harm", harm), ("loss", loss_of))}
    said = {
        name: say(f"envelope.house.by-{name}", order=_in_words(order))
        for name, order in orders.items()
        if len(order) > 1
    }
    if not said:
        return
    nothing = say("envelope.house.nothing")
    has_ties = any(len({item.rank for item in order}) < len(order) for order in orders.values())
    yield Finding(
        code="envelope.house.order",
        place=house_label(case),
        statement=say(
            "envelope.house.order",
            harm=said.get("harm", nothing),
            loss=said.get("loss", nothing),
            alike=say("envelope.house.alike") if has_ties else nothing,
        ),
        sources=(say("envelope.source.order"),),
        rests_on=("frames", "limit", "suspect", "sound", "junction"),
    )


def _in_words(order: Sequence[Rank]) -> Words:
    """Places by rank, the first few; those of one rank are named together."""
    groups: dict[int, list[str]] = {}
    for item in order[:MOST_NAMED]:
        groups.setdefault(item.rank, []).append(item.item.label)
    named: list[Words] = [_together(labels) for labels in groups.values()]
    if len(order) > MOST_NAMED:
        named.append(say("envelope.house.others"))
    return reduce(lambda first, other: say("envelope.house.then", first=first, next=other), named)


def _together(labels: Sequence[str]) -> Words:
    """Places of one rank."""
    *others, last = labels
    if not others:
        return last
    return say("envelope.house.and", one=", ".join(others), more=last)


def _room(case: Case, room: RoomKeys, suspects: Sequence[Examined]) -> Iterator[Finding]:
    """How many places, how they were judged, what they lose together; nothing found is said too."""
    frames = [
        name for name in case.decided["frames"] if (r := case.site.frames[name].room) and r.id == room.id
    ]
    here = [item for item in suspects if item.mark.frame in frames]
    evidence = tuple(Evidence(kind="picture", reference=name) for name in frames)
    if not here:
        state = "nothing-found" if frames else "no-frames"
        statement = say(f"envelope.room.{state}", place=room.label)
        yield Finding(
            code=f"envelope.room.{state}",
            place=house_label(case),
            statement=statement,
            evidence=evidence,
            rests_on=("frames", "suspect"),
        )
        return
    flows = [flow for item in here if (flow := item.loss.extra_w_k) is not None]
    total = quantity("extra-heat-flow", measured(np.sum(flows, axis=0), "W/K")) if flows else None
    counts = _counted(case, here)
    yield Finding(
        code="envelope.room.summary",
        place=house_label(case),
        statement=say(
            "envelope.room.summary",
            place=room.label,
            places=len(here),
            indicated=counts["indicated"],
            inconclusive=counts["inconclusive"],
            clear=counts["not indicated"],
            flow=_total(total.shown() if total else None, len(flows), len(here)),
        ),
        evidence=evidence,
        rests_on=("frames", "limit", "suspect", "sound"),
    )


def _total(shown: object, given: int, places: int) -> Sentence:
    if shown is None:
        return say("envelope.room.no-flow")
    id = "envelope.room.flow" if given == places else "envelope.room.flow-of-some"
    return say(id, value=shown, given=given)  # type: ignore[arg-type]


def _counted(case: Case, items: Sequence[Examined]) -> dict[Verdict, int]:
    """How many places break a limit, keep all of them, or are open."""
    counts: dict[Verdict, int] = {"indicated": 0, "inconclusive": 0, "not indicated": 0}
    for item in items:
        found = [verdict(*held) for held in _held(case, item)]
        worst: Verdict = next((v for v in counts if v in found), "inconclusive")
        counts[worst] += 1
    return counts


def _held(case: Case, item: Examined) -> Iterator[tuple[Quantity, Limit]]:
    """What a place is held against for the count of its room."""
    if item.is_cooled:
        held = (room_air_held(case, item), leaked_air_held(case, item))
        yield from (pair for pair in held if pair is not None)
    elif item.place.factor is not None:
        yield quantity("temperature-factor", measured(item.place.factor, "")), limits_of(case).factor_limit


def _frames_without_places(case: Case) -> Iterator[Finding]:
    """Looked, nothing found, where the room's own finding does not say it already."""
    repeated = repeated_views(case)
    marked = {mark.frame for mark in case.decided["suspect"]}
    rooms = {room.id for name in marked if (room := case.site.frames[name].room)}
    for name in case.decided["frames"]:
        room = case.site.frames[name].room
        said = room is not None and room.id not in rooms
        if name not in marked and name not in repeated.values() and not said:
            yield Finding(
                code="envelope.nothing-found",
                place=room_label(case, name),
                frame=name,
                statement=say("envelope.nothing-found", frame=name),
                evidence=(Evidence(kind="picture", reference=name),),
                rests_on=("frames", "suspect"),
            )


def _not_looked_at(case: Case) -> Iterator[Finding]:
    """Parts of the house that nobody examined, so that silence is not taken for a clean result."""
    rooms = {room.id: room.label for room in case.site.keys.rooms}
    for entry in case.site.keys.looked_at:
        if entry.looked != "yes":
            where = rooms.get(entry.room or "", house_label(case))
            yield Finding(
                code="envelope.room.not-looked",
                place=house_label(case),
                statement=say(
                    "envelope.room.not-looked",
                    place=where,
                    element=entry.element,
                    why=entry.why or say("envelope.room.no-reason"),
                ),
            )


def house_charts(case: Case, items: Sequence[Examined]) -> Iterator[Chart]:
    """Extra heat flow of places, in falling order, and of rooms."""
    order = ranked([item for item in items if item.is_suspect], loss_of)
    if len(order) < 2:
        return
    yield _bars("envelope-places", "places", [item.item.label for item in order], [i.draws for i in order])
    rooms: dict[str, list[FloatArray]] = {}
    for item in order:
        rooms.setdefault(room_label(case, item.item.mark.frame), []).append(item.draws)
    if len(rooms) > 1:
        yield _bars("envelope-rooms", "rooms", list(rooms), [np.sum(d, axis=0) for d in rooms.values()])


def _bars(id: str, what: str, names: list[str], draws: Sequence[FloatArray]) -> Chart:
    shown = [quantity("extra-heat-flow", measured(item, "W/K")).measured for item in draws]
    return Chart(
        id=id,
        title=say(f"envelope.chart.{what}"),
        summary=say(f"envelope.chart.{what}.summary", most=names[int(np.argmax([m.value for m in shown]))]),
        x=Axis(title=say(f"envelope.chart.{what}.axis"), kind="category"),
        y=Axis(title=say("term.extra-heat-flow"), unit="W/K"),
        series=(
            Series(
                name=say("term.extra-heat-flow"),
                x=tuple(names),
                y=tuple(round(m.value, 3) for m in shown),
                low=tuple(round(m.low, 3) for m in shown),
                high=tuple(round(m.high, 3) for m in shown),
                style="bars",
            ),
        ),
    )
