"""The forms of one hand-out that need nothing installed: an offline page, and a sheet to print."""

from __future__ import annotations

import base64
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
from markupsafe import Markup

from thermalkit import __version__
from thermalkit.annex.html import environment, policy
from thermalkit.annex.packing import PICTURE_SCRIPT, packed_frame, page_style
from thermalkit.annex.photos import photo_uri
from thermalkit.annex.pictures import labels, script_json
from thermalkit.annex.thumbnails import coloured
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import EMISSIVITIES
from thermalkit.diagnosis.class_.choices import words as in_words
from thermalkit.diagnosis.class_.controls import Hints, Numbers
from thermalkit.diagnosis.class_.notes import notes
from thermalkit.diagnosis.class_.questions import in_own_words, kind_of, questions
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.diagnosis.decisions import Answers, Case, MarksOn, OneOf, SomeOf, Step
from thermalkit.diagnosis.surface import frame_temperatures
from thermalkit.exercise.plan import ClassKeys
from thermalkit.language import catalogue
from thermalkit.measured import FloatArray
from thermalkit.site import Site

HERE = Path(__file__).parent
_STYLE = HERE.parent / "annex" / "style.css"
_STILL_PX = 480
_GRID_COLUMNS, _GRID_ROWS = 20, 15
_SHEET_K, _SHEET_ROWS = 1.0, 30
_NOT_THE_LAMP = 0.97


def form_files(site: Site, plan: ClassKeys, learner: str) -> dict[str, bytes]:
    """Files to lie beside the site file."""
    words = Wording(plan.language)
    return {"page.html": page(site, plan, learner, words), "sheet.html": sheet(site, plan, learner, words)}


def page(site: Site, plan: ClassKeys, learner: str, words: Wording) -> bytes:
    """One file that asks every question offline and saves the answers as a record."""
    kind = kind_of(site)
    beside = questions(kind).beside
    style = "\n".join([_STYLE.read_text("utf-8"), (HERE / "pages.css").read_text("utf-8"), page_style()])
    script = "\n".join(path.read_text("utf-8") for path in (PICTURE_SCRIPT, HERE / "page.js"))
    data = {
        "learner": learner,
        "store": f"{plan.digest[:16]}/{learner}",
        "thermalkit": __version__,
        "language": plan.language,
        "steps": [_step(step, site, words) for step in STEPS],
        "inputs": _inputs(site),
        "frames": [_frame(site, name, words) for name in site.frames],
        "beside": {"unit": words.number(0.0, 0, beside.unit).removeprefix("0"), "digits": beside.digits},
        "labels": labels(plan.language) | _tool_labels(plan.language),
        "words": _own_words(plan.language, kind),
    }
    html = (
        environment(words, HERE)
        .get_template("page.html")
        .render(
            title=site.keys.site.name,
            question=site.keys.site.question or "",
            notes=_notes(site, words),
            data=Markup(script_json(data)),
            style=Markup(style),
            script=Markup(script),
            policy=policy(style, [script]),
        )
    )
    return html.encode("utf-8", "replace")


def sheet(site: Site, plan: ClassKeys, learner: str, words: Wording) -> bytes:
    """Sheets of A4: pictures and questions first, temperatures as numbers on later sheets."""
    style = "\n".join(path.read_text("utf-8") for path in (_STYLE, HERE / "sheet.css"))
    html = (
        environment(words, HERE)
        .get_template("sheet.html")
        .render(
            title=site.keys.site.name,
            question=site.keys.site.question or "",
            notes=_notes(site, words),
            stills=[(name, _still(site, name), _photo(site, name)) for name in site.frames],
            grids=[(name, _grid(site, name, words)) for name in site.frames],
            correction=_correction(site, words),
            beside=words.text(in_own_words("exercise", kind_of(site), "sheet-beside")),
            mark=words.text(in_own_words("exercise", kind_of(site), "sheet-mark")),
            emissivities=[words.number(float(e), 2) for e in EMISSIVITIES],
            steps={step["name"]: step for step in (_step(step, site, words) for step in STEPS)},
            style=Markup(style),
            policy=policy(style),
        )
    )
    return html.encode("utf-8", "replace")


def _notes(site: Site, words: Wording) -> list[tuple[str, str]]:
    from thermalkit.language import words_in

    return [(words.text(title), words_in(text, words.language)) for title, text in notes(site)]


def _step(step: Step, site: Site, words: Wording) -> dict[str, Any]:
    """A question as the page asks it: its form by name, its options as id and text."""
    control, case = step.control, Case(site=site)
    asked: dict[str, Any] = {
        "name": step.name,
        "title": words.text(step.title_for(case)),
        "uses": list(step.uses),
        "nothing": step.propose(case),
    }
    if isinstance(control, Hints):
        texts = {id: words.text(control.text(case, id)) for id in control.options(case)}
        return asked | {"form": "hints", "options": _options(control, case, words), "texts": texts}
    if isinstance(control, OneOf | SomeOf):
        form = "one" if isinstance(control, OneOf) else "some"
        return asked | {"form": form, "options": _options(control, case, words)}
    if isinstance(control, MarksOn):
        return asked | {"form": "marks", "role": control.role}
    if isinstance(control, Numbers):
        kind = kind_of(site)
        numbers = [
            [name, words.text(in_words(kind, "numbers", name)), i.low, i.high, i.digits, i.units]
            for name, i in control.asked(case).items()
        ]
        return asked | {"form": "numbers", "numbers": numbers}
    if isinstance(control, Answers):
        questions = control.options(case)
        outcomes = [[id, words.text(text)] for id, text in next(iter(questions.values())).outcomes.items()]
        asked_of = [[id, words.text(item.title)] for id, item in questions.items()]
        return asked | {"form": "order", "questions": asked_of, "options": outcomes}
    return asked | {"form": "words", "longest": getattr(control, "longest", 0)}


def _options(control: OneOf | SomeOf, case: Case, words: Wording) -> list[list[str]]:
    return [[id, words.text(text)] for id, text in control.options(case).items()]


def _inputs(site: Site) -> dict[str, str]:
    """Parts of what marks rest on, written as the record's fingerprint writes them."""
    step = next(step for step in STEPS if step.name == "suspect")
    inputs = Case(site=site).inputs(step)
    return {
        name: json.dumps(inputs[name], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        for name in ("files", "site")
    }


def _frame(site: Site, name: str, words: Wording) -> dict[str, Any]:
    """One picture: a still without numbers, and what it shows for each emissivity that may be chosen."""
    frame = site.frames[name]
    seen = {}
    for chosen in EMISSIVITIES:
        case = Case(site=site)
        case.decided["emissivity"] = chosen
        found = frame_temperatures(case, name)
        rows = [[round(v, 2) for v in row] for row in sorted(found.table) if np.all(np.isfinite(row))]
        surface = found.surface_degc
        seen[chosen] = {"frame": packed_frame(surface), "interval": rows, "bar": colour_limits(surface)}
    return {
        "id": name,
        "room": frame.room.label if frame.room is not None else "",
        "still": _still(site, name),
        "photo": _photo(site, name),
        "seen": seen,
        "beside": questions(kind_of(site)).beside.table(site, name),
    }


def _still(site: Site, name: str) -> str:
    """The picture without a scale: what is to be judged before numbers are seen."""
    apparent = site.frames[name].apparent_degc
    limits = colour_limits(apparent)
    picture = coloured(np.clip(apparent, limits["low"], limits["high"]))
    rows, columns = apparent.shape
    picture = picture.resize((_STILL_PX, round(rows * _STILL_PX / columns)))
    stream = io.BytesIO()
    picture.save(stream, "PNG", optimize=True)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode("ascii")


def colour_limits(temperatures_degc: FloatArray) -> dict[str, float]:
    """Limits of the colours that the wall itself needs: a lamp must not take them all."""
    low, high = np.nanquantile(temperatures_degc, [0.002, _NOT_THE_LAMP])
    return {"low": float(np.floor(2.0 * low) / 2.0), "high": float(np.ceil(2.0 * high) / 2.0 + 0.5)}


def _photo(site: Site, name: str) -> str:
    photo = site.frames[name].photo
    return (photo_uri(site.folder / photo) or "") if photo is not None else ""


def _grid(site: Site, name: str, words: Wording) -> dict[str, Any]:
    """Apparent temperatures as printed numbers: means of blocks, with the pixels they stand for."""
    apparent = site.frames[name].apparent_degc
    rows = np.array_split(np.arange(apparent.shape[0]), _GRID_ROWS)
    columns = np.array_split(np.arange(apparent.shape[1]), _GRID_COLUMNS)
    return {
        "columns": [round(float(c.mean())) for c in columns],
        "rows": [
            (
                round(float(r.mean())),
                [words.number(float(np.nanmean(apparent[np.ix_(r, c)])), 1) for c in columns],
            )
            for r in rows
        ],
    }


def _correction(site: Site, words: Wording) -> list[dict[str, Any]]:
    """For each picture: surface temperature by what is shown and emissivity, and what stands beside it."""
    found, beside = [], questions(kind_of(site)).beside
    for name in site.frames:
        apparent = site.frames[name].apparent_degc
        low, high = np.floor(np.nanquantile(apparent, 0.002)), np.ceil(np.nanquantile(apparent, 0.98))
        table = np.array(beside.table(site, name) or [[0.0, np.nan]])
        rows = []
        step = _SHEET_K * max(1.0, np.ceil((high - low) / _SHEET_ROWS))
        for value in np.arange(low, high + step, step):
            surfaces = [_surface(site, name, chosen, float(value)) for chosen in EMISSIVITIES]
            there = float(np.interp(value, table[:, 0], table[:, 1]))
            rows.append(
                (
                    words.number(float(value), 0),
                    [words.number(surface, 1) for surface in surfaces],
                    words.number(there, beside.digits, beside.unit),
                )
            )
        found.append({"frame": name, "rows": rows})
    return found


def _surface(site: Site, name: str, chosen: str, apparent_degc: float) -> float:
    from thermalkit.diagnosis.surface import view

    case = Case(site=site)
    case.decided["emissivity"] = chosen
    return float(np.median(view(case, name).surface_degc(apparent_degc)))


def _tool_labels(language: str) -> dict[str, Any]:
    texts = {
        id.removeprefix("workbook.tool."): text
        for id, text in catalogue(language).items()
        if id.startswith("workbook.tool.")
    }
    return {**texts, "keysMark": [line.split("|", 1) for line in texts["keysMark"].splitlines()]}


def _own_words(language: str, kind: str) -> dict[str, str]:
    """Words of the page, the kind's own in place of those that kinds share."""
    found: dict[str, str] = {}
    for prefix in ("exercise.page.", f"exercise.{kind}.page."):
        texts = catalogue(language).items()
        found |= {id.removeprefix(prefix): text for id, text in texts if id.startswith(prefix)}
    return found
