"""What the annex shows, in the order in which it shows it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace

from thermalkit.annex.chart_words import ChartTable, has_band, limit_words, table
from thermalkit.annex.charts import figure
from thermalkit.annex.conditions import frame_facts
from thermalkit.annex.photos import laid_over_uri, photo_uri
from thermalkit.annex.pictures import corrected, line_label, marks_of, picture_data, script_json
from thermalkit.annex.thumbnails import thumbnail_uri
from thermalkit.annex.wording import VERDICTS, Pairs, Wording, visible
from thermalkit.diagnosis.alignment import alignment_said, photo_alignment
from thermalkit.diagnosis.change import change_term
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, Findings, Limit, NextStep, Picture, Quantity, Verdict
from thermalkit.diagnosis.run import case_of
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.glossary import Term
from thermalkit.site import Site, SurveyFrame

SCALE_WIDTH = 300
MOST_THUMBNAILS = 3
MORE_LIKELY_THAN_NOT = 0.5
MOST_WITHOUT_HURRY = 5


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
        """The sign of the place: what keeps its limit does not clear a place that has another cause."""
        return None if self.lead.verdict == "not indicated" and self.weighed else self.lead.verdict

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
        return tuple(f for f in self.findings if _is_compared(f) and not is_change(f))

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


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One frame with the places on it, or places without a frame.

    `brief` are places that one line is enough for; without any other place the view is small.
    """

    title: str
    places: tuple[Place, ...]
    brief: tuple[Place, ...] = ()
    frame: SurveyFrame | None = None
    picture: str | None = None
    lines: str = ""
    photo: str | None = None
    laid_over: str = ""
    facts: Pairs = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Something to do, by whom, and the places that ask for it."""

    job: str
    by: str
    places: tuple[Place, ...]
    verdict: Verdict | None = None
    at_once: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartPart:
    """A chart with its words: figure, table, what its lines mean."""

    number: int
    title: str
    summary: str
    place: int | None
    figure: str
    table: ChartTable
    limits: tuple[str, ...]
    has_band: bool


def is_change(finding: Finding) -> bool:
    """Whether it tells of a difference between two visits that can be claimed."""
    m = finding.quantities[0].measured if _is_compared(finding) else None
    return m is not None and not m.low <= 0.0 <= m.high


def _is_compared(finding: Finding) -> bool:
    """Whether both visits measured it."""
    return finding.code.endswith(".change") and bool(finding.quantities)


def by_urgency(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What is indicated first, then what could not be decided, then the rest.

    Of findings alike a change since the earlier visit comes first; else as found.
    """
    return tuple(
        sorted(findings, key=lambda finding: (VERDICTS.index(finding.verdict), not is_change(finding)))
    )


def places(findings: Findings, site: Site) -> tuple[Place, ...]:
    """Findings by place, the most urgent place first, each with the number of its mark in the picture."""
    numbers: dict[tuple[str | None, str | None], int] = {
        (picture.frame, mark["id"]): mark["number"]
        for picture in findings.pictures
        if picture.frame in site.frames
        for mark in marks_of(
            picture, site.frames[picture.frame].apparent_degc.shape[0], site.keys.report.language
        )
    }
    compared = {(m.frame, m.id) for picture in findings.pictures for m in picture.marks if m.role == "sound"}
    groups: dict[tuple[str, str | None, str | None], list[Finding]] = {}
    for finding in by_urgency(findings.findings):
        groups.setdefault((finding.place, finding.frame, finding.mark), []).append(finding)
    found = [
        Place(
            number=0,
            findings=tuple(group),
            mark_number=numbers.get((frame, mark)),
            is_comparison=(frame, mark) in compared,
        )
        for (_, frame, mark), group in groups.items()
    ]
    found.sort(key=lambda place: not place.is_at_once)
    return tuple(replace(place, number=i) for i, place in enumerate(found, start=1))


def news(found: Sequence[Place]) -> tuple[Place, ...]:
    """Places that the short answer names; all where nothing else was found."""
    return tuple(place for place in found if place.is_news) or tuple(found)


def _weight(finding: Finding) -> Verdict | None:
    """A finding without a limit asks as strongly as one that breaks it, where it is more likely than not."""
    likely = finding.probability is not None and finding.probability >= MORE_LIKELY_THAN_NOT
    return "indicated" if finding.verdict is None and likely else finding.verdict


def _order(place: Place, finding: Finding, step: NextStep) -> int:
    """The cure of the likeliest cause, then what else follows, then what only tells causes apart."""
    if step.tells_apart and place.is_answered:
        return 2
    is_cure = not finding.alternatives and (finding.probability or 0.0) > MORE_LIKELY_THAN_NOT
    return 0 if is_cure else 1


def jobs(found: Iterable[Place], words: Wording) -> tuple[Job, ...]:
    """Every next step once, the most urgent first; of jobs alike what the likeliest cause calls for."""
    asking: dict[tuple[str, str], list[Place]] = {}
    urgent: dict[tuple[str, str], Verdict | None] = {}
    order: dict[tuple[str, str], int] = {}
    at_once: set[tuple[str, str]] = set()
    for place in found:
        for finding in place.findings:
            for step in finding.next_steps:
                key = (words.text(step.step), words.text(step.by))
                who = asking.setdefault(key, [])
                if place not in who:
                    who.append(place)
                urgent[key] = min(urgent.get(key), _weight(finding), key=VERDICTS.index)
                order[key] = min(order.get(key, 2), _order(place, finding, step))
                if step.at_once:
                    at_once.add(key)
    ordered = sorted(asking, key=lambda key: (key not in at_once, VERDICTS.index(urgent[key]), order[key]))
    return tuple(
        Job(job=key[0], by=key[1], places=tuple(asking[key]), verdict=urgent[key], at_once=key in at_once)
        for key in ordered
    )


def urgent(todo: tuple[Job, ...]) -> tuple[Job, ...]:
    """Jobs for page one: those that a verdict asks for, or the first few where none does."""
    asked = tuple(job for job in todo if job.at_once or job.verdict in ("indicated", "inconclusive"))
    return asked or todo[:MOST_WITHOUT_HURRY]


def charts(found: Iterable[Place], findings: Findings, words: Wording) -> tuple[ChartPart, ...]:
    """Every chart as the page shows it, with the number of the place that it belongs to, if to one."""
    numbers = {place.name: place.number for place in reversed(tuple(found))}
    return tuple(
        ChartPart(
            number=number,
            title=words.text(chart.title),
            summary=words.text(chart.summary),
            place=numbers.get(chart.place or ""),
            figure=script_json(figure(chart, words.language)),
            table=table(chart, words),
            limits=limit_words(chart, words),
            has_band=has_band(chart),
        )
        for number, chart in enumerate(findings.charts, start=1)
    )


def thumbnails(found: Iterable[Place], findings: Findings, site: Site) -> dict[int, str]:
    """Small pictures of the most urgent marked places, by the number of the place."""
    case = case_of(findings, site)
    marks = {(mark.frame, mark.id): mark.as_json() for picture in findings.pictures for mark in picture.marks}
    shown = [place for place in found if (place.lead.frame, place.lead.mark) in marks]
    return {
        place.number: thumbnail_uri(
            nominal_surface_degc(case, str(place.lead.frame)),
            marks[str(place.lead.frame), str(place.lead.mark)],
        )
        for place in shown[:MOST_THUMBNAILS]
    }


def views(found: tuple[Place, ...], findings: Findings, site: Site, words: Wording) -> tuple[View, ...]:
    """Places by the frame they are seen on, then pictures on which nothing was found."""
    case = case_of(findings, site)
    groups: dict[tuple[str, str], list[Place]] = {}
    for place in found:
        frame = place.lead.frame
        key = ("frame", frame) if frame is not None and frame in site.frames else ("place", place.name)
        groups.setdefault(key, []).append(place)
    pictures = {picture.frame: picture for picture in findings.pictures if picture.frame in site.frames}
    for name in pictures:
        groups.setdefault(("frame", name), [])
    charted = {chart.place for chart in findings.charts}
    return tuple(
        _on_frame(
            site,
            case,
            pictures.get(name, Picture(frame=name, marks=())),
            split(group, charted),
            findings,
            words,
        )
        if kind == "frame"
        else View(title=name, places=tuple(group))
        for (kind, name), group in groups.items()
    )


def split(
    found: Iterable[Place], charted: Collection[str | None] = ()
) -> tuple[tuple[Place, ...], tuple[Place, ...]]:
    """Places told in full, and those that one line is enough for; who has a chart is told in full."""
    full: list[Place] = []
    brief: list[Place] = []
    for place in found:
        (brief if place.is_brief and place.name not in charted else full).append(place)
    return tuple(full), tuple(brief)


def brief_cautions(shown: Iterable[View], words: Wording) -> list[str]:
    """Cautions of places told in a line that no place told in full has."""
    full: set[str] = set()
    brief: dict[str, None] = {}
    for view in shown:
        full |= {text for place in view.places for text in place.cautions(words)}
        brief |= dict.fromkeys(text for place in view.brief for text in place.cautions(words))
    return [text for text in brief if text not in full]


def _on_frame(
    site: Site,
    case: Case,
    picture: Picture,
    found: tuple[tuple[Place, ...], tuple[Place, ...]],
    findings: Findings,
    words: Wording,
) -> View:
    frame = site.frames[picture.frame]
    room = frame.room.label if frame.room is not None else ""
    title = f"{room} – {picture.frame}" if room else picture.frame
    data = picture_data(picture, corrected(case, picture.frame), findings, words, case)
    data["label"] = visible(words.say("annex.picture-label", place=title))
    laid_over = _laid_over(case, picture.frame, words)
    if laid_over is not None:
        data["photo"], data["photo_aligned"] = laid_over[0], True
    lines = [
        f"{line_label(line, words)} {words.number(line.temperature_degc, 1, 'degC')}"
        for line in picture.lines
    ]
    return View(
        title=title,
        places=found[0],
        brief=found[1],
        frame=frame,
        picture=script_json(data),
        lines=", ".join(lines),
        photo=photo_uri(site.folder / frame.photo) if frame.photo is not None else None,
        laid_over=laid_over[1] if laid_over is not None else "",
        facts=frame_facts(frame, case, words),
    )


def _laid_over(case: Case, name: str, words: Wording) -> tuple[str, str] | None:
    """The photo as the frame sees it, and what is said of that; None where nothing says how it lies."""
    found, frame = photo_alignment(case, name), case.site.frames[name]
    if found is None or frame.photo is None:
        return None
    uri = laid_over_uri(case.site.folder / frame.photo, found, frame.apparent_degc.shape)
    said = " ".join(words.text(sentence) for sentence in alignment_said(case, name, found))
    return None if uri is None else (uri, said)


def terms_used(findings: Findings) -> tuple[Term, ...]:
    """Terms of all quantities and limits, in order of appearance."""
    terms: dict[str, Term] = {}
    for finding in by_urgency(findings.findings):
        for item in finding.quantities:
            terms.setdefault(item.term.id, item.term)
        if finding.limit is not None:
            terms.setdefault(finding.limit.term.id, finding.limit.term)
    return tuple(terms.values())
