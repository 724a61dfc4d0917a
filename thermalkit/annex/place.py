"""One place of the annex: everything found there, and what of it is said where."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from thermalkit.annex.wording import VERDICTS, Wording
from thermalkit.diagnosis.change import change_term
from thermalkit.diagnosis.finding import Finding, Limit, Quantity, Verdict

SCALE_WIDTH = 300
MORE_LIKELY_THAN_NOT = 0.5


def is_cure(finding: Finding) -> bool:
    """Whether this says what cures a cause that is likelier than all others together."""
    likely = (finding.probability or 0.0) > MORE_LIKELY_THAN_NOT
    return likely and bool(finding.next_steps) and not finding.alternatives


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Where value, interval and limit lie on a drawn scale, in its own units from the left."""

    low: float
    value: float
    high: float
    limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A quantity in the table of its place, with the limit it is held against, if it is."""

    quantity: Quantity
    limit: Limit | None = None
    verdict: Verdict | None = None

    @property
    def scale(self) -> Scale | None:
        """A drawn scale, where there is a limit."""
        if self.limit is None:
            return None
        m = self.quantity.measured
        ends = (m.low, m.high, self.limit.value)
        margin = 0.16 * SCALE_WIDTH
        stretch = (SCALE_WIDTH - 2 * margin) / ((max(ends) - min(ends)) or 1.0)

        def at(value: float) -> float:
            return round(margin + (value - min(ends)) * stretch, 1)

        return Scale(low=at(m.low), value=at(m.value), high=at(m.high), limit=at(self.limit.value))


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Everything found at one place, under its number in this annex; the first finding is the most urgent."""

    number: int
    findings: tuple[Finding, ...]
    mark_number: int | None = None
    is_comparison: bool = False

    @property
    def is_news(self) -> bool:
        """Whether the short answer names it: a place of comparison only where it breaks a limit.

        What others are judged by is read there and answers nothing.
        """
        return not self.lead.is_context and (not self.is_comparison or self.lead.verdict == "indicated")

    @property
    def is_brief(self) -> bool:
        """Whether one line is enough: others are judged by it, and it asks for nothing."""
        asks = any(finding.next_steps for finding in self.findings)
        return not self.is_news and not asks and not self.weighed and self.change is None

    @property
    def is_at_once(self) -> bool:
        """Whether something here cannot wait."""
        return any(step.at_once for finding in self.findings for step in finding.next_steps)

    @property
    def is_answered(self) -> bool:
        """Whether a cause is likelier than all others together, or a change since the last visit is told."""
        return self.change is not None or any(
            (cause.probability or 0.0) > MORE_LIKELY_THAN_NOT for cause in self.weighed
        )

    @property
    def chapters(self) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
        """Findings below the summary by what they speak of, each group with its word.

        That is the middle word of their codes, for which each investigation has a heading; what was
        measured comes first, what explains it stands with its probabilities and not here.
        """
        groups: dict[str, list[Finding]] = {"found": []}
        for finding in self.findings:
            if finding is self.lead or finding.alternatives:
                continue
            parts = finding.code.split(".")
            groups.setdefault(parts[1] if len(parts) > 2 else "found", []).append(finding)
        return tuple((word, tuple(found)) for word, found in groups.items() if found)

    @property
    def held(self) -> Item | None:
        """The number that the most urgent finding rests on."""
        held = [item for item in self.items if item.limit is not None]
        limit = self.lead.limit
        return next((item for item in held if item.limit is limit), held[0] if held else None)

    @property
    def is_sound(self) -> bool:
        """Whether everything held against a limit keeps it, something was, and nothing asks for a cause."""
        return self.lead.verdict == "not indicated" and not self.weighed

    @property
    def name(self) -> str:
        """Room and mark."""
        return self.findings[0].place

    @property
    def lead(self) -> Finding:
        """The most urgent finding."""
        return self.findings[0]

    @property
    def weighed(self) -> tuple[Finding, ...]:
        """Findings for which rival explanations were considered, the surest first."""
        found = [finding for finding in self.findings if finding.alternatives]
        return tuple(sorted(found, key=lambda finding: -(finding.probability or 0.0)))

    @property
    def verdict(self) -> Verdict | None:
        """The sign of the place: what keeps its limit does not clear a place that has another cause.

        A place with a likely cause that has its cure is as much a problem as one past its limit.
        """
        judged = None if self.lead.verdict == "not indicated" and self.weighed else self.lead.verdict
        return "indicated" if judged is None and any(map(is_cure, self.findings)) else judged

    @property
    def change(self) -> Finding | None:
        """What changed here since the earlier visit, where a change can be claimed."""
        return next((finding for finding in self.findings if is_change(finding)), None)

    @property
    def state(self) -> Finding:
        """The most urgent finding; of several alike, that on the quantity whose change is told."""
        if self.change is None:
            return self.lead
        changed = self.change.quantities[0].term.id
        return next(
            (
                finding
                for finding in self.findings
                if finding.limit is not None
                and finding.verdict == self.lead.verdict
                and changed == change_term(finding.limit.term).id
            ),
            self.lead,
        )

    @property
    def short(self) -> tuple[Finding, ...]:
        """What the short answer says of this place: the most urgent finding and the likeliest cause.

        A cause that is likelier than all others together answers the question, so it comes first; before
        it a change since the earlier visit, which is what a second visit asks for.
        """
        causes = tuple(finding for finding in self.weighed[:1] if finding is not self.lead)
        is_answered = any((cause.probability or 0.0) > MORE_LIKELY_THAN_NOT for cause in causes)
        if self.change is not None:
            told = (self.change, *(causes if is_answered else ()), self.state)
            return tuple({id(finding): finding for finding in told}.values())
        first = (*causes, self.lead) if self.verdict is None or is_answered else (self.lead, *causes)
        return (*first, *self.unchanged[:1]) if self.lead.verdict == "indicated" else first

    @property
    def unchanged(self) -> tuple[Finding, ...]:
        """What both visits measured alike."""
        return tuple(f for f in self.findings if is_compared(f) and not is_change(f))

    @property
    def confirmed(self) -> bool:
        """Whether a person decided everything below."""
        return all(finding.confirmed for finding in self.findings)

    @property
    def grounds(self) -> tuple[tuple[tuple[str, ...], bool, tuple[str, ...]], ...]:
        """Steps that findings rest on with the codes of those findings, confirmed ones apart from others."""
        told = []
        for confirmed in (True, False):
            found = [finding for finding in self.findings if finding.confirmed is confirmed]
            steps = dict.fromkeys(step for finding in found for step in finding.rests_on)
            if found:
                told.append((tuple(steps), confirmed, tuple(dict.fromkeys(f.code for f in found))))
        return tuple(told)

    @property
    def items(self) -> tuple[Item, ...]:
        """Every quantity once, those with a limit first."""
        return items_of(self.findings)

    def cautions(self, words: Wording) -> list[str]:
        """Every caution once, in words."""
        return list(dict.fromkeys(words.text(text) for f in self.findings for text in f.cautions))

    @property
    def measured_items(self) -> tuple[Item, ...]:
        """Quantities of what the summary and the first group of findings say."""
        others = {id(finding) for word, group in self.chapters if word != "found" for finding in group}
        return items_of(finding for finding in self.findings if id(finding) not in others)


def items_of(findings: Iterable[Finding]) -> tuple[Item, ...]:
    """Every quantity of some findings once, those with a limit first."""
    held, plain = [], []
    for finding in findings:
        for item in finding.quantities:
            if finding.limit is not None and item.term == finding.limit.term:
                held.append(Item(quantity=item, limit=finding.limit, verdict=finding.verdict))
            elif item not in plain:
                plain.append(item)
    return (*held, *(Item(quantity=item) for item in plain))


def is_change(finding: Finding) -> bool:
    """Whether it tells of a difference between two visits that can be claimed."""
    m = finding.quantities[0].measured if is_compared(finding) else None
    return m is not None and not m.low <= 0.0 <= m.high


def is_compared(finding: Finding) -> bool:
    """Whether both visits measured it."""
    return finding.code.endswith(".change") and bool(finding.quantities)


def by_urgency(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What is indicated first, then what could not be decided, then the rest.

    Of findings alike a change since the earlier visit comes first; else as found.
    """
    return tuple(
        sorted(findings, key=lambda finding: (VERDICTS.index(finding.verdict), not is_change(finding)))
    )
