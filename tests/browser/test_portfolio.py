"""The page of four thousand dwellings, as a housing association uses it."""

from __future__ import annotations

from pathlib import Path

import pytest

from thermalkit.portfolio.page import summary_page
from thermalkit.portfolio.rows import Row

pytestmark = pytest.mark.browser

ROWS = [
    Row(
        site=f"s/{number:04d}",
        state="done",
        name=f"Dwelling {number}",
        construction=("solid brick", "cavity brick", "panel")[number % 3],
        built=1900 + number % 100,
        usable=True,
        judged_by="damp.temperature-factor",
        harm=number % 17 - 8.0,
        probability=0.5,
        margin=0.02 * (8 - number % 17),
        deviation=0.02,
        place="Room / corner",
        verdict="indicated" if number % 17 > 9 else "not indicated",
    )
    for number in range(4000)
]


def test_four_thousand_rows_are_filtered_sorted_and_accessible(page, tmp_path):
    """Words and lists narrow the table, a heading sorts it; nothing is loaded and axe finds nothing."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    path = tmp_path / "damp.html"
    here = Path("/nowhere")
    path.write_bytes(summary_page(ROWS, "damp", {}, "en", folder=here, out=here))
    asked, said = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.goto(path.as_uri())
    shown = page.locator("#sites tbody tr:visible")
    assert "4000 of 4000" in page.locator("#shown").inner_text()
    assert shown.count() == 200
    page.get_by_role("button", name="Show all").click()
    assert shown.count() == 4000
    page.get_by_label("Words").fill("dwelling 39 solid")
    assert shown.count() == sum("39" in r.name and r.construction == "solid brick" for r in ROWS)
    page.get_by_label("Verdict").select_option("indicated")
    left = [
        r for r in ROWS if "39" in r.name and r.construction == "solid brick" and r.verdict == "indicated"
    ]
    assert shown.count() == len(left)
    page.get_by_role("button", name="Chance past limit").click()
    assert page.locator("#sites th[aria-sort=ascending]").count() == 1
    assert float(shown.first.get_attribute("data-harm")) == min(r.harm for r in left)
    assert axe.Axe().run(page, context="#filters").violations_count == 0
    page.get_by_label("Words").fill("no such dwelling")
    assert axe.Axe().run(page).violations_count == 0
    assert asked == [path.as_uri()]
    assert not said
