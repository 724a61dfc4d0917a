"""A consultant's own cells in the annex, from the notebook file to the page a client opens."""

import base64
import subprocess
import sys
from io import BytesIO

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from PIL import Image

pytestmark = pytest.mark.browser

DEED = "window.deeds = 1"
TAGGED = {"tags": ["annex"]}


def own_cells():
    stream = BytesIO()
    Image.new("RGB", (30, 20), "teal").save(stream, "PNG")
    picture = base64.b64encode(stream.getvalue()).decode("ascii")
    hostile = (
        f"<table onclick='{DEED}'><tr><th>Room</th><td>12.3</td></tr></table><script>{DEED}</script>"
        f"<img src=x onerror='{DEED}'><iframe srcdoc='<script>{DEED}</script>'></iframe><style>*{{}}</style>"
        "<a href='javascript:alert(1)'>go</a>"
    )
    outputs = [
        new_output("stream", name="stdout", text="mean 12.3"),
        new_output("display_data", data={"image/png": picture, "text/plain": "Chart of an own check"}),
        new_output("display_data", data={"text/html": hostile, "text/plain": "table"}),
        new_output("display_data", data={"application/javascript": DEED}),
    ]
    return [
        new_markdown_cell(f"# Own check\n\nThe flue was **swept**. <script>{DEED}</script>", metadata=TAGGED),
        new_code_cell("secret = 1", metadata=TAGGED, outputs=outputs),
        new_markdown_cell("A private note"),
    ]


def test_tagged_cells_reach_the_client_and_do_nothing(page, sample_site, tmp_path):
    """Words, output, picture and table are shown, described and harmless; code and other cells stay away."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    notebook, out = tmp_path / "own.ipynb", tmp_path / "damp.html"
    nbformat.write(new_notebook(cells=own_cells()), notebook)
    command = [
        "annex",
        "damp",
        str(sample_site()),
        "--unattended",
        "--notebook",
        str(notebook),
        "--out",
        str(out),
    ]
    done = subprocess.run([sys.executable, "-m", "thermalkit.cli", *command], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    page.goto(out.as_uri())
    own = page.locator("#further")
    assert own.get_by_role("heading", name="Own check").count() == 1
    assert own.get_by_role("img", name="Chart of an own check").evaluate("i => i.naturalWidth") == 30
    words = own.inner_text()
    for text in ("swept", "mean 12.3", "Room"):
        assert text in words
    for text in ("secret", "private note", "deeds"):
        assert text not in page.content().split('id="further"')[1].split("</section>")[0]
    assert own.locator("script, iframe, style, [onclick], [onerror], a[href^=javascript]").count() == 0
    assert page.evaluate("window.deeds") is None
    report = axe.Axe().run(page)
    assert report.violations_count == 0, report.generate_report()
