"""Rows of the plain tables of the annex, each cell in words."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from thermalkit.annex.changes import Page
from thermalkit.annex.content import terms_used
from thermalkit.annex.history import Decision
from thermalkit.annex.place import Place
from thermalkit.annex.wording import Rows, Wording, symbol_html, visible
from thermalkit.diagnosis.finding import Findings
from thermalkit.site import Site
from thermalkit.site.model import InstrumentKeys

CHAPTERS = (
    *("changes", "survey", "conditions", "places", "before-after", "hazard-classes", "looked-at", "limits"),
    *("method", "assumptions", "instruments", "decisions", "provenance", "general-cautions", "declaration"),
)


def chapters(site: Site, since: Page | None) -> tuple[str, ...]:
    """Parts of the annex in their order; classes only where the user has a table of them.

    What compares with an earlier visit only where there was one.
    """
    absent = {
        *(() if site.hazard_classes else ("hazard-classes",)),
        *(() if since else ("changes",)),
        *(() if since and since.pairs else ("before-after",)),
    }
    return tuple(name for name in CHAPTERS if name not in absent)


def survey(findings: Findings, words: Wording) -> Rows:
    """Remarks on the conditions of the visit, what they concern and what they do to the result.

    What is said alike of several pictures stands once.
    """
    told: dict[tuple[str, str], list[str]] = {}
    for remark in findings.survey.remarks:
        text = words.text(remark.statement)
        own = text.removeprefix(f"{remark.frame}: ")
        key = (own if own == text else own[:1].upper() + own[1:], words.say(f"annex.effect.{remark.effect}"))
        told.setdefault(key, []).append(remark.frame or words.say("annex.whole-visit"))
    return [[text, ", ".join(concerned), effect] for (text, effect), concerned in told.items()]


def looked_at(site: Site, words: Wording) -> Rows:
    """What was examined, what was not, and why."""
    names = {room.id: room.label for room in site.keys.rooms}
    return [
        [
            item.element,
            names.get(item.room, item.room) if item.room is not None else "–",
            words.say(f"annex.looked.{item.looked.replace(' ', '-')}"),
            item.why or "–",
        ]
        for item in site.keys.looked_at
    ]


def sound(found: Iterable[Place], words: Wording) -> list[str]:
    """What was looked at and found sound: places that keep every limit, with what was held against it."""
    texts = []
    for place in found:
        names = dict.fromkeys(words.text(i.quantity.term.name) for i in place.items if i.limit is not None)
        if place.is_sound:
            texts.append(words.say("annex.sound-place", place=place.name, quantities=", ".join(names)))
    return texts


def unseen(site: Site, words: Wording) -> list[str]:
    """What was not looked at, and why."""
    names = {room.id: room.label for room in site.keys.rooms}
    return [
        words.say(
            "annex.unseen-part" if item.why else "annex.unseen-part-unstated",
            part=f"{item.element} ({names.get(item.room, item.room)})" if item.room else item.element,
            **({"why": item.why.rstrip(".")} if item.why else {}),
        )
        for item in site.keys.looked_at
        if item.looked != "yes"
    ]


def assumptions(findings: Findings, words: Wording) -> Rows:
    """Rows of the table of assumptions that a result rests on; sources are cited in English."""
    return [
        [
            words.either(row.title.id, row.name),
            words.plain(row.low, row.unit)
            if row.low == row.high
            else words.say("number.interval", low=words.plain(row.low), high=words.plain(row.high, row.unit)),
            Markup('<span lang="en">{}</span>').format(visible(row.source)),
        ]
        for row in findings.assumptions
    ]


def instruments(site: Site, words: Wording) -> Rows:
    """Every instrument with what makes its readings evidence."""
    return [
        [
            f"{words.say(f'annex.instrument.{keys.kind}')} ({name})",
            keys.serial or words.say("annex.not-stated"),
            _accuracy(keys, words) or words.say("annex.not-stated"),
            words.say("annex.not-stated") if keys.calibrated_on is None else words.day(keys.calibrated_on),
        ]
        for name, keys in sorted(site.keys.instruments.items())
    ]


def decisions(history: Iterable[Decision]) -> Rows:
    """The record, one entry a row."""
    return [
        [
            item.title,
            f"{item.value} ({item.proposal}; {item.state})",
            item.reason or "–",
            item.by or "–",
            item.when,
        ]
        for item in history
    ]


def terms(findings: Findings, words: Wording) -> Rows:
    """The quantities used, with what they mean."""
    return [
        [words.text(term.name), symbol_html(term.symbol), words.text(term.definition)]
        for term in terms_used(findings)
    ]


def _accuracy(keys: InstrumentKeys, words: Wording) -> str:
    absolute = [
        words.say(f"annex.accuracy.{kind}", value=words.plain(value, unit))
        for kind, value, unit in (
            ("kelvin", keys.accuracy_k, "K"),
            ("percent", keys.accuracy_percent, "%"),
        )
        if value is not None
    ]
    if len(absolute) == 2:
        absolute = [words.say("annex.accuracy.larger", first=absolute[0], second=absolute[1])]
    if keys.accuracy_percent_rh is not None:
        absolute.append(
            words.say("annex.accuracy.humidity", value=words.plain(keys.accuracy_percent_rh, "%"))
        )
    if keys.noise_k is not None:
        absolute.append(words.say("annex.accuracy.noise", value=words.plain(keys.noise_k, "K")))
    if keys.columns is not None and keys.rows is not None:
        absolute.append(words.say("annex.accuracy.detector", columns=keys.columns, rows=keys.rows))
    return ", ".join(absolute)
