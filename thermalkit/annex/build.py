"""The annex: one HTML file for the client, its findings as JSON, its numbers and jobs as CSV."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from jinja2 import Environment
from markupsafe import Markup

from thermalkit import __version__
from thermalkit.annex import changes, conditions, content, hazards, rows
from thermalkit.annex.charts import CHART_SCRIPTS
from thermalkit.annex.hazards import hazard
from thermalkit.annex.history import decisions
from thermalkit.annex.html import environment, policy
from thermalkit.annex.jobs import jobs, urgent
from thermalkit.annex.packing import page_script, page_style
from thermalkit.annex.pictures import script_json
from thermalkit.annex.place import items_of
from thermalkit.annex.prose import fragment_html, remark_html
from thermalkit.annex.tables import actions_csv, findings_csv
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.finding import Findings
from thermalkit.diagnosis.run import run
from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.record.store import Record, recall, replay
from thermalkit.record.whole import write_whole
from thermalkit.site import Site
from thermalkit.site.new import SUBFOLDERS

_HERE = Path(__file__).parent
STANDING = (
    "annex.caution.surface",
    "annex.caution.consistent",
    "annex.caution.interval",
    "annex.caution.work",
)


def build(site: Site, record: Record, kind: str, *, further: Sequence[str] = ()) -> bytes:
    """The annex of an investigation as its record stands.

    Where a decision is missing or stale the proposal stands in; page one and each finding that rests
    on it say so.

    Parameters
    ----------
    site, record
        As read from disk.
    kind : str
        The investigation, such as "damp".
    further : sequence of str
        Parts of a consultant's own notebook, Markdown or HTML, shown as "Further analysis".

    Returns
    -------
    bytes
        One HTML file in UTF-8 that needs nothing else; the same bytes for the same input.
    """
    findings = run(kind, site, replay(record), recall(record))
    return page(findings, site, record, site.keys.report.language, further=further)


def page(
    findings: Findings, site: Site, record: Record, language: str, *, further: Sequence[str] = ()
) -> bytes:
    """Findings as one HTML file."""
    words = Wording(language)
    style, scripts = _style(site), _scripts(findings)
    html = (
        _environment(words)
        .get_template("page.html")
        .render(
            **_content(findings, site, record, words),
            further=[Markup(fragment_html(fragment)) for fragment in further],
            style=Markup(style),
            scripts=[Markup(script) for script in scripts],
            policy=policy(style, scripts),
        )
    )
    return html.encode("utf-8", "replace")


def write_annex(
    path: Path,
    findings: Findings,
    site: Site,
    record: Record,
    *,
    language: str | None = None,
    further: Sequence[str] = (),
) -> tuple[Path, ...]:
    """Write the annex and, beside it, its `.json`, `.csv` and `.actions.csv`.

    Everything is made before anything is written, and each file is written whole or not at all.

    Returns
    -------
    tuple of Path
        The files written, the annex first.

    Raises
    ------
    WritingError
        The name does not end in .html, it would take the place of what the annex was made from, or a
        file cannot be written; what was there stays.
    """
    path = Path(path)
    if path.suffix.lower() not in (".html", ".htm"):
        raise WritingError(say("annex.not-html", path=str(path)))
    language = language or site.keys.report.language
    shown = without_names(findings) if site.keys.report.private else findings
    text = json.dumps(shown.as_json(language), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    classes = [hazard(finding, site) for finding in shown.findings]
    made = {
        path: page(findings, site, record, language, further=further),
        path.with_suffix(".json"): text.encode("utf-8", "replace"),
        path.with_suffix(".csv"): findings_csv(shown, language),
        path.with_suffix(".actions.csv"): actions_csv(shown, language, classes),
    }
    _require_no_evidence(made, site, record)
    for file, data in made.items():
        write_whole(file, data)
    return tuple(made)


def _require_no_evidence(made: Iterable[Path], site: Site, record: Record) -> None:
    """The record, readings, frames, photos and loggers are never written over, nor written among."""
    evidence = {(site.folder / path).resolve() for path in site.files} | {record.path.resolve()}
    folders = {path.parent for path in evidence} | {(site.folder / name).resolve() for name in SUBFOLDERS}
    folders.discard(site.folder.resolve())
    for file in made:
        if file.resolve() in evidence or file.resolve().parent in folders:
            raise WritingError(say("annex.over-evidence", path=str(file)))


def without_names(findings: Findings) -> Findings:
    """Findings without the name of the site, which may be an address."""
    return replace(findings, site_name="")


def _environment(words: Wording) -> Environment:
    made = environment(words)
    made.filters["picture"] = lambda data: Markup(script_json(data))
    made.filters["items"] = items_of
    made.filters["jobs"] = lambda place: jobs([place], words)
    return made


def _content(findings: Findings, site: Site, record: Record, words: Wording) -> dict[str, Any]:
    """Everything the templates name."""
    private = site.keys.report.private
    found = content.places(findings, site)
    kind = words.either(f"annex.kind.{findings.kind}", findings.kind)
    remark = findings.decisions.get("remark", "")
    todo = jobs(found, words)
    history = decisions(record, findings, site, words)
    since = changes.page(findings, site, record, words)
    shown = content.views(found, findings, site, words)
    return {
        "title": words.say("annex.title", kind=kind),
        "keys": site.keys,
        "private": private,
        "site_name": "" if private else findings.site_name,
        "findings": findings,
        "places": found,
        "news": content.news(found),
        "jobs": todo,
        "urgent_jobs": urgent(todo),
        "remark": Markup(remark_html(remark)) if isinstance(remark, str) and remark.strip() else "",
        "views": shown,
        "brief_cautions": content.brief_cautions(shown, words),
        "step_title": lambda name: words.either(f"{findings.kind}.step.{name}", name),
        "charts": content.charts(found, findings, words),
        "thumbnails": content.thumbnails(found, findings, site),
        "survey_rows": rows.survey(findings, words),
        "again": conditions.again(findings, words),
        "outdoors": conditions.outdoors(site, words),
        "room_rows": conditions.rooms(site, words),
        "element_rows": conditions.elements(site, words),
        "reading_rows": conditions.readings(site, words),
        "unused_rows": conditions.unused_frames(findings, site, words),
        "hazard_rows": hazards.rows(found, site, words),
        "hazards": {place.number: hazards.soonest(place, site) for place in found},
        "limit_rows": conditions.limits(findings, words),
        "limit_facts": conditions.limit_facts(findings, words),
        "source_rows": conditions.sources(findings, words),
        "method": words.either(f"annex.method.{findings.kind}", ""),
        "provenance_rows": conditions.provenance(findings, site, words),
        "site": site,
        "sound_texts": rows.sound(found, words),
        "unseen_texts": rows.unseen(site, words),
        "looked_rows": rows.looked_at(site, words),
        "assumption_rows": rows.assumptions(findings, words),
        "instrument_rows": rows.instruments(site, words),
        "decisions": history,
        "decision_rows": rows.decisions(history),
        "term_rows": rows.terms(findings, words),
        "terms": content.terms_used(findings),
        "standing": STANDING,
        "since": since,
        "chapters": rows.chapters(site, since),
        "version": __version__,
    }


def _style(site: Site) -> str:
    """All style, with the reference of the job at the foot of each printed page."""
    own = (_HERE / "style.css").read_text(encoding="utf-8")
    foot = _css_string(site.keys.site.reference or "")
    reference = f"@page{{@bottom-left{{content:{foot};color:#55606b;font:9pt system-ui,sans-serif}}}}"
    return f"{page_style()}\n{own}\n{reference}\n"


def _css_string(text: str) -> str:
    r"""A text as a string of a style sheet that nothing in it can end.

    Examples
    --------
    >>> _css_string('A"}</style>')
    '"A\\22 \\7d \\3c \\2f style\\3e "'
    """
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text[:80]) + '"'


def _scripts(findings: Findings) -> list[str]:
    """The programs of a page: for pictures, and for charts only where there are any."""
    scripts = [page_script()] if findings.pictures else []
    return scripts + [path.read_text("utf-8") for path in CHART_SCRIPTS if findings.charts]
