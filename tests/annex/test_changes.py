"""What the annex says of an earlier visit."""

import json
import re
import shutil

import pytest

from thermalkit.annex.build import build, write_annex
from thermalkit.annex.changes import page
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site import read_site


@pytest.fixture(scope="module")
def visits(tmp_path_factory):
    """The repaired corner as it stands in the sample sites, read and concluded once."""
    from pathlib import Path

    folder = tmp_path_factory.mktemp("visits") / "repaired-corner"
    shutil.copytree(Path(__file__).parents[2] / "sample_sites" / "repaired-corner", folder)
    return concluded(folder)


def concluded(folder):
    site, record = read_site(folder), read_record(folder, "damp")
    return run("damp", site, replay(record), recall(record)), site, record


@pytest.fixture(scope="module")
def since(visits):
    return page(*visits, Wording("en"))


def test_every_place_of_either_visit_has_one_row(since):
    """Better, new, or no longer looked at, with the quantity that stands for it."""
    told = {row[0]: row[1] for row in since.places}
    assert told["Bedroom / corner"] == "▲ better"
    assert told["Bedroom / lintel"] == "+ new"
    assert told["Bedroom / middle"] == "– not measured this time"
    assert len(told) == len(since.places)
    assert since.summary == "2 better; 2 new; 1 no longer looked at"


def test_readings_of_both_days_stand_side_by_side(since):
    rows = {(row[0], row[1]): row[2:] for row in since.readings}
    assert rows["Bedroom", "Air"] == ["18.5\N{NO-BREAK SPACE}°C", "20.6\N{NO-BREAK SPACE}°C"]
    assert rows["Outdoors", "sky"] == ["overcast", "broken cloud"]


def test_answers_are_told_only_where_they_differ(since):
    """A row for each question; marks by their names where only one visit has them."""
    rows = {row[0]: row[2:] for row in since.decisions}
    assert rows["The coldest places"] == ["none", "lintel / lintel"]
    assert ["above the limit", "below the limit"] in rows.values()
    assert not any(then == now for then, now in rows.values())


def test_what_cancels_is_named(since):
    assert "instruments hygro, outdoor;" in since.shared
    assert "in the frames corner." in since.shared
    assert "nearly the same: corner." in since.shared


def test_both_pictures_have_one_bar_and_their_difference_is_in_shares(since):
    """The weather differed: no kelvin; red is nearer to the room's warmth."""
    [pair] = since.pairs
    assert pair.before["bar"] == pair.after["bar"]
    assert (pair.difference["difference"], pair.difference["unit"]) == (True, "%")
    assert "fixed points" in pair.caption
    assert pair.before["numbers"]["corner"][0].startswith("temperature factor 0.4")


def test_in_alike_weather_the_difference_is_in_kelvin(sample_site):
    folder = sample_site("repaired-corner")
    text = (folder / "earlier" / "site.toml").read_text("utf-8")
    for old, new in (
        ("air_temperature_degc = -1.8", "air_temperature_degc = 4.2"),
        ("mean_24h_air_temperature_degc = -1.7", "mean_24h_air_temperature_degc = 4.2"),
        ("air_temperature_degc = 18.5", "air_temperature_degc = 19.9"),
        ('sky = "overcast"', 'sky = "broken"'),
    ):
        assert old in text
        text = text.replace(old, new)
    (folder / "earlier" / "site.toml").write_text(text, "utf-8")
    [pair] = page(*concluded(folder), Wording("de")).pairs
    assert pair.difference["unit"] == "K"
    assert "in Kelvin" in pair.caption


def test_pictures_that_cannot_be_laid_over_one_another_have_no_difference(sample_site):
    folder = sample_site("repaired-corner")
    path = folder / "earlier" / "site.toml"
    path.write_text(
        path.read_text("utf-8").replace('id = "hook"', 'id = "nail"').replace('id = "lamp"', 'id = "x"'),
        "utf-8",
    )
    [pair] = page(*concluded(folder), Wording("en")).pairs
    assert pair.difference is None
    assert "cannot be laid over" in pair.caption


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_page_holds_it_and_is_the_same_twice(visits, tmp_path, language):
    """Both chapters, in the contents too; no byte differs."""
    findings, site, record = visits
    files = [tmp_path / name / "damp.html" for name in ("one", "other")]
    for file in files:
        file.parent.mkdir()
        write_annex(file, findings, site, record, language=language)
    first, second = (file.read_bytes() for file in files)
    assert first == second
    html = first.decode()
    assert html.count('href="#changes"') == html.count('href="#before-after"') == 1
    assert html.index('id="answer"') < html.index('id="changes"') < html.index('id="survey"')
    told = json.loads(files[0].with_suffix(".json").read_text("utf-8"))
    assert {"earlier/site.toml", "earlier/record/damp.json"} <= {item["path"] for item in told["inputs"]}
    assert sum(finding["code"] == "damp.change" for finding in told["findings"]) == 4


def test_without_an_earlier_visit_nothing_is_said_of_one(site, record):
    html = build(site, record, "damp").decode()
    assert 'id="changes"' not in html
    assert 'id="before-after"' not in html


def test_an_earlier_visit_that_cannot_be_used_is_said_and_the_rest_stands(sample_site):
    """The problems of its folder, or of its record, in the language of the report."""
    folder = sample_site("repaired-corner")
    (folder / "earlier" / "thermal" / "corner.tiff").unlink()
    findings, site, record = concluded(folder)
    assert any(finding.code == "damp.temperature-factor" for finding in findings.findings)
    since = page(findings, site, record, Wording("de"))
    assert not since.day
    assert "earlier/site.toml" in since.problems[0]
    html = build(site, record, "damp").decode()
    assert "has problems" in re.sub(r"\s+", " ", html)


def test_a_broken_record_of_then_leaves_its_proposals(sample_site):
    folder = sample_site("repaired-corner")
    (folder / "earlier" / "record" / "damp.json").write_text("{", "utf-8")
    since = page(*concluded(folder), Wording("en"))
    assert since.day
    assert "earlier/record/damp.json" in since.problems[0]
