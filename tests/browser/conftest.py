"""One Chromium for the browser tests, and pages that tolerate no error and no outside request."""

import base64
import hashlib
import os
import shutil
from urllib.parse import urlsplit

import pytest

from thermalkit.annex.packing import PICTURE_SCRIPT, page_style, picture_figure

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


def is_outside(address):
    parts = urlsplit(address)
    return parts.scheme not in {"file", "data", "blob"} and parts.hostname not in LOCAL


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
    assert errors == []


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
