"""Two cabinets worked in real JupyterLab: the safety line first, the permit, a terminal drawn, the annex."""

import csv
import io
import json
import re
import shutil
import tomllib
from pathlib import Path

import pytest

from thermalkit.diagnosis.panel import STEPS
from thermalkit.diagnosis.run import run
from thermalkit.language import render, say
from thermalkit.record.store import read_record, replay
from thermalkit.scenes.toml_text import toml_text
from thermalkit.site.folder import read_site

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SWITCH_ROOM = Path(__file__).parents[2] / "sample_sites" / "switch-room"
TITLE = {step.name: render(step.title, "en") for step in STEPS}
PERMIT = "PTW-7 (invented), issued by the works' authorised person"
DRAWN = "MF2.3"


@pytest.fixture
def site(tmp_path):
    """The sample site undecided: circuits in a spreadsheet, every place in the site file but one terminal."""
    folder = tmp_path / SWITCH_ROOM.name
    ignored = shutil.ignore_patterns("record", "annex", "make.py", "decisions.json")
    shutil.copytree(SWITCH_ROOM, folder, ignore=ignored)
    tables = tomllib.loads((folder / "site.toml").read_text("utf-8"))
    decided = json.loads((SWITCH_ROOM / "decisions.json").read_text("utf-8"))["panel"]
    marks = [mark for step in ("terminals", "conductors", "devices") for mark in decided[step]["value"]]
    tables["marks"] = [mark for mark in marks if mark["id"] != DRAWN]
    circuits = tables.pop("circuits")
    (folder / "circuits.csv").write_text(as_pasted(circuits), "utf-8")
    (folder / "site.toml").write_text(toml_text(tables), "utf-8")
    return folder


def as_pasted(circuits):
    """Tabs between cells and decimal commas, as a German spreadsheet pastes them."""
    text = io.StringIO()
    headings = list(dict.fromkeys(key for circuit in circuits for key in circuit))
    writer = csv.DictWriter(text, headings, delimiter="\t", lineterminator="\n")
    writer.writeheader()
    writer.writerows(
        {k: str(v).replace(".", ",") if isinstance(v, float) else v for k, v in c.items()} for c in circuits
    )
    return text.getvalue()


@pytest.fixture
def address(served, site):
    return served("panel", site)


def test_a_round_from_the_permit_to_the_annex(workbook, site, page):
    """The annex says what the command says, its notice on top; the client sees the drawn terminal too."""
    workbook.open()
    first = page.locator(".jp-Notebook .jp-Cell").first
    assert "For qualified persons only" in first.inner_text()
    workbook.shot("panel-opened")
    assert page.locator("details.tk-table summary", has_text="One conductor of a circuit").count() == 0

    permit = workbook.panel(TITLE["permit"])
    permit.locator("input[type=text], textarea").first.fill(PERMIT)
    workbook.keep(TITLE["permit"])
    workbook.keep(TITLE["frames"])
    draw_terminal(workbook, page)
    workbook.shot("panel-terminals")
    for name in ("photo-pairs", "conductors", "devices", "bright", "causes", "remark"):
        workbook.keep(TITLE[name])
        workbook.shot(f"panel-{name}")

    page.get_by_role("heading", name=re.compile("● indicated")).first.wait_for(timeout=30_000)
    page.get_by_role("heading", name="Findings", exact=True).scroll_into_view_if_needed()
    workbook.shot("panel-findings")
    record = read_record(site, "panel")
    found = run("panel", read_site(site), replay(record))
    assert found.open_steps == ()
    assert DRAWN in {
        mark["id"] for entry in record.entries if entry.step == "terminals" for mark in entry.value
    }

    page.get_by_role("button", name="Write the annex").click()
    page.get_by_text(re.compile(r"^Written: ")).wait_for(timeout=30_000)
    assert json.loads((site / "annex" / "panel.json").read_text("utf-8")) == found.as_json("en")
    text = (site / "annex" / "panel.html").read_text("utf-8")
    assert text.index(render(say("panel.notice"), "en")) < text.index("PTW-7")


def draw_terminal(workbook, page):
    """A rectangle by keys on the first frame, named like its circuit."""
    panel = workbook.panel(TITLE["terminals"])
    panel.locator(".tk-readout", has_text="Point at").first.wait_for(timeout=60_000)
    canvas = panel.locator(".tk-marks")
    canvas.focus()
    for key in (
        "Escape",
        "r",
        "Enter",
        *["Control+ArrowDown"] * 2,
        *["Control+ArrowRight"] * 2,
        "Enter",
        "n",
    ):
        page.keyboard.press(key)
    page.keyboard.type(DRAWN)
    page.keyboard.press("Enter")
    panel.get_by_text("Not kept yet").wait_for(timeout=20_000)
    workbook.keep(TITLE["terminals"])
