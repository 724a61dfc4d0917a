"""Before and after: what changed since the earlier visit, and the pictures of both side by side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from thermalkit.annex.before_after import Pair, numbers, outcome, pairs
from thermalkit.annex.history import in_words, shared_names
from thermalkit.annex.wording import Rows, Wording, visible
from thermalkit.diagnosis.change import Change
from thermalkit.diagnosis.decisions import NOT_LOOKED, Answers, Asked, Case, MarksOn
from thermalkit.diagnosis.earlier import Earlier, earlier_of
from thermalkit.diagnosis.finding import Findings
from thermalkit.diagnosis.run import case_of, investigation
from thermalkit.record.store import Record
from thermalkit.site import Site

_WEATHER = (
    *(("air_temperature_degc", "degC"), ("mean_24h_air_temperature_degc", "degC")),
    *(("relative_humidity_percent", "%"), ("wind_speed_m_s", "m/s"), ("sky", ""), ("hours_since_sun", "h")),
)
_COUNTED = ("better", "worse", "higher", "lower", "none", "new", "gone")


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """Everything that the annex says of the earlier visit; `problems` say why it could not be used."""

    day: str = ""
    summary: str = ""
    shared: str = ""
    places: Rows = field(default_factory=list)
    decisions: Rows = field(default_factory=list)
    readings: Rows = field(default_factory=list)
    pairs: tuple[Pair, ...] = ()
    problems: tuple[str, ...] = ()


def page(findings: Findings, site: Site, record: Record, words: Wording) -> Page | None:
    """What changed since the earlier visit; None where there is none.

    Parameters
    ----------
    findings : Findings
    site, record
        As read from disk.
    words : Wording
    """
    problems = tuple(
        problem.told(words.language) for problem in (*site.earlier_problems, *record.earlier_problems)
    )
    case = case_of(findings, site)
    earlier = earlier_of(findings, case)
    if earlier is None:
        return Page(problems=problems) if problems else None
    return Page(
        day=words.day(earlier.surveyed_at.date()),
        summary=_summary(findings.changes, words),
        shared=_shared(earlier, words),
        places=[_in_short(changes[0], words) for changes in by_place(findings.changes)],
        decisions=list(_decisions(findings, case, earlier, words)),
        readings=list(_readings(site, earlier.case.site, words)),
        pairs=tuple(pairs(findings, case, earlier, words)),
        problems=problems,
    )


def by_place(changes: Iterable[Change]) -> list[list[Change]]:
    """Changes of each place, in the order of the findings."""
    places: dict[tuple[str, str | None, str | None], list[Change]] = {}
    for item in changes:
        places.setdefault((item.place, item.frame, item.mark), []).append(item)
    return list(places.values())


def _summary(changes: Iterable[Change], words: Wording) -> str:
    """How many places are better, worse and so on."""
    leads = [items[0].outcome for items in by_place(changes)]
    counts = [(word, leads.count(word)) for word in _COUNTED if word in leads]
    told = [words.say(f"annex.changes.count.{word}", count=count) for word, count in counts]
    return "; ".join(told) if told else words.say("annex.changes.nothing-compares")


def _shared(earlier: Earlier, words: Wording) -> str:
    """What the two visits have in common and what therefore cancels."""

    def named(inputs: tuple[str, ...], *groups: str) -> str:
        found = dict.fromkeys(name.split(" ", 1)[1] for name in inputs if name.startswith(groups))
        return visible(", ".join(found)) or words.say("annex.changes.nothing")

    return words.say(
        "annex.changes.shared",
        instruments=named(earlier.shared, "air-temperature-", "relative-humidity-", "outdoor-air-"),
        surfaces=named(earlier.shared, "emissivity "),
        films=named(earlier.alike, "film "),
    )


def _in_short(item: Change, words: Wording) -> list[str]:
    """A row for a place: the quantity that stands for it."""
    return [item.place, outcome(item, words), *numbers(item, words)]


def _decisions(findings: Findings, case: Case, earlier: Earlier, words: Wording) -> Iterator[list[str]]:
    """Questions that were answered otherwise than before."""
    for step in investigation(findings.kind).STEPS:
        now, then = findings.decisions.get(step.name), earlier.decisions.get(step.name)
        if step.name == "remark" or now == then:
            continue
        if isinstance(step.control, Answers):
            yield from _answers(then or {}, now or {}, step.control, (earlier.case, case), words)
            continue
        if isinstance(step.control, MarksOn):
            texts = _marks(then or [], now or [], words)
        else:
            texts = [in_words(value, step, at, words) for value, at in ((then, earlier.case), (now, case))]
        if texts[0] != texts[1]:
            yield [words.text(step.title), "–", *texts]


def _marks(then: list[dict[str, Any]], now: list[dict[str, Any]], words: Wording) -> list[str]:
    """Marks by name that only one visit has, since each draws its own."""
    named = [{f"{item['frame']} / {item['id']}": None for item in marks} for marks in (then, now)]
    only = [
        [name for name in own if name not in other] for own, other in zip(named, named[::-1], strict=True)
    ]
    return [visible(shared_names(sorted(names))) or words.say("annex.nothing") for names in only]


def _answers(
    then: Mapping[str, str],
    now: Mapping[str, str],
    control: Answers,
    cases: tuple[Case, Case],
    words: Wording,
) -> Iterator[list[str]]:
    """Questions asked on both visits and answered otherwise; places with like answers share a row."""
    asked = [control.options(case) for case in cases]
    told: dict[tuple[str, str, str], list[str]] = {}
    for id in (id for id in asked[1] if id in asked[0]):
        answers = [said.get(id, NOT_LOOKED) for said in (then, now)]
        if answers[0] != answers[1]:
            question = asked[1][id]
            before, after = (_answer(question, answer, words) for answer in answers)
            told.setdefault((words.text(question.title), before, after), []).append(question.about)
    for (title, before, after), about in told.items():
        places = shared_names(name for name in about if name)
        yield [title, places or "–", before, after]


def _answer(question: Asked, answer: str, words: Wording) -> str:
    if answer == NOT_LOOKED:
        return words.say("annex.changes.not-looked")
    outcome = question.outcomes.get(answer)
    return answer if outcome is None else words.text(outcome)


def _readings(new: Site, old: Site, words: Wording) -> Iterator[list[str]]:
    """What was read on either visit, side by side."""
    for key, unit in _WEATHER:
        yield from _row(
            words.say("annex.changes.outdoors"),
            words.say(f"annex.weather.{key}"),
            *(_reading(getattr(site.keys.weather, key), unit, words) for site in (old, new)),
        )
    rooms = {room.id: room.label for site in (old, new) for room in site.keys.rooms}
    for id, label in rooms.items():
        found = [next((room for room in site.keys.rooms if room.id == id), None) for site in (old, new)]
        for key, unit, word in (
            ("air_temperature_degc", "degC", "annex.air"),
            ("relative_humidity_percent", "%", "annex.humidity"),
        ):
            values = (_reading(getattr(room, key, None), unit, words) for room in found)
            yield from _row(label, words.say(word), *values)
    for place, quantity in dict.fromkeys((r.place, r.quantity) for s in (old, new) for r in s.readings):
        name = words.say(f"annex.reading.{quantity.replace(' ', '-')}")
        if place in rooms and quantity in ("air temperature", "relative humidity"):
            continue
        values = (_last(site, place, quantity, words) for site in (old, new))
        yield from _row(rooms.get(place, place), name, *values)


def _row(place: str, name: str, then: str, now: str) -> Iterator[list[str]]:
    if (then, now) != ("–", "–"):
        yield [place, name, then, now]


def _reading(value: float | str | None, unit: str, words: Wording) -> str:
    if value is None:
        return "–"
    return words.say(f"annex.sky.{value}") if isinstance(value, str) else words.plain(value, unit)


def _last(site: Site, place: str, quantity: str, words: Wording) -> str:
    found = [row for row in site.readings if (row.place, row.quantity) == (place, quantity)]
    return words.plain(found[-1].value, found[-1].unit) if found else "–"
