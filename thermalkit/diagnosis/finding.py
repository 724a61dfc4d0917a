"""What an investigation concludes, before it is written in anybody's language."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from thermalkit.diagnosis.assumptions import Assumption
from thermalkit.glossary import TERMS, Term
from thermalkit.imaging.mark import Mark
from thermalkit.language import Interval, Sentence, render
from thermalkit.measured import Measured

if TYPE_CHECKING:
    from thermalkit.diagnosis.change import Change

Verdict = Literal["indicated", "not indicated", "inconclusive"]
Sense = Literal["at_least", "at_most"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A glossary term with its measured value, rounded once, when the finding is built."""

    term: Term
    measured: Measured

    def shown(self) -> Interval:
        """For use in a sentence."""
        m = self.measured
        return Interval(m.value, m.low, m.high, m.unit, self.term.shown)


def quantity(term: str, measured: Measured) -> Quantity:
    """A quantity rounded to the decimals that its term keeps.

    Raises
    ------
    KeyError
        No such term in the glossary.
    """
    kept = TERMS[term]
    value, low, high = (round(v, kept.kept) + 0.0 for v in (measured.value, measured.low, measured.high))
    rounded = Measured(value=value, low=low, high=high, unit=kept.unit, coverage=measured.coverage)
    return Quantity(term=kept, measured=rounded)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What a quantity is held against, and who says so."""

    term: Term
    sense: Sense
    value: float
    source: Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What a finding can be seen on: a frame with its mark, a reading, an answer."""

    kind: Literal["picture", "reading", "answer"]
    reference: str
    mark: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """What to do, and by whom; `at_once` where it cannot wait for the usual order of things.

    `tells_apart` marks a look that only tells explanations apart: it stands after what the likeliest of
    them calls for.
    """

    step: Sentence
    by: Sentence
    at_once: bool = False
    tells_apart: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """An explanation that was considered, with how likely it remains."""

    name: Sentence
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One conclusion about one place.

    `reasons` say what speaks for and against it, `alternatives` what else was considered. With
    `is_context` it is a reading that others are judged by, and no answer.
    """

    code: str
    place: str
    statement: Sentence
    frame: str | None = None
    mark: str | None = None
    verdict: Verdict | None = None
    quantities: tuple[Quantity, ...] = ()
    limit: Limit | None = None
    probability: float | None = None
    reasons: tuple[Sentence, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    sources: tuple[Sentence, ...] = ()
    cautions: tuple[Sentence, ...] = ()
    next_steps: tuple[NextStep, ...] = ()
    rests_on: tuple[str, ...] = ()
    confirmed: bool = False
    is_context: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One thing about the conditions of the survey, with what it does to the result.

    `effect` is "none", "widens" (the interval of what rests on the frame) or "excludes" (the frame
    is not used); `frame` is None where it concerns the whole visit.
    """

    statement: Sentence
    effect: Literal["none", "widens", "excludes"]
    frame: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """May the pictures be trusted for the question asked?"""

    usable: bool
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A temperature that means something on a picture, such as the room's dew point."""

    temperature_degc: float
    label: Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """What is shown on a frame: the marks of the investigation and meaningful temperatures."""

    frame: str
    marks: tuple[Mark, ...]
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """What an axis of a chart shows; times are ISO 8601 texts, categories texts."""

    title: Sentence
    unit: str = ""
    kind: Literal["number", "time", "category"] = "number"


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One line, set of points or set of bars of a chart; a gap in the data is None.

    `low` and `high`, where given, bound a 95 % band round `y`.
    """

    name: Sentence
    x: tuple[float | str, ...]
    y: tuple[float | None, ...]
    style: Literal["line", "points", "bars"] = "line"
    low: tuple[float | None, ...] = ()
    high: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Data of a chart, drawn the same in workbook and annex, with its words for who cannot see it.

    `limits` are level lines: a value of the y axis and what it means.
    """

    id: str
    title: Sentence
    summary: Sentence
    x: Axis
    y: Axis
    series: tuple[Series, ...]
    limits: tuple[tuple[float, Sentence], ...] = ()
    place: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenStep:
    """A step without a valid decision: never answered, or answered before its inputs changed."""

    step: str
    title: Sentence
    state: Literal["missing", "stale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """Everything one investigation of one site concludes.

    `changes` since the earlier visit, whose decisions are `earlier_decisions`; None where there was none.
    """

    kind: str
    site_name: str
    site_reference: str
    inputs: tuple[tuple[str, str], ...]
    survey: Survey
    findings: tuple[Finding, ...]
    pictures: tuple[Picture, ...] = ()
    charts: tuple[Chart, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    open_steps: tuple[OpenStep, ...] = ()
    decisions: dict[str, Any] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    earlier_decisions: dict[str, Any] | None = None

    def as_json(self, language: str) -> dict[str, Any]:
        """Plain data of the findings file, sentences rendered in a language."""
        return {
            "schema": 1,
            "kind": self.kind,
            "site": {"name": self.site_name, "reference": self.site_reference},
            "inputs": [{"path": path, "sha256": digest} for path, digest in self.inputs],
            "survey": {
                "usable": self.survey.usable,
                "remarks": [render(remark.statement, language) for remark in self.survey.remarks],
            },
            "open_steps": [{"step": step.step, "state": step.state} for step in self.open_steps],
            "findings": [_finding_json(finding, language) for finding in self.findings],
        }


def _finding_json(finding: Finding, language: str) -> dict[str, Any]:
    limit = finding.limit
    return {
        "code": finding.code,
        "place": finding.place,
        "frame": finding.frame,
        "mark": finding.mark,
        "statement": render(finding.statement, language),
        "verdict": finding.verdict,
        "quantities": [_quantity_json(item, language) for item in finding.quantities],
        "limit": limit
        and {
            "quantity": limit.term.symbol,
            "sense": limit.sense,
            "value": limit.value,
            "unit": limit.term.unit,
            "source": render(limit.source, language),
        },
        "probability": finding.probability,
        "reasons": [render(reason, language) for reason in finding.reasons],
        "alternatives": [
            {"name": render(other.name, language), "probability": other.probability}
            for other in finding.alternatives
        ],
        "evidence": [
            {
                key: value
                for key, value in (("kind", e.kind), ("reference", e.reference), ("mark", e.mark))
                if value
            }
            for e in finding.evidence
        ],
        "sources": [render(source, language) for source in finding.sources],
        "cautions": [render(caution, language) for caution in finding.cautions],
        "next_steps": [
            {
                "step": render(step.step, language),
                "by": render(step.by, language),
                "at_once": step.at_once,
            }
            for step in finding.next_steps
        ],
        "rests_on": list(finding.rests_on),
        "confirmed": finding.confirmed,
    }


def _quantity_json(item: Quantity, language: str) -> dict[str, Any]:
    m = item.measured
    return {
        "name": render(item.term.name, language),
        "symbol": item.term.symbol,
        "value": m.value,
        "low": m.low,
        "high": m.high,
        "coverage": m.coverage,
        "unit": m.unit,
    }
