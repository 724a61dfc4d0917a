"""What is shown of a session without widgets: as text, and as HTML in which everything is escaped."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from thermalkit.annex.wording import SYMBOLS, Wording
from thermalkit.diagnosis.decisions import Step
from thermalkit.diagnosis.finding import Finding, Findings, Quantity
from thermalkit.language import texts_in

if TYPE_CHECKING:
    from thermalkit.workbook.question import Question
    from thermalkit.workbook.session import Session

_VERDICTS = ("indicated", "inconclusive", "not indicated", None)  # the gravest first


def overview_text(session: Session) -> str:
    """What was found in the folder, and what was noted on reading it."""
    if session.problems:
        return session.say("workbook.visit-empty")
    return "\n".join(
        [session.site.keys.site.name, *(f"{name}: {text}" for name, text in _overview(session))]
        + [
            f"{session.say('workbook.assumed')}: {note}"
            for note in texts_in(session.site.notes, session.language)
        ]
    )


def overview_html(session: Session) -> str:
    """The same for a screen."""
    if session.problems:
        return f"<p>{escape(overview_text(session))}</p>"
    names = session.waiting()
    going_on = f"<p>{steps_html(session, 'workbook.go-on', names[:1], count=len(names))}</p>" if names else ""
    rows = "".join(
        f"<tr><th scope='row' style='text-align:start'>{escape(name)}</th>"
        f"<td style='text-align:start'>{escape(text)}</td></tr>"
        for name, text in _overview(session)
    )
    lines = texts_in(session.site.notes, session.language)
    notes = _list_html(f"{session.say('workbook.assumed')} ({len(lines)})", lines) if lines else ""
    return f"<h3>{escape(session.site.keys.site.name)}</h3>{going_on}<table>{rows}</table>{notes}"


def _items(lines: Sequence[str]) -> str:
    return "".join(f"<li>{escape(line)}</li>" for line in lines)


def _overview(session: Session) -> list[tuple[str, str]]:
    site, say = session.site, session.say
    counts = say(
        "workbook.counts",
        frames=len(site.frames),
        rooms=len(site.keys.rooms),
        loggers=len(site.keys.loggers),
        readings=len(site.readings),
    )
    rows = [
        (say("annex.reference"), site.keys.site.reference or ""),
        (say("annex.question"), site.keys.site.question or ""),
        (say("workbook.found"), counts),
    ]
    if session.unattended:
        rows.append((say("workbook.mode"), say("workbook.unattended")))
    return [(name, text) for name, text in rows if text]


def step_text(session: Session, step: Step) -> str:
    """Where a step stands, in one sentence."""
    if session.problems:
        return session.say("workbook.visit-first")
    question = session.question(step)
    if question is None:
        return session.say("workbook.not-asked")
    waiting = session.waiting(step)
    if waiting and session.is_open(step.name):
        return session.say("workbook.waits", steps=session.titles(waiting))
    if question.state == "missing" or question.entry is None:
        return session.say("workbook.taken" if session.unattended else _asks(question))
    when = Wording(session.language).moment(question.entry.at)
    if question.state == "stale":
        return session.say("workbook.stale-taken" if session.unattended else "workbook.stale", when=when)
    if question.entry.by:
        return session.say("workbook.kept-by", when=when, by=question.entry.by)
    return session.say("workbook.kept", when=when)


def _asks(question: Question) -> str:
    """The sentence that asks for an answer: a proposal is only promised where there is one."""
    if question.step.only_a_person:
        return "workbook.only-a-person"
    return "workbook.proposed" if question.proposal else "workbook.none-proposed"


def step_html(session: Session, step: Step) -> str:
    """The same under the title of the step."""
    title, waiting = session.title(step.name), session.waiting(step)
    waits = waiting and session.is_open(step.name) and session.question(step) is not None
    told = steps_html(session, "workbook.waits", waiting) if waits else escape(step_text(session, step))
    return f"<h4>{escape(title)}</h4><p>{told}</p>"


def steps_html(session: Session, id: str, steps: tuple[str, ...], **values: int) -> str:
    """A sentence in which each step is a button that leads to it; `frame.js` hears the click."""
    buttons = "; ".join(
        f"<button type='button' class='tk-goto' data-step='{escape(name)}'>"
        f"{escape(session.title(name))}</button>"
        for name in steps
    )
    before, after = session.say(id, steps="\n", **values).split("\n")
    return f"{escape(before)}{buttons}{escape(after)}"


def findings_text(findings: Findings, language: str) -> str:
    """Findings as lines of text, verdicts first."""
    words = Wording(language)
    blocks = [_finding_lines(item, words) for item in findings.findings]
    return "\n\n".join("\n".join(lines) for lines in blocks) or words.say("annex.no-findings")


def findings_html(findings: Findings, language: str) -> str:
    """Findings for a screen."""
    words = Wording(language)
    return "".join(_place_html(*place, words) for place in _by_place(findings)) or (
        f"<p>{escape(words.say('annex.no-findings'))}</p>"
    )


def _by_place(findings: Findings) -> list[tuple[str, list[Finding]]]:
    """Findings by place, places with the gravest verdict first."""
    places: dict[str, list[Finding]] = {}
    for item in findings.findings:
        places.setdefault(item.place, []).append(item)
    return sorted(places.items(), key=lambda place: min(_rank(item) for item in place[1]))


def _rank(finding: Finding) -> int:
    return _VERDICTS.index(finding.verdict)


def _place_html(place: str, findings: list[Finding], words: Wording) -> str:
    """Verdicts and explanations of a place; what was merely noted there is folded away below them."""
    answers = sorted((f for f in findings if f.verdict or f.alternatives), key=_rank)
    noted = [f for f in findings if f not in answers]
    shown, folded = (answers, noted) if answers else (noted, [])
    more = escape(words.say("workbook.also-noted", count=len(folded)))
    rest = "".join(_finding_html(item, words) for item in folded)
    return (
        f"<section><h3>{escape(place)}</h3>"
        + "".join(_finding_html(item, words) for item in shown)
        + (f"<details><summary>{more}</summary>{rest}</details>" if folded else "")
        + "</section>"
    )


def _finding_lines(finding: Finding, words: Wording) -> list[str]:
    return [
        f"{_verdict(finding, words)}: {finding.place}",
        f"  {words.text(finding.statement)}",
        *(f"  {quantity_text(item, words)}" for item in finding.quantities),
        *(f"  ! {words.text(caution)}" for caution in finding.cautions),
        *(f"  > {_next_step(finding, i, words)}" for i in range(len(finding.next_steps))),
        *([] if finding.confirmed else [f"  ({words.say('annex.unconfirmed')})"]),
    ]


def _finding_html(finding: Finding, words: Wording) -> str:
    lists = (
        (words.say("annex.cautions"), [words.text(caution) for caution in finding.cautions]),
        (
            words.say("annex.next-steps"),
            [_next_step(finding, i, words) for i in range(len(finding.next_steps))],
        ),
    )
    quantities = "".join(f"<li>{escape(quantity_text(item, words))}</li>" for item in finding.quantities)
    return (
        f"<article><h4>{escape(_verdict(finding, words))}</h4>"
        f"<p>{escape(words.text(finding.statement))}</p>"
        + (f"<ul>{quantities}</ul>" if quantities else "")
        + "".join(_list_html(heading, lines) for heading, lines in lists if lines)
        + ("" if finding.confirmed else f"<p>{escape(words.say('annex.unconfirmed'))}</p>")
        + "</article>"
    )


def _list_html(heading: str, lines: Sequence[str]) -> str:
    return f"<details><summary>{escape(heading)}</summary><ul>{_items(lines)}</ul></details>"


def quantity_text(item: Quantity, words: Wording) -> str:
    """A quantity with its 95 % interval."""
    m = item.measured
    value = words.number(m.value, item.term.shown, m.unit)
    return f"{words.text(item.term.name)}: {value} ({words.interval(item)})"


def _verdict(finding: Finding, words: Wording) -> str:
    return f"{SYMBOLS[finding.verdict]} {words.verdict(finding.verdict)}"


def _next_step(finding: Finding, index: int, words: Wording) -> str:
    step = finding.next_steps[index]
    return f"{words.text(step.step)} ({words.text(step.by)})"
