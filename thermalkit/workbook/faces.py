"""What is shown of a session without widgets: as text, and as HTML in which everything is escaped."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from thermalkit.annex.wording import SYMBOLS, Wording
from thermalkit.diagnosis.decisions import Step
from thermalkit.diagnosis.finding import Finding, Findings, Quantity
from thermalkit.language import texts_in

if TYPE_CHECKING:
    from thermalkit.workbook.session import Session

MOST_AT_ONCE = 3


def overview_text(session: Session) -> str:
    """What was found in the folder, what is missing that would help, what is open."""
    if session.problems:
        return session.say("workbook.visit-empty")
    return "\n".join(
        [session.site.keys.site.name, *(f"{name}: {text}" for name, text in _overview(session))]
        + [f"- {line}" for line in _missing(session)]
    )


def overview_html(session: Session) -> str:
    """The same for a screen."""
    if session.problems:
        return f"<p>{escape(overview_text(session))}</p>"
    rows = "".join(
        f"<tr><th scope='row' style='text-align:start'>{escape(name)}</th>"
        f"<td style='text-align:start'>{escape(text)}</td></tr>"
        for name, text in _overview(session)
    )
    heading, lines = escape(session.say("workbook.missing")), _missing(session)
    first, rest = _items(lines[:MOST_AT_ONCE]), _items(lines[MOST_AT_ONCE:])
    more = escape(session.say("workbook.more", count=max(len(lines) - MOST_AT_ONCE, 0)))
    return (
        f"<h3>{escape(session.site.keys.site.name)}</h3><table>{rows}</table>"
        + (f"<p>{heading}</p><ul>{first}</ul>" if first else "")
        + (f"<details><summary>{more}</summary><ul>{rest}</ul></details>" if rest else "")
    )


def _items(lines: list[str]) -> str:
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
        (say("workbook.assumed"), "; ".join(texts_in(site.notes, session.language))),
    ]
    if session.unattended:
        rows.append((say("workbook.mode"), say("workbook.unattended")))
    return [(name, text) for name, text in rows if text]


def _missing(session: Session) -> list[str]:
    from thermalkit.site.check import check

    return [item.told(session.language) for item in check(session.site)]


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
        asks = "workbook.only-a-person" if step.only_a_person else "workbook.proposed"
        return session.say("workbook.taken" if session.unattended else asks)
    when = Wording(session.language).moment(question.entry.at)
    if question.state == "stale":
        return session.say("workbook.stale-taken" if session.unattended else "workbook.stale", when=when)
    if question.entry.by:
        return session.say("workbook.kept-by", when=when, by=question.entry.by)
    return session.say("workbook.kept", when=when)


def step_html(session: Session, step: Step) -> str:
    """The same under the title of the step."""
    title = session.titles((step.name,))
    return f"<h4>{escape(title)}</h4><p>{escape(step_text(session, step))}</p>"


def findings_text(findings: Findings, language: str) -> str:
    """Findings as lines of text, verdicts first."""
    words = Wording(language)
    blocks = [_finding_lines(item, words) for item in findings.findings]
    return "\n\n".join("\n".join(lines) for lines in blocks) or words.say("annex.no-findings")


def findings_html(findings: Findings, language: str) -> str:
    """Findings for a screen."""
    words = Wording(language)
    return "".join(_finding_html(item, words) for item in findings.findings) or (
        f"<p>{escape(words.say('annex.no-findings'))}</p>"
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
        f"<article><h4>{escape(_verdict(finding, words))}: {escape(finding.place)}</h4>"
        f"<p>{escape(words.text(finding.statement))}</p>"
        + (f"<ul>{quantities}</ul>" if quantities else "")
        + "".join(_list_html(heading, lines) for heading, lines in lists if lines)
        + ("" if finding.confirmed else f"<p>{escape(words.say('annex.unconfirmed'))}</p>")
        + "</article>"
    )


def _list_html(heading: str, lines: list[str]) -> str:
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
