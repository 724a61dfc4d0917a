"""A round of cabinets: what stands out first, then what is in order, then what could not be seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, NextStep, Quantity, quantity
from thermalkit.diagnosis.labels import house_label, mark_name
from thermalkit.diagnosis.panel.advice import cautions
from thermalkit.diagnosis.panel.examined import Examined
from thermalkit.diagnosis.panel.judged import RESTS_ON
from thermalkit.diagnosis.panel.ways import Way, unnamed, ways
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import measured
from thermalkit.site.sections.cabinets import CabinetKeys

MOST_NAMES = 60


def in_order(case: Case, items: Sequence[Examined]) -> Iterator[Finding]:
    """One finding for the circuits of each cabinet that show nothing out of the ordinary.

    In a round of cabinets one line tells how many there are; what was read stands at each cabinet.
    """
    quiet_of = {
        cabinet.id: [
            item
            for item in items
            if item.way.cabinet.id == cabinet.id and item.is_read and not item.is_exception
        ]
        for cabinet in case.site.sections(CabinetKeys)
    }
    quiet_of = {id: quiet for id, quiet in quiet_of.items() if quiet}
    is_round = len(quiet_of) > 1
    if is_round:
        yield _round(case, list(quiet_of.values()))
    for quiet in quiet_of.values():
        yield _quiet(case, quiet[0].way.cabinet, quiet, is_context=is_round)


def _round(case: Case, quiet: list[list[Examined]]) -> Finding:
    place = house_label(case)
    circuits, cabinets = sum(map(len, quiet)), len(quiet)
    return Finding(
        code="panel.in-order",
        place=place,
        statement=say("panel.in-order.round", place=place, count=circuits, cabinets=cabinets),
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        rests_on=(*RESTS_ON, "causes"),
    )


def _quiet(case: Case, cabinet: CabinetKeys, quiet: list[Examined], *, is_context: bool) -> Finding:
    shown: dict[str, Number | Sentence | str] = {
        "place": cabinet.label,
        "count": Number(float(len(quiet)), "", 0),
        "names": names([item.way for item in quiet]),
    }
    warm = [item for item in quiet if item.reading.hottest_degc is not None]
    first = max(warm, key=lambda item: item.urgency, default=None)
    mark = quiet[0].way.first
    return Finding(
        code="panel.in-order",
        place=cabinet.label,
        frame=mark.frame if mark else None,
        statement=say("panel.in-order" if len(quiet) > 1 else "panel.in-order.one", **shown),
        quantities=() if first is None else tuple(_of_warmest(first)),
        reasons=() if first is None else (say("panel.in-order.furthest", name=first.way.circuit.label),),
        evidence=(Evidence(kind="picture", reference=mark.frame),) if mark else (),
        cautions=_all_cautions(case, quiet),
        rests_on=(*RESTS_ON, "causes"),
        is_context=is_context,
    )


def _of_warmest(item: Examined) -> Iterator[Quantity]:
    if item.difference is not None:
        yield item.difference
    if item.reading.hottest_degc is not None:
        yield quantity("conductor-temperature", measured(item.reading.hottest_degc, "degC"))


def _all_cautions(case: Case, quiet: list[Examined]) -> tuple[Sentence, ...]:
    """Each caution once."""
    found: list[Sentence] = []
    for item in quiet:
        found += [caution for caution in cautions(case, item) if caution not in found]
    return tuple(found[:4])


def names(found: Sequence[Way]) -> str:
    """Circuits by their short names."""
    listed = [way.circuit.id for way in found[:MOST_NAMES]]
    return ", ".join(listed) + (" …" if len(found) > MOST_NAMES else "")


def mirrors(case: Case, items: Sequence[Examined]) -> Iterator[Finding]:
    """No temperature of bright metal; what to look at instead, once for each cabinet."""
    for cabinet in case.site.sections(CabinetKeys):
        bright = [item.way for item in items if item.way.cabinet.id == cabinet.id and item.reading.is_bright]
        mark = bright[0].first if bright else None
        if mark is not None:
            yield Finding(
                code="panel.bright",
                place=cabinet.label,
                frame=mark.frame,
                statement=say("panel.bright", place=cabinet.label, names=names(bright)),
                reasons=(say("panel.bright.instead"), *_mirrored(cabinet, items)),
                evidence=(Evidence(kind="picture", reference=mark.frame),),
                cautions=(say("panel.caution.qualified"),),
                next_steps=(NextStep(step=say("panel.repair.bright"), by=say("panel.by.qualified")),),
                rests_on=("permit", "terminals", "bright", "causes"),
            )


def _mirrored(cabinet: CabinetKeys, items: Sequence[Examined]) -> Iterator[Sentence]:
    """Spots that moved with the viewer."""
    moved = [item.way for item in items if item.way.cabinet.id == cabinet.id and item.is_reflection]
    if moved:
        yield say("panel.bright.moved", names=names(moved))


def not_seen(case: Case, items: Sequence[Examined]) -> Iterator[Finding]:
    """Covers and windows, circuits without a mark or a temperature, marks without a circuit."""
    every = ways(case)
    for cabinet in case.site.sections(CabinetKeys):
        own = [way for way in every if way.cabinet.id == cabinet.id]
        if cabinet.seen == "opaque cover":
            yield _said(cabinet.label, "panel.covered")
            continue
        if cabinet.seen == "infrared window" and cabinet.window_transmission is None:
            yield _said(cabinet.label, "panel.window")
        unread = [item.way for item in items if item.way.cabinet.id == cabinet.id and not item.is_read]
        if unread:
            yield _said(cabinet.label, "panel.not-read", names=names(unread))
        without = [way for way in own if not way.marks]
        if without:
            yield _said(cabinet.label, "panel.not-marked", names=names(without))
    for mark in unnamed(case):
        place = f"{mark.frame} / {mark_name(mark.id, case.site.keys.report.language)}"
        yield Finding(
            code="panel.no-circuit",
            place=place,
            frame=mark.frame,
            mark=mark.id,
            statement=say("panel.no-circuit", place=place),
            evidence=(Evidence(kind="picture", reference=mark.frame, mark=mark.id),),
            cautions=(say("panel.caution.qualified"),),
            rests_on=RESTS_ON,
        )


def _said(place: str, id: str, **values: str) -> Finding:
    return Finding(
        code=id,
        place=place,
        statement=say(id, place=place, **values),
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        cautions=(say("panel.caution.qualified"),),
        rests_on=("permit",),
    )
