"""The page about all sites."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from thermalkit.portfolio.page import summary_page
from thermalkit.portfolio.ranking import missing_most, to_visit
from thermalkit.portfolio.rows import Row

HERE = Path("/nowhere")


def invented_row(number, **more):
    """A judged site of an invented stock."""
    harm = (number % 17) - 8.0
    verdict = "indicated" if harm > 2 else "not indicated" if harm < -2 else "inconclusive"
    about = {
        "site": f"s/{number:04d}",
        "fingerprint": "f",
        "state": "done",
        "name": f"Dwelling {number}",
        "construction": ("solid brick", "panel")[number % 2],
        "built": 1900 + number % 100,
        "usable": True,
        "judged_by": "damp.temperature-factor",
        "harm": harm,
        "probability": 0.5,
        "margin": -0.02 * harm,
        "deviation": 0.02,
        "place": "Room / corner",
        "verdict": verdict,
        "missing": {"narrow.film": 20.0, "narrow.emissivity": 5.0} if verdict == "inconclusive" else {},
    }
    return Row(**(about | more))


def page(rows, language="en", stock=None):
    return summary_page(rows, "damp", stock or {}, language, folder=HERE, out=HERE / "out").decode()


@pytest.mark.parametrize("language", ["en", "de"])
def test_both_languages_are_whole(language):
    """Every part of the page, with a stock, a loss, an annex and an unreadable site."""
    rows = [invented_row(n, loss_w_k=1.5, loss_low_w_k=1.0, loss_high_w_k=2.0) for n in range(40)]
    rows += [Row(site="broken", reason="no TOML"), invented_row(41, has_annex=True, site="s/4 1")]
    text = page(rows, language, {"panel, 1965–1979": 500})
    assert 'href="../s/4%201/annex/damp.html"' in text
    assert "no TOML" in text
    assert text.count("<tr data-found") == 42
    assert text == page(rows, language, {"panel, 1965–1979": 500})


def test_what_a_site_is_called_does_nothing():
    """Names are escaped everywhere, in attributes too."""
    evil = "<script>alert(1)</script>\"'&\u202e"
    text = page([invented_row(1, name=evil, place=evil, construction=evil), Row(site=evil, reason=evil)])
    assert len(re.findall("<script", text)) == 1
    assert "\u202e" not in text


def test_a_portfolio_that_nothing_can_be_said_of_has_a_page():
    """Only unreadable sites."""
    assert "No share is estimated" in page([Row(site="a", reason="x")])


def test_what_is_missing_most_counts_sites_by_their_first_need():
    """Each site with open verdicts counts once, for what would narrow it most."""
    rows = [invented_row(n) for n in range(17)]
    (most,) = missing_most(rows)
    assert (most.sentence, most.sites, most.share_percent) == ("narrow.film", 5, 20.0)


def test_likely_and_usable_sites_are_visited_first():
    """By probability, unusable surveys last."""
    rows = [
        invented_row(8, site="b", probability=0.2),
        invented_row(8, site="a", probability=0.4),
        invented_row(8, site="c", probability=0.9, usable=False),
    ]
    assert [row.site for row in to_visit(rows)] == ["a", "b", "c"]
