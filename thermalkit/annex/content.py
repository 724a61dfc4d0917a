"""What the annex shows, in the order in which it shows it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace

from thermalkit.annex.chart_words import ChartTable, has_band, limit_words, table
from thermalkit.annex.charts import figure
from thermalkit.annex.conditions import frame_facts
from thermalkit.annex.photos import laid_over_uri, photo_uri
from thermalkit.annex.pictures import corrected, line_label, marks_of, picture_data, script_json
from thermalkit.annex.place import Place, by_urgency
from thermalkit.annex.thumbnails import thumbnail_uri
from thermalkit.annex.wording import Pairs, Wording, visible
from thermalkit.diagnosis.alignment import alignment_said, photo_alignment
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, Findings, Picture
from thermalkit.diagnosis.run import case_of
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.glossary import Term
from thermalkit.site import Site, SurveyFrame

MOST_THUMBNAILS = 3


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
    found.sort(key=lambda place: (not place.is_at_once, place.verdict != "indicated"))
    return tuple(replace(place, number=i) for i, place in enumerate(found, start=1))


def news(found: Sequence[Place]) -> tuple[Place, ...]:
    """Places that the short answer names; all where nothing else was found."""
    return tuple(place for place in found if place.is_news) or tuple(found)


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
