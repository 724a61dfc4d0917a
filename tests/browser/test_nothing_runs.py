"""Hostile text in every text field of a site file and of a record: nothing of it runs anywhere."""

from __future__ import annotations

import csv
import io
import json
import shutil
import tomllib
from datetime import UTC, datetime
from html.parser import HTMLParser
from itertools import cycle
from pathlib import Path
from typing import Annotated, Any, Literal, get_args, get_origin

import pytest
from pydantic import AfterValidator

from thermalkit.annex.build import write_annex
from thermalkit.annex.wording import visible
from thermalkit.diagnosis.run import Answer, run
from thermalkit.record.store import read_record, replay, save_record, with_decision
from thermalkit.scenes.toml_text import toml_text
from thermalkit.site import read_site
from thermalkit.site.fields import Between, FileInFolder, Keys, RefersTo
from thermalkit.site.problems import table_model
from thermalkit.site.sections import site_model
from thermalkit.workbook import open_session

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"
DEED = "window.deeds = 1"
# Ids are at most 64 characters long and hold no slash.
SHORT = (
    f"<img src=x onerror='{DEED}'>",
    "=cmd|'calc'!A0",
    "{{7*7}}${7*7}{0.__class__}%s",
    f'"><svg onload="{DEED}">',
    "@SUM(1+1)*cmd|'calc'!A0",
    "+1+1",
    "-2+3",
)
LONG = (
    f"<script>{DEED}</script></title></style></script><script>{DEED}</script>",
    f'"><img src=x onerror="{DEED}"> \'><a href="javascript:{DEED}">x</a>',
    "=cmd|' /C calc'!A0",
    '\n=HYPERLINK("http://a.example")',
    "＝1+1",
    "{{7*7}} ${7*7} {% for x in y %} {{ keys.__class__ }} #{7*7} <%= 7*7 %>",
    "{0.__class__} {place} {x!r:{y}} %s %(a)s %n",
    f"[x](javascript:{DEED}) ![x](https://a.example/x.png) <iframe src=https://a.example></iframe>",
    f"</script><!-- --!> <![CDATA[ <svg/onload='{DEED}'> &lt;script&gt; \u2028 \\u003cscript>",
    "<meta http-equiv=refresh content=0;url=https://a.example><base href=https://a.example>"
    "<style>*{x:url(https://a.example)}</style>",
)
# What a record may hold besides, since it is no door for people.
RAW = ("\x1b[31m\x1b]0;title\x07", "\u202etxt.exe\u2066", "\x00\x08\r\t=1+1")


# A name of a table of ours; headings of a file.
WHEN = datetime(2026, 1, 21, 8, 0, tzinfo=UTC)
SKIPPED = {".limits.set", ".loggers.columns", ".frames.strip", ".junctions.known"}


class Texts:
    """Fills every text field that a model has with the next hostile text, and keeps count."""

    def __init__(self) -> None:
        self.long, self.short, self.filled = cycle(LONG), cycle(SHORT), []

    def spoil(self, model: type[Keys], table: dict[str, Any], path: str = "") -> dict[str, Any]:
        """The table with a hostile text in every field for free text, its tables below likewise."""
        spoilt = dict(table)
        for name, field in model.model_fields.items():
            here, inner = f"{path}.{name}", table_model(field.annotation)
            if here in SKIPPED:
                continue
            whole = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
            if inner is not None:
                spoilt[name] = self.tables(inner, whole, spoilt.get(name), here)
            elif validator(whole) == "_clean":
                spoilt[name] = next(self.long)
                self.filled.append(here)
            elif name not in spoilt and field.is_required():
                spoilt[name] = self.least(whole)
        return spoilt

    def tables(self, model: type[Keys], annotation: Any, found: Any, path: str) -> Any:
        if "dict[" in str(annotation):
            return {key: self.spoil(model, value, path) for key, value in (found or {}).items()}
        if "tuple[" in str(annotation):
            return [self.spoil(model, item, path) for item in (found or [{}])]
        return self.spoil(model, found or {}, path)

    def least(self, annotation: Any) -> Any:
        """A value that a required field takes."""
        if get_origin(annotation) is Literal:
            return get_args(annotation)[0]
        if get_origin(annotation) is Annotated:
            inner, *more = get_args(annotation)
            for item in more:
                if isinstance(item, Between):
                    return max(item.low, min(item.high, 5.0))
                if isinstance(item, (RefersTo, FileInFolder)):
                    raise TypeError(f"name a sound value of {annotation} in the sample")
            if validator(annotation) == "_clean_id":
                return next(self.short)
            return self.least(inner)
        raise TypeError(f"no sound value known for {annotation}")


def validator(annotation: Any) -> str:
    """The name of the check of a field for text."""
    if get_origin(annotation) is Annotated:
        names = [item.func.__name__ for item in get_args(annotation) if isinstance(item, AfterValidator)]
        return names[0] if names else validator(get_args(annotation)[0])
    return next((found for part in get_args(annotation) if (found := validator(part))), "")


def referring(frame: str, room: str) -> dict[str, Any]:
    """Tables whose required fields name something that stands elsewhere."""
    places = [[r, c, 10.0 * c, 10.0 * r] for r, c in ((10.0, 10.0), (10.0, 90.0), (90.0, 90.0), (90.0, 10.0))]
    return {
        "pressure": [{"frame": frame, "same_view_as": frame}],
        "junctions": [{"frame": frame, "mark": "cold"}],
        "heat_flux": [{"id": "plate", "plate": "logger", "indoor": "logger", "outdoor": "logger"}],
        "heat_losses": [{"room": room}],
        "cabinets": [{"id": "main"}],
        "circuits": [{"id": "f1", "cabinet": "main"}],
        "clocks": [{"instrument": "cam", "clock_showed": WHEN, "camera_wrote": WHEN}],
        "plans": [{"frame": frame, "points": places}],
        "floor_loops": [{"id": "floor", "frame": frame}],
        "fixings": [{"id": "hole", "frame": frame, "x_mm": 500.0, "y_mm": 500.0}],
    }


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """A site folder with hostile text in every field, and the fields."""
    folder = tmp_path_factory.mktemp("hostile") / "site"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record", "annex", "__pycache__"))
    raw = tomllib.loads((folder / "site.toml").read_text("utf-8"))
    raw["loggers"] = [
        {"id": "logger", "file": "loggers/a.csv", "place": "room", "room": raw["rooms"][0]["id"]}
    ]
    raw |= referring(raw["frames"][0]["id"], raw["rooms"][0]["id"])
    (folder / "loggers").mkdir(exist_ok=True)
    rows = "".join(
        f"2026-01-{20 + n // 24} {n % 24:02d}:00,{18 + n % 7 / 10},{60 + n % 5}\n" for n in range(48)
    )
    (folder / "loggers" / "a.csv").write_text("time,Temperature (°C),RH (%)\n" + rows, "utf-8")
    texts = Texts()
    (folder / "site.toml").write_text(toml_text(texts.spoil(site_model(), raw)), "utf-8")
    return folder, texts.filled


@pytest.fixture(scope="module")
def decided(hostile):
    """The same with a record whose marks, reasons, names and remark are hostile."""
    folder, _ = hostile
    site, texts = read_site(folder), cycle((*LONG, *RAW))
    frame = next(iter(site.frames))
    rows, columns = site.frames[frame].apparent_degc.shape
    places = [[rows / 2 + r, columns / 2 + c] for r, c in ((-9, -9), (-9, 9), (9, 9), (9, -9))]
    marks = [
        {"frame": frame, "id": text[:60], "shape": "patch", "points": places, "role": "suspect"}
        for text in (*SHORT, *LONG, *RAW)
    ]
    record = read_record(folder, "damp")

    def answer(step, propose, inputs):
        nonlocal record
        proposal = propose()
        value = {"suspect": marks, "remark": "\n\n".join((*LONG, *RAW))}.get(step.name, proposal)
        when = datetime(2026, 1, 21, tzinfo=UTC)
        record = with_decision(
            record, step, value, proposed=proposal, inputs=inputs, by=next(texts), at=when, reason=next(texts)
        )
        return Answer(value=value, state="decided")

    run("damp", site, answer)
    return site, save_record(record)


@pytest.fixture(scope="module")
def annex(decided, tmp_path_factory):
    """The annex of it, its JSON and its tables."""
    site, record = decided
    further = (*LONG, *RAW, *(f"<div>{text}</div>" for text in LONG))
    findings = run("damp", site, replay(record))
    return write_annex(
        tmp_path_factory.mktemp("annex") / "damp.html", findings, site, record, further=further
    )


def test_every_field_for_free_text_is_filled(hostile):
    """The models say which there are; a new field is met without a change here."""
    folder, filled = hostile
    assert len(filled) > 25
    assert {
        ".site.name",
        ".surveyor.name",
        ".rooms.name",
        ".looked_at.why",
        ".elements.layers.material",
    } <= set(filled)
    assert read_site(folder).keys.site.name in LONG


@pytest.mark.browser
def test_nothing_runs_in_the_annex(page, annex):
    """No deed, no dialog, no request, no error, no other title; what was written is there to be read."""
    dialogs, requests = [], []
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    page.on("request", lambda request: requests.append(request.url))
    page.goto(annex[0].as_uri())
    page.wait_for_function(
        "[...document.querySelectorAll('figure[data-picture]')].every(f => f.querySelector('.tk-marks'))"
    )
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    for canvas in page.locator(".tk-marks").all():
        canvas.hover()
    assert page.evaluate("window.deeds") is None
    assert dialogs == []
    assert [url for url in requests if not url.startswith(("data:", "blob:"))] == [annex[0].as_uri()]
    assert page.title().startswith("Damp and mould")
    text = page.locator("body").inner_text()
    assert "{{7*7}}" in text
    assert "${7*7}" in text
    assert page.evaluate(
        "[...document.links].every(a => ['http:', 'https:', 'mailto:', 'file:'].includes(a.protocol))"
    )
    assert page.locator("iframe, object, embed, form, base, [onerror], [onload], [onclick]").count() == 0


def test_no_cell_of_a_table_is_a_formula(annex):
    """Spreadsheet programs compute what starts with one of these signs; numbers may."""
    for path in annex[2:]:
        for row in csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")):
            for cell in row:
                assert visible(cell) == cell
                assert not cell.lstrip(" ").startswith(tuple("=+-@\t\r\n＝＋－＠")) or is_number(cell), cell
    json.loads(annex[1].read_text("utf-8"))


def is_number(cell):
    try:
        return bool(float(cell)) or True
    except ValueError:
        return False


class Elements(HTMLParser):
    """What a piece of HTML would make."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags, self.attributes = set(), {}
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        self.attributes.update(attributes)


def test_nothing_runs_in_a_notebook(decided):
    """Overview, panels, findings and the words beside the buttons are escaped."""
    site, _ = decided
    session = open_session("damp", site.folder)
    panels = [session.show(name) for name in session._steps] + [session.findings(), session.annex()]
    pieces = [session._repr_html_(), *(panel.as_html() for panel in panels)]
    pieces += [
        widget.value for panel in panels for widget in inside(panel) if type(widget).__name__ == "HTML"
    ]
    assert any("window.deeds" in html for html in pieces)
    for html in pieces:
        found = Elements(html)
        assert not found.tags & {
            "script",
            "img",
            "svg",
            "iframe",
            "style",
            "meta",
            "base",
            "a",
            "object",
            "form",
        }
        assert not [name for name in found.attributes if name.startswith("on") or name in {"href", "src"}]


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)
