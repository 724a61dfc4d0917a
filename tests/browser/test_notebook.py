"""A damp case worked in real JupyterLab, by clicking only."""

import json
import os
import re
import subprocess
import time
import urllib.request
from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site
from thermalkit.workbook.launch import desk, lab_command, lab_environment

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SITE_TOML = """\
format = 1

[site]
name = "Invented wall"
surveyed_at = 2026-01-21T08:30:00+00:00
country = "GB"

[weather]
air_temperature_degc = 1.5
hours_since_sun = 14.0
hours_steady = 24.0

[[rooms]]
id = "room"
air_temperature_degc = 20.0
relative_humidity_percent = 60.0

[[frames]]
id = "corner"
file = "thermal/corner.npy"
room = "room"
subject = "wall"
values = "apparent"
emissivity = 0.93
reflected_temperature_degc = 20.0
"""


@pytest.fixture
def site(tmp_path):
    folder = tmp_path / "invented"
    (folder / "thermal").mkdir(parents=True)
    (folder / "site.toml").write_text(SITE_TOML, encoding="utf-8")
    rows, columns = np.mgrid[:120, :160]
    cold = 6.0 * np.exp(-((rows - 90.0) ** 2 + (columns - 30.0) ** 2) / 400.0)
    noise = 0.05 * np.random.default_rng(1).standard_normal((120, 160))
    np.save(folder / "thermal" / "corner.npy", 17.5 - cold + noise)
    return folder


@pytest.fixture
def address(site, tmp_path, monkeypatch):
    """Address of the notebook, served as `thermalkit work` serves it."""
    for name in ("DATA", "CONFIG", "RUNTIME"):
        monkeypatch.setenv(f"JUPYTER_{name}_DIR", str(tmp_path / name.lower()))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    monkeypatch.setenv("JUPYTER_TOKEN", "only-for-this-test")
    command = [*lab_command(desk("damp", site), browser=False), "--ServerApp.port=0"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    with (tmp_path / "lab.log").open("w") as log:
        server = subprocess.Popen(command, env=lab_environment(), stdout=log, stderr=log)
        try:
            yield _address_of(server, tmp_path / "runtime")
        finally:
            server.terminate()
            server.wait(timeout=30)


def _address_of(server, runtime: Path) -> str:
    known = runtime / f"jpserver-{server.pid}.json"
    for _ in range(600):
        if known.exists() and (text := known.read_text()).strip():
            url = json.loads(text)["url"]
            break
        time.sleep(0.1)
    else:
        raise TimeoutError("JupyterLab did not start")
    with urllib.request.urlopen(f"{url}api/status?token=only-for-this-test", timeout=30):
        return f"{url}doc/tree/damp.ipynb?token=only-for-this-test"


def _shot(page, name):
    """Pictures for a person to look at, where a folder for them is named."""
    if folder := os.environ.get("THERMALKIT_SCREENSHOTS"):
        page.screenshot(path=str(Path(folder) / f"{name}.png"))


def _panel(page, title):
    return page.locator(".thermalkit-panel").filter(has=page.get_by_role("heading", name=title, exact=True))


def test_a_case_is_worked_by_clicking_and_survives_a_reload(address, page, site):
    """Six times Keep leads to the findings of the command; after a reload everything is as it was left."""
    page.goto(address)
    keeps = page.get_by_role("button", name="Keep", exact=True)
    keeps.first.wait_for(timeout=90_000)
    page.get_by_text("| Idle").wait_for(timeout=60_000)
    page.wait_for_timeout(500)
    _shot(page, "opened")
    titles = [
        "Which frames may be used",
        "Which limits apply",
        "The coldest places",
        "A sound place of the same surface for comparison",
        "Is there an open-flued or solid-fuel appliance in these rooms",
        "Your remarks for the client",
    ]
    for i, title in enumerate(titles):
        panel = _panel(page, title)
        panel.get_by_role("button", name="Keep", exact=True).click(timeout=30_000)
        panel.get_by_text(re.compile(r"^Kept on ")).wait_for(timeout=30_000)
        _shot(page, f"kept-{i}")
    page.get_by_role("heading", name=re.compile("● indicated")).first.wait_for(timeout=30_000)
    _shot(page, "findings")

    record = read_record(site, "damp")
    assert [entry.step for entry in record.entries] == [
        "frames",
        "limit",
        "suspect",
        "sound",
        "appliance",
        "remark",
    ]
    found = run("damp", read_site(site), replay(record))
    assert not found.open_steps
    for finding in found.as_json("en")["findings"]:
        assert page.get_by_text(finding["statement"]).count() > 0

    page.get_by_role("button", name="Write the annex").click()
    page.get_by_text(re.compile(r"^Written: ")).wait_for(timeout=30_000)
    assert json.loads((site / "annex" / "damp.json").read_text()) == found.as_json("en")

    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    page.get_by_text(re.compile(r"^Kept on ")).nth(5).wait_for(timeout=90_000)
    assert page.get_by_text("Waits for").count() == 0
    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_timeout(500)
    _shot(page, "narrow")
    assert read_record(site, "damp").entries == record.entries
