import base64
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from thermalkit.annex.build import build, page, write_annex
from thermalkit.annex.content import places
from thermalkit.annex.wording import VERDICTS
from thermalkit.diagnosis.finding import Remark, Survey
from thermalkit.diagnosis.run import run
from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.record.store import read_record, replay
from thermalkit.site import read_site

VOID = {"meta", "link", "img", "br", "hr", "input", "line", "rect", "circle"}


class Outline(HTMLParser):
    """Headings, ids, links and text of a page; complains of what does not close."""

    def __init__(self, html):
        super().__init__()
        self.open, self.headings, self.ids, self.links, self.text, self.attributes = [], [], [], [], [], []
        self.feed(html)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.attributes += [name for name, _ in attrs]
        values = dict(attrs)
        self.ids += [values["id"]] if "id" in values else []
        self.links += [values["href"]] if "href" in values else []
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.attributes += [name for name, _ in attrs]

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        if not {"script", "style"} & set(self.open):
            self.text.append(data)
            if self.open and re.fullmatch("h[1-6]", self.open[-1]):
                self.headings.append((self.open[-1], data.strip()))

    @property
    def words(self):
        return " ".join(" ".join(self.text).split())


@pytest.fixture(scope="module")
def html(findings, site, record):
    return page(findings, site, record, "en").decode("utf-8")


@pytest.fixture(scope="module")
def outline(html):
    return Outline(html)


def test_two_builds_are_equal_to_the_byte(site, record):
    """Nothing in a page depends on when it was made."""
    assert build(site, record, "damp") == build(site, record, "damp")


def test_annex_stays_small(site, record):
    """Two pictures of 320 x 240 with their photos: 1 MB without charts, 3 MB with."""
    findings = run("damp", site, replay(record))
    assert findings.charts
    assert len(page(findings, site, record, "en")) < 3_000_000
    assert len(page(replace(findings, charts=()), site, record, "en")) < 1_000_000


def test_page_shows_every_finding_with_its_numbers(outline, findings):
    """Each statement, value and interval of the findings file can be read in the page."""
    for finding in findings.as_json("en")["findings"]:
        told = finding["statement"].removeprefix(f"{finding['place']}: ")
        assert " ".join(told[1:].split()) in outline.words
        for caution in finding["cautions"]:
            assert caution in outline.words
        for step in finding["next_steps"]:
            assert " ".join(step["step"].split()) in outline.words


def test_chapters_stand_in_their_order(outline):
    """The answer first, the declaration last."""
    chapters = [text for level, text in outline.headings if level == "h2"]
    assert chapters == [
        "The answer in short",
        "Contents",
        "Does the survey allow these conclusions?",
        "Conditions of the survey",
        "The places in detail",
        "What was looked at, and what was not",
        "Limits",
        "Method and sources",
        "Assumptions used",
        "Instruments",
        "Decisions",
        "Provenance",
        "Terms used",
        "What this annex does not do",
        "Declaration of the surveyor",
    ]


def test_links_within_the_page_have_an_end(outline):
    """Every link leads to an id that is there once."""
    assert len(set(outline.ids)) == len(outline.ids)
    assert {link.removeprefix("#") for link in outline.links} <= set(outline.ids)


def test_most_urgent_place_comes_first(html, findings, site):
    """Indicated, inconclusive, not indicated, noted; in the short answer too."""
    found = [VERDICTS.index(place.lead.verdict) for place in places(findings, site)]
    assert found == sorted(found)
    assert len(set(found)) > 2
    answer = html[html.index('class="answers"') : html.index("</ol>")]
    order = ["indicated", "inconclusive", "not-indicated", "noted"]
    seen = [order.index(v) for v in re.findall(r'class="verdict ([a-z-]+)"', answer)]
    assert seen
    assert seen == sorted(seen)


def test_complete_record_needs_no_excuse(outline):
    """No open question, nothing unconfirmed."""
    assert "not complete" not in outline.words
    assert "not confirmed" not in outline.words


def test_page_one_names_each_open_step(invented, site):
    """Missing and stale decisions are told apart, and what rests on them is not confirmed."""
    record = invented.entries("damp", site, steps=("frames", "limit"))
    stale = record.entries[-1].model_copy(update={"inputs": "sha256:" + "0" * 64})
    record = replace(record, entries=(*record.entries[:-1], stale))
    words = Outline(build(site, record, "damp").decode("utf-8")).words
    opened = run("damp", site, replay(record)).open_steps
    assert {step.state for step in opened} == {"missing", "stale"}
    first = words[: words.index("What to do, and by whom")]
    assert "This annex is not complete" in first
    for step in opened:
        assert say(f"damp.step.{step.step}") == step.title
    assert first.count("not decided yet") == sum(s.state == "missing" for s in opened)
    assert first.count("the facts it rested on have changed since") == sum(s.state == "stale" for s in opened)
    assert "not confirmed by the surveyor" in first


def test_empty_record_builds_all_the_same(site):
    """Without a record there is a page, and it says so."""
    words = Outline(build(site, read_record(site.folder, "damp"), "damp").decode("utf-8")).words
    assert "No decision is on record." in words


def test_change_of_mind_stays_visible(outline):
    """The first answer, why it was given, and that it was replaced."""
    assert "only this one" in outline.words
    assert "replaced later" in outline.words
    assert "22 January 2026, 10:00 (UTC+00:00)" in outline.words


def test_provenance_names_every_file_and_sum(outline, site):
    """Path and SHA-256 of each file read."""
    for path, digest in site.files.items():
        assert path in outline.words
        assert digest in outline.words


def test_instruments_carry_serial_accuracy_and_calibration(outline):
    """What makes a reading evidence."""
    for text in ("CAM-0001", "1 June 2025", "±2 K or ±2 % of the reading, the larger counts", "not stated"):
        assert text in outline.words


def test_remark_of_the_surveyor_is_rendered_without_its_html(findings, site, record):
    """Markdown counts, HTML in it is text."""
    told = replace(
        findings, decisions={**findings.decisions, "remark": "**Dry** since May <b onclick=x>y</b>"}
    )
    html = page(told, site, record, "en").decode("utf-8")
    assert "<strong>Dry</strong> since May &lt;b" in html


def test_unusable_survey_says_no(findings, site, record):
    """The remark and what it does to the result stand beside the answer."""
    survey = Survey(usable=False, remarks=(Remark(statement=say("annex.whole-visit"), effect="excludes"),))
    words = Outline(page(replace(findings, survey=survey), site, record, "en").decode("utf-8")).words
    assert "No. The conditions of the visit do not allow" in words
    assert "the picture was not used" in words


def test_no_finding_is_told_too(findings, site, record):
    """A page without findings is still a whole page."""
    words = Outline(page(replace(findings, findings=()), site, record, "en").decode("utf-8")).words
    assert "The survey led to no findings." in words
    assert "Nothing needs to be done" in words


def test_further_analysis_is_appended(site, record):
    """Cells of the consultant's own stand in a chapter that says whose they are."""
    html = build(
        site, record, "damp", further=["# Energy\n\n| a |\n|---|\n| 1 |", "<p>x<script>y</script></p>"]
    )
    outline = Outline(html.decode("utf-8"))
    assert ("h3", "Energy") in outline.headings
    assert "Added by the author of this annex by hand" in outline.words


@pytest.mark.parametrize("language", ["en", "de"])
def test_page_is_whole_in_both_languages(findings, site, record, language):
    """Every tag closes, nothing is styled or handled inline, the language is declared."""
    html = page(findings, site, record, language).decode("utf-8")
    outline = Outline(html)
    assert f'<html lang="{language}">' in html
    assert not [name for name in outline.attributes if name == "style" or name.startswith("on")]
    assert not re.search(r"\{[a-z_]+\}", outline.words)


def test_german_page_uses_german_numbers_and_words(findings, site, record):
    """Decimal comma, German verdicts, no English chapter."""
    words = Outline(page(findings, site, record, "de").decode("utf-8")).words
    assert re.search(r"\d,\d", words)
    assert "auffällig" in words
    assert "Date of the survey" not in words
    assert "21. Januar 2026" in words


@pytest.fixture
def private(invented, tmp_path):
    """The same site, private."""
    folder = invented.write_site(tmp_path / "site")
    toml = folder / "site.toml"
    toml.write_text(toml.read_text("utf-8").replace("[report]", "[report]\nprivate = true"), "utf-8")
    site = read_site(folder)
    return site, invented.entries("damp", site)


def test_private_annex_leaves_out_address_and_names(private, tmp_path):
    """Neither page, findings nor tables name the site or a person; the instruments stay."""
    site, record = private
    findings = run("damp", site, replay(record))
    for path in write_annex(tmp_path / "out.html", findings, site, record):
        text = path.read_text("utf-8")
        for name in ("Invented terrace", "Robin", "invented owner", "L2-5417"):
            assert name not in text, (path.name, name)
    assert "CAM-0001" in (tmp_path / "out.html").read_text("utf-8")
    assert "building surveyor" in (tmp_path / "out.html").read_text("utf-8")


def test_files_beside_the_annex_say_what_the_findings_say(findings, site, record, tmp_path):
    """Page, findings and two tables; the findings file fits its schema."""
    written = write_annex(tmp_path / "damp.html", findings, site, record)
    assert [p.name for p in written] == ["damp.html", "damp.json", "damp.csv", "damp.actions.csv"]
    content = json.loads((tmp_path / "damp.json").read_text("utf-8"))
    assert content == findings.as_json("en")
    schema = json.loads((files("thermalkit.annex") / "findings.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(content)


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda c: c["findings"][0].update(verdict="pass"), "is not one of"),
        (lambda c: c["findings"][0].pop("confirmed"), "is a required property"),
        (lambda c: c["inputs"][0].update(sha256="?"), "does not match"),
        (lambda c: c.update(extra=1), "Additional properties"),
    ],
)
def test_schema_refuses_what_is_no_findings_file(findings, spoil, why):
    """Another word, a missing field, a sum that is none, a field of somebody else's."""
    content = findings.as_json("en")
    spoil(content)
    schema = json.loads((files("thermalkit.annex") / "findings.schema.json").read_text("utf-8"))
    with pytest.raises(jsonschema.ValidationError, match=why):
        jsonschema.validate(content, schema)


def test_nothing_is_written_where_the_folder_is_none(findings, site, record, tmp_path):
    """One sentence, nothing half written, what stood there stays."""
    (tmp_path / "file").write_text("mine")
    with pytest.raises(WritingError, match="could not be written"):
        write_annex(tmp_path / "file" / "damp.html", findings, site, record)
    assert [p.name for p in tmp_path.iterdir()] == ["file"]
    assert (tmp_path / "file").read_text() == "mine"


@pytest.mark.parametrize("name", ["damp.json", "damp", "damp.csv"])
def test_annex_ends_in_html(findings, site, record, tmp_path, name):
    """Any other name would meet the files beside it."""
    with pytest.raises(WritingError, match=r"does not end in \.html"):
        write_annex(tmp_path / name, findings, site, record)
    assert list(Path(tmp_path).iterdir()) == []


def test_answers_to_many_questions_are_told_in_words(outline):
    """A form's decision reads as question and outcome, not as the ids of the record."""
    text = outline.words[outline.words.index("Every answer the surveyor gave") :]
    assert "Surface humidity from the frame: above the limit" in text
    assert "frame-humidity" not in text


def test_position_and_owner_of_a_photo_reach_no_file(private, tmp_path):
    """Latitude, longitude, owner and serial number written by the camera are in none of the four files."""
    from PIL import Image

    site, record = private
    photo = site.folder / "photos" / "bedroom.jpg"
    exif = Image.Exif()
    exif[0x013B], exif[0xA431] = "Owner Invented", "SERIAL-4711"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 28.0, 40.12), 3: "W", 4: (0.0, 0.0, 5.31)})
    Image.new("RGB", (400, 300), "grey").save(photo, exif=exif)
    assert b"Exif" in photo.read_bytes()
    site = read_site(site.folder)
    written = write_annex(tmp_path / "out.html", run("damp", site, replay(record)), site, record)
    html = written[0].read_text("utf-8")
    pictures = [base64.b64decode(p) for p in re.findall(r"data:image/[a-z]+;base64,([^\"]+)", html)]
    assert len(pictures) > 3
    assert not [picture for picture in pictures if b"Exif" in picture]
    for content in (*pictures, *(path.read_bytes() for path in written)):
        assert b"Owner Invented" not in content
        assert b"SERIAL-4711" not in content
