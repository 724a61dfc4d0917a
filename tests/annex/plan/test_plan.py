"""The plan of a visit: complete, in both languages, whole, and from a file that is hardly filled in."""

import re
import tomllib
from html import unescape
from pathlib import Path

import pytest

import thermalkit.annex.plan as plan
from thermalkit.diagnosis.needs import needs
from thermalkit.errors import ReadingError, WritingError
from thermalkit.language import render
from thermalkit.site import write_new_site
from thermalkit.site.asking import asked_tables

HERE = Path(plan.__file__).parent


@pytest.fixture(params=["en", "de"])
def page(request, tmp_path):
    """A site with only a language, and its plan as text."""
    (tmp_path / "site.toml").write_text(f'format = 1\n[report]\nlanguage = "{request.param}"\n', "utf-8")
    return request.param, unescape(plan.write_plan(tmp_path).read_text("utf-8"))


def test_a_fresh_folder_has_a_plan(tmp_path):
    """The plan comes before the visit, when nothing is written down yet."""
    folder = write_new_site(tmp_path / "new")
    assert plan.write_plan(folder) == folder / "annex" / "plan.html"


def test_the_form_has_every_field_of_the_site_file(page):
    """Whatever the workbook asks stands on the paper, but for what is decided at the desk."""
    language, text = page
    for table in asked_tables(language):
        if table.table not in ("report", "limits", "costs"):
            assert table.title in text
            for field in table.fields:
                assert field.label in text, (table.table, field.key)
                assert field.hint in text, (table.table, field.key)


def test_every_need_is_said(page):
    """Those an investigation states, and the general ones of those there are not."""
    language, text = page
    for need in (n for group in needs().values() for n in group):
        for sentence in (need.title, *need.lines, *need.carry):
            assert render(sentence, language) in text
    assert ("Schaltschrank" if language == "de" else "Control cabinet") in text


def test_the_plan_of_one_investigation_leaves_out_the_others(tmp_path):
    """Nobody who goes for damp prints the sheets of radiators and cabinets."""
    (tmp_path / "site.toml").write_text("format = 1\n", "utf-8")
    text = unescape(plan.write_plan(tmp_path, kind="damp").read_text("utf-8"))
    titles = {table.table: table.title for table in asked_tables()}
    assert all(titles[table] in text for table in ("rooms", "frames", "samples", "moisture"))
    assert not [
        table for table in ("radiators", "circuits", "floor_loops", "junctions") if titles[table] in text
    ]
    assert "Damp or heat loss at an outer wall" in text
    assert "Control cabinets" not in text
    assert "Clamp meter" not in text


def test_no_sentence_of_the_plan_is_for_nobody():
    """Each id of its catalogue is used in its template or modules."""
    written = "".join(p.read_text("utf-8") for p in [*HERE.glob("*.py"), *HERE.glob("*.html")])
    together = (
        "plan.carry.",
        "plan.how.",
        "plan.letter.",
        "plan.permission.",
        "plan.signed.",
        "plan.against.",
    )
    lists = {*plan._HOW, *(f"{id}-steps" for id in plan._HOW), *plan._LETTER, *plan._PERMISSIONS}
    for id in tomllib.loads((HERE / "locale" / "en.toml").read_text("utf-8")):
        last = id.rpartition(".")[2]
        assert f'"{id}"' in written or (
            id.startswith(together) and (last in lists or f'"{last}"' in written)
        ), id


def test_what_the_site_file_says_is_inert(tmp_path):
    """Names are text on the page, and its policy runs nothing and lets nothing in."""
    (tmp_path / "site.toml").write_text('format = 1\n[site]\nname = "<script>x()</script>"\n', "utf-8")
    html = plan.write_plan(tmp_path).read_text("utf-8")
    assert "<script" not in html
    policy = unescape(re.search(r'Security-Policy" content="([^"]+)"', html)[1])
    assert policy.startswith("default-src 'none';")
    assert "script-src 'none'" in policy
    assert "http" not in policy
    assert "unsafe" not in policy


def test_the_same_site_gives_the_same_bytes(tmp_path):
    """Nothing on the page depends on the hour."""
    folder = write_new_site(tmp_path / "new")
    assert plan.write_plan(folder).read_bytes() == plan.write_plan(folder, tmp_path / "b.html").read_bytes()


@pytest.mark.parametrize("name", ["plan.pdf", "thermal/plan.html"])
def test_a_plan_is_not_written_among_the_evidence(tmp_path, name):
    """Nor under a name that says something else."""
    folder = write_new_site(tmp_path / "new")
    with pytest.raises(WritingError):
        plan.write_plan(folder, folder / name)
    assert not (folder / name).exists()


def test_a_folder_without_site_file_is_refused(tmp_path):
    """A plan is made for a site."""
    with pytest.raises(ReadingError):
        plan.write_plan(tmp_path)


def test_a_forecast_gives_usable_hours(tmp_path):
    """A cold, still, dull week is usable; the page says with which indoor temperature."""
    folder = write_new_site(tmp_path / "new")
    rows = "".join(f"2026-01-{d:02} {h:02}:00,2.0\n" for d in range(20, 23) for h in range(24))
    (tmp_path / "forecast.csv").write_text("time,temperature\n" + rows)
    html = plan.write_plan(folder, forecast=tmp_path / "forecast.csv", clock="+00:00").read_text("utf-8")
    assert "which is assumed" in html
    assert html.count("00:00–24:00") >= 2


def test_indoors_is_the_mean_of_the_rooms(tmp_path):
    """As they stand in the site file from an earlier visit."""
    rooms = "".join(f'[[rooms]]\nid = "{t}"\nair_temperature_degc = {t}\n' for t in (16, 20))
    (tmp_path / "site.toml").write_text(f"format = 1\n{rooms}", "utf-8")
    assert plan.planned(tmp_path).indoor_degc == 18.0
