"""One Chromium for the browser tests, and pages that tolerate no error and no outside request."""

import base64
import hashlib
import json
import os
import re
import shutil
import subprocess
import time
import urllib.request
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from thermalkit.annex.packing import PICTURE_SCRIPT, page_style, picture_figure
from thermalkit.workbook.launch import desk, lab_command, lab_environment

TOKEN = "only-for-this-test"

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LOCAL = {"localhost", "127.0.0.1"}
SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"


def is_outside(address):
    parts = urlsplit(address)
    return parts.scheme not in {"file", "data", "blob"} and parts.hostname not in LOCAL


# What anywidget says of a widget that a busy machine took two seconds to begin; it is drawn all the same.
BEGAN_LATE = "[anywidget] Failed to initialize model."


# Package scope: the driver runs an event loop of its own, which must be gone before other tests start theirs.
@pytest.fixture(scope="package")
def browser():
    chromium = shutil.which("chromium")
    if chromium is None:
        message = "no chromium on this machine"
        pytest.fail(message) if os.environ.get("CI") else pytest.skip(message)
    api = pytest.importorskip("playwright.sync_api")
    with api.sync_playwright() as driver:
        chrome = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        yield chrome
        chrome.close()


@pytest.fixture
def page(browser):
    """A page of 1280 x 900 whose console errors and outside requests fail the test."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    sheet = context.new_page()
    errors, outside = [], []
    sheet.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    sheet.on("pageerror", lambda error: errors.append(str(error)))
    sheet.on("request", lambda request: outside.append(request.url) if is_outside(request.url) else None)
    yield sheet
    context.close()
    assert outside == []
    assert [error for error in errors if error != BEGAN_LATE] == []


# The page of an annex ends in `hydrate(document)`; the tests keep what it returns.
TAIL = "\nwindow.pictures = hydrate(document);\n"


def csp_hash(text):
    return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"


def write_page(path, pictures, *, script, caption):
    """A page as an annex has it: everything inline, one hash per script and style, nothing else allowed."""
    style = "body{margin:16px;background:#fff;color:#1a1a1a;font-family:sans-serif}" + page_style()
    policy = (
        f"default-src 'none'; img-src data: blob:; style-src {csp_hash(style)}; script-src {csp_hash(script)}"
    )
    figures = "\n".join(picture_figure(data, caption) for data in pictures)
    html = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}"><title>Pictures</title>'
        f"<style>{style}</style></head><body><main><h1>Pictures</h1>{figures}</main>"
        f'<script type="module">{script}</script></body></html>'
    )
    path.write_text(html, "utf-8")
    return path.as_uri()


@pytest.fixture
def annex_page(tmp_path):
    """Write a page with the given pictures; its address on disk."""

    def written(*pictures, script=None, caption="Corner of an invented cellar"):
        script = script or PICTURE_SCRIPT.read_text("utf-8") + TAIL
        return write_page(tmp_path / "annex.html", pictures, script=script, caption=caption)

    return written


@pytest.fixture
def show(page, annex_page):
    """Open such a page and wait until its pictures are drawn."""

    def opened(*pictures, **parts):
        page.goto(annex_page(*pictures, **parts))
        page.wait_for_selector(".tk-readout:has-text('Point at')")
        return page

    return opened


@pytest.fixture
def served(tmp_path, monkeypatch):
    """Serve the notebook of a site as `thermalkit work` does; its address."""
    for name in ("DATA", "CONFIG", "RUNTIME"):
        monkeypatch.setenv(f"JUPYTER_{name}_DIR", str(tmp_path / name.lower()))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    monkeypatch.setenv("JUPYTER_TOKEN", TOKEN)
    with ExitStack() as servers:

        def start(kind, site):
            command = [*lab_command(desk(kind, site), browser=False), "--ServerApp.port=0"]
            log = servers.enter_context((tmp_path / "lab.log").open("w"))
            server = subprocess.Popen(command, env=lab_environment(), stdout=log, stderr=log)
            servers.callback(server.wait, timeout=30)
            servers.callback(server.terminate)
            return _address_of(server, tmp_path / "runtime", kind)

        yield start


def _address_of(server, runtime, kind):
    """Wait until the server answers; it names its port in a file a little earlier."""
    known = runtime / f"jpserver-{server.pid}.json"
    for _ in range(600):
        time.sleep(0.1)
        try:
            url = json.loads(known.read_text("utf-8"))["url"]
            with urllib.request.urlopen(f"{url}api/status?token={TOKEN}", timeout=30):
                return f"{url}doc/tree/{kind}.ipynb?token={TOKEN}"
        except (OSError, ValueError):
            continue
    raise TimeoutError("JupyterLab did not start")


@pytest.fixture
def site(tmp_path):
    """The sample site without anything made in it."""
    folder = tmp_path / SAMPLE.name
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record", "annex", "make.py"))
    return folder


@pytest.fixture
def address(served, site):
    """Address of the notebook of the sample site."""
    return served("damp", site)


class Workbook:
    """The notebook in a page, and what a person does with it."""

    def __init__(self, page, address):
        self.page, self.address = page, address

    def open(self):
        """Open it and wait until its cells have run by themselves."""
        self.page.goto(self.address)
        self.page.get_by_role("button", name="Keep", exact=True).first.wait_for(timeout=90_000)
        self.page.get_by_text("| Idle").wait_for(timeout=60_000)

    def panel(self, title):
        """The panel of a step."""
        heading = self.page.get_by_role("heading", name=title, exact=True)
        return self.page.locator(".thermalkit-panel").filter(has=heading)

    def keep(self, title):
        """Keep what a step has filled in."""
        panel = self.panel(title)
        panel.get_by_role("button", name="Keep", exact=True).click(timeout=30_000)
        panel.get_by_text(re.compile(r"^Kept on ")).wait_for(timeout=30_000)

    def end_kernels(self):
        """Leave the page and end what ran behind it, so that nothing but files is left."""
        self.page.on("dialog", lambda dialog: dialog.accept())
        self.page.goto("about:blank")
        api, token = self.address.split("doc/tree")[0] + "api/kernels", {"Authorization": f"token {TOKEN}"}
        for kernel in self.page.request.get(api, headers=token).json():
            assert self.page.request.delete(f"{api}/{kernel['id']}", headers=token).ok

    def shot(self, name):
        """A picture for a person to look at, where a folder for them is named."""
        if folder := os.environ.get("THERMALKIT_SCREENSHOTS"):
            self.page.screenshot(path=str(Path(folder) / f"{name}.png"))


@pytest.fixture
def workbook(address, page):
    """The page closes before its server ends."""
    return Workbook(page, address)
