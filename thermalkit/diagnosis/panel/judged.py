"""A circuit out of the ordinary: against its like, its insulation and, where it has no like, the air."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, Limit, Quantity, Verdict, quantity
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.panel.advice import cautions, repairs
from thermalkit.diagnosis.panel.examined import Examined, carried_degc, fullest_load_a
from thermalkit.diagnosis.panel.limits import band, bounds, limit_of, rise_limit, type_test_degc
from thermalkit.diagnosis.panel.ways import load_share
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import measured

FULL_PERCENT = 100.0
RESTS_ON = ("permit", "frames", "terminals", "conductors", "devices", "bright")


def judged(case: Case, item: Examined) -> Iterator[Finding]:
    """Findings with a limit: the difference to its like first, the insulation second."""
    yield from _load(case, item)
    yield from _like(case, item)
    yield from _insulation(case, item)
    yield from _at_load(case, item)
    yield from _over_air(case, item)


def finding(
    item: Examined,
    code: str,
    statement: Sentence,
    quantities: tuple[Quantity, ...] = (),
    limit: Limit | None = None,
    judged: Verdict | None = None,
    **more: object,
) -> Finding:
    """A finding of a circuit, shown at the first of its marks."""
    mark = item.way.first
    given: dict[str, object] = {"rests_on": RESTS_ON, "sources": (say("source.radiation"),), **more}
    return Finding(
        code=code,
        place=item.way.label,
        frame=mark.frame if mark else None,
        mark=mark.id if mark else None,
        statement=statement,
        verdict=judged,
        quantities=quantities,
        limit=limit,
        evidence=(Evidence(kind="picture", reference=mark.frame, mark=mark.id),) if mark else (),
        **given,  # type: ignore[arg-type]
    )


def _like(case: Case, item: Examined) -> Iterator[Finding]:
    difference, largest = item.difference, item.excess.largest
    if difference is None or largest is None:
        return
    limit = rise_limit("like-difference", "like")
    found = verdict(difference, limit)
    urgency = band(difference.measured.value, "like")
    yield finding(
        item,
        "panel.like",
        say(
            f"panel.like.{found.replace(' ', '-')}",
            place=item.way.label,
            part=say(f"panel.part.{largest[0]}"),
            value=difference.shown(),
            urgency=say(f"panel.band.{urgency}"),
        ),
        (difference, *temperatures(item)),
        limit,
        found,
        reasons=tuple(_about_like(item)),
        cautions=cautions(case, item),
        next_steps=repairs(item) if found == "indicated" else (),
        sources=(say("panel.source.like"), say("source.radiation")),
    )


def _load(case: Case, item: Examined) -> Iterator[Finding]:
    """More current than the device is rated for, as far as the meter tells."""
    current, rated = item.reading.current_a, item.way.circuit.rated_current_a
    if current is None or rated is None or item.answers.get("load") != "above-rated":
        return
    first = quantity("load-share", measured(100.0 * current / rated, "%"))
    limit = Limit(term=first.term, sense="at_most", value=FULL_PERCENT, source=say("panel.limit.rating"))
    yield finding(
        item,
        "panel.load",
        say("panel.load.indicated", place=item.way.label, value=first.shown(), rated=Number(rated, "A", 0)),
        (first,),
        limit,
        verdict(first, limit),
        cautions=cautions(case, item),
        next_steps=repairs(item),
        sources=(say("panel.limit.rating"),),
    )


def _about_like(item: Examined) -> Iterator[Sentence]:
    yield say("panel.like.compared-with", names=", ".join(item.excess.likes))
    if item.reading.current_a is None:
        yield say("panel.like.load-unknown")


def temperatures(item: Examined) -> Iterator[Quantity]:
    """What was read of a circuit."""
    seen = item.reading
    if seen.terminal_degc is not None:
        yield quantity("terminal-temperature", measured(seen.terminal_degc, "degC"))
    if seen.device_degc is not None:
        yield quantity("device-temperature", measured(seen.device_degc, "degC"))
    if item.rise_k is not None:
        yield quantity("rise-over-air", measured(item.rise_k, "K"))
    share = load_share(item.way)
    if seen.current_a is not None and share is not None and item.way.circuit.rated_current_a:
        yield quantity("load-share", measured(100.0 * seen.current_a / item.way.circuit.rated_current_a, "%"))


def _insulation(case: Case, item: Examined) -> Iterator[Finding]:
    """The conductor against its insulation, during the frame."""
    hottest, bound = item.reading.hottest_degc, item.bound
    if hottest is None or bound is None:
        return
    first = quantity("conductor-temperature", measured(hottest, "degC"))
    limit = limit_of("conductor-temperature", bound)
    found = verdict(first, limit)
    yield finding(
        item,
        "panel.insulation",
        say(
            f"panel.insulation.{found.replace(' ', '-')}",
            place=item.way.label,
            value=first.shown(),
            limit=Number(bound.value, "degC", 0),
            insulation=_insulation_name(item),
        ),
        (first,),
        limit,
        found,
        reasons=(_type_test(item, bound.value),),
        cautions=cautions(case, item),
        next_steps=repairs(item) if found == "indicated" else (),
    )


def _insulation_name(item: Examined) -> Sentence:
    return say(f"panel.insulation-of.{item.way.circuit.insulation.lower().replace(' ', '-')}")


def _type_test(item: Examined, insulation_degc: float) -> Sentence:
    """The trap: what a terminal may reach in its type test, the conductor on it may not."""
    allowed, row = type_test_degc(item.way.circuit.plating)
    return say(
        "panel.type-test",
        rise=Number(row.value, "K", 0),
        ambient=Number(bounds()["ambient", "reference"].value, "degC", 0),
        allowed=Number(allowed, "degC", 0),
        source=row.cited,
        insulation=Number(insulation_degc, "degC", 0),
        strictest=say(
            "panel.strictest.insulation" if insulation_degc < allowed else "panel.strictest.terminal"
        ),
    )


def _at_load(case: Case, item: Examined) -> Iterator[Finding]:
    """The same carried to the expected peak, else to the rating; refused beyond 2.5 times the load."""
    to_a, bound, read = fullest_load_a(item.way), item.bound, item.way.circuit.measured_current_a
    if to_a is None or bound is None or item.rise_k is None or not read or to_a <= read:
        return
    carried = carried_degc(case, item, to_a)
    load = Number(to_a, "A", 0)
    if carried is None:
        statement = say(
            "panel.at-load.refused", place=item.way.label, load=load, measured=Number(read, "A", 1)
        )
        yield finding(item, "panel.at-load", statement, cautions=cautions(case, item))
        return
    first = quantity("conductor-temperature-at-load", measured(carried, "degC"))
    limit = limit_of("conductor-temperature-at-load", bound)
    found = verdict(first, limit)
    yield finding(
        item,
        "panel.at-load",
        say(
            f"panel.at-load.{found.replace(' ', '-')}",
            place=item.way.label,
            load=load,
            value=first.shown(),
            limit=Number(bound.value, "degC", 0),
        ),
        (first,),
        limit,
        found,
        cautions=cautions(case, item),
        sources=(say("panel.source.load"),),
        next_steps=repairs(item) if found == "indicated" else (),
    )


def _over_air(case: Case, item: Examined) -> Iterator[Finding]:
    """Rise over the air, only where nothing alike carries alike."""
    if item.excess.largest is not None or item.rise_k is None:
        return
    first = quantity("rise-over-air", measured(item.rise_k, "K"))
    limit = rise_limit("rise-over-air", "air")
    found = verdict(first, limit)
    urgency = band(first.measured.value, "air")
    yield finding(
        item,
        "panel.over-air",
        say(
            f"panel.over-air.{found.replace(' ', '-')}",
            place=item.way.label,
            value=first.shown(),
            urgency=say(f"panel.band.{urgency}"),
        ),
        (first, *(q for q in temperatures(item) if q.term.id != "rise-over-air")),
        limit,
        found,
        reasons=(say("panel.over-air.healthy-gear"),),
        cautions=cautions(case, item),
        next_steps=repairs(item) if found == "indicated" else (),
        sources=(say("panel.source.air"), say("source.radiation")),
    )
