"""A damp case worked in real JupyterLab, by clicking only."""

import json
import os
import re
import shutil
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import accept, run
from thermalkit.language import render
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site
from thermalkit.workbook.launch import desk, lab_command, lab_environment

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TOKEN = "only-for-this-test"
SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"


@pytest.fixture
def site(tmp_path):
    """The sample site without anything made in it."""
    folder = tmp_path / SAMPLE.name
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record", "annex", "make.py"))
    return folder


@pytest.fixture
def address(site, tmp_path, monkeypatch):
    """Address of the notebook, served as `thermalkit work` serves it."""
    for name in ("DATA", "CONFIG", "RUNTIME"):
        monkeypatch.setenv(f"JUPYTER_{name}_DIR", str(tmp_path / name.lower()))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    monkeypatch.setenv("JUPYTER_TOKEN", TOKEN)
    command = [*lab_command(desk("damp", site), browser=False), "--ServerApp.port=0"]
    with (tmp_path / "lab.log").open("w") as log:
        server = subprocess.Popen(command, env=lab_environment(), stdout=log, stderr=log)
        try:
            yield _address_of(server, tmp_path / "runtime")
        finally:
            server.terminate()
            server.wait(timeout=30)


def _address_of(server, runtime: Path) -> str:
    """Wait until the server answers; it names its port in a file a little earlier."""
    known = runtime / f"jpserver-{server.pid}.json"
    for _ in range(600):
        time.sleep(0.1)
        try:
            url = json.loads(known.read_text("utf-8"))["url"]
            with urllib.request.urlopen(f"{url}api/status?token={TOKEN}", timeout=30):
                return f"{url}doc/tree/damp.ipynb?token={TOKEN}"
        except (OSError, ValueError):
            continue
    raise TimeoutError("JupyterLab did not start")


def _shot(page, name):
    """Pictures for a person to look at, where a folder for them is named."""
    if folder := os.environ.get("THERMALKIT_SCREENSHOTS"):
        page.screenshot(path=str(Path(folder) / f"{name}.png"))


def _panel(page, title):
    return page.locator(".thermalkit-panel").filter(has=page.get_by_role("heading", name=title, exact=True))


def _opened(page, address):
    page.goto(address)
    page.get_by_role("button", name="Keep", exact=True).first.wait_for(timeout=90_000)
    page.get_by_text("| Idle").wait_for(timeout=60_000)


def _end_kernels(page, address):
    """Leave the page and end what ran behind it, so that nothing but files is left."""
    page.goto("about:blank")
    api, token = address.split("doc/tree")[0] + "api/kernels", {"Authorization": f"token {TOKEN}"}
    for kernel in page.request.get(api, headers=token).json():
        assert page.request.delete(f"{api}/{kernel['id']}", headers=token).ok


def _asked(site):
    """Titles of the steps that this site leaves to a person."""
    opened = run("damp", read_site(site), accept).open_steps
    return [render(step.title, "en") for step in opened]


def test_a_case_is_worked_by_clicking_and_survives_a_reload(address, page, site):
    """One Keep a step leads to the findings of the command; after a reload all is as it was left."""
    _opened(page, address)
    _shot(page, "opened")
    titles = _asked(site)
    assert len(titles) <= 12
    for i, title in enumerate(titles):
        panel = _panel(page, title)
        panel.get_by_role("button", name="Keep", exact=True).click(timeout=30_000)
        panel.get_by_text(re.compile(r"^Kept on ")).wait_for(timeout=30_000)
        _shot(page, f"kept-{i}")
    page.get_by_role("heading", name=re.compile("● indicated")).first.wait_for(timeout=30_000)
    page.get_by_role("heading", name="Findings", exact=True).scroll_into_view_if_needed()
    _shot(page, "findings")

    record = read_record(site, "damp")
    assert len(record.entries) == len(titles)
    found = run("damp", read_site(site), replay(record))
    assert found.open_steps == ()
    for finding in found.as_json("en")["findings"]:
        assert page.get_by_text(finding["statement"], exact=True).count() > 0

    page.get_by_role("button", name="Write the annex").click()
    page.get_by_text(re.compile(r"^Written: ")).wait_for(timeout=30_000)
    assert json.loads((site / "annex" / "damp.json").read_text("utf-8")) == found.as_json("en")
    address_of_export = address.replace("doc/tree", "nbconvert/annex")
    assert page.request.get(address_of_export).body() == (site / "annex" / "damp.html").read_bytes()

    page.on("dialog", lambda dialog: dialog.accept())
    _end_kernels(page, address)
    page.goto(address)
    page.get_by_text(re.compile(r"^Kept on ")).nth(len(titles) - 1).wait_for(timeout=90_000)
    assert page.get_by_text("Waits for").count() == 0
    page.get_by_text("| Idle").wait_for(timeout=60_000)
    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_timeout(500)
    _shot(page, "narrow")
    _panel(page, titles[2]).scroll_into_view_if_needed()
    _shot(page, "narrow-marks")
    assert read_record(site, "damp").entries == record.entries


def test_keys_pressed_in_a_panel_do_not_reach_the_notebook(address, page):
    """A plain b on a button, a choice or a picture inserts no cell, and Tab still moves on."""
    _opened(page, address)
    cells = page.locator(".jp-Notebook .jp-Cell")
    before = cells.count()
    for place in (
        page.get_by_role("button", name="Keep", exact=True).first,
        page.get_by_role("radio").first,
        page.locator("canvas.tk-marks").first,
    ):
        place.click()
        for key in ("b", "a", "m"):
            page.keyboard.press(key)
    page.get_by_role("radio", checked=True).first.focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") == "text"
    assert cells.count() == before


def test_panels_have_no_barrier_that_a_program_can_find(address, page, site):
    """Rules of WCAG 2.2 A and AA, checked by axe on the panels of a worked case."""
    from axe_playwright_python.sync_playwright import Axe

    _opened(page, address)
    for title in _asked(site):
        panel = _panel(page, title)
        panel.get_by_role("button", name="Keep", exact=True).click(timeout=30_000)
        panel.get_by_text(re.compile(r"^Kept on ")).wait_for(timeout=30_000)
    rules = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
    result = Axe().run(page, context=".thermalkit-panel", options={"runOnly": rules})
    assert result.violations_count == 0, result.generate_report()
