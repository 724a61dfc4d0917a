"""One offline page about all sites of a portfolio."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from os import fsencode
from os.path import relpath
from pathlib import Path
from typing import Any
from urllib.parse import quote

from markupsafe import Markup

from thermalkit.annex.html import environment, policy
from thermalkit.annex.wording import SYMBOLS, Wording
from thermalkit.language import Number, say
from thermalkit.portfolio import ranking
from thermalkit.portfolio.rows import Row
from thermalkit.portfolio.share import TypeShare
from thermalkit.portfolio.stock import period_of

_HERE = Path(__file__).parent
_STYLE = _HERE.parent / "annex" / "style.css"
_FIRST = 10  # of each ranking, before the whole table


def summary_page(
    rows: Sequence[Row], kind: str, stock: Mapping[str, int], language: str, *, folder: Path, out: Path
) -> bytes:
    """The page in UTF-8; the same bytes for the same rows.

    Parameters
    ----------
    rows : sequence of Row
        One for each site, in order.
    kind : str
        The investigation.
    stock : mapping of str to int
        Dwellings of each type, empty where nobody said.
    language : str
        Of the page.
    folder, out : Path
        Of the sites and of the page, for links from one to the other.
    """
    words = Wording(language)
    style = "\n".join(path.read_text("utf-8") for path in (_STYLE, _HERE / "page.css"))
    script = (_HERE / "page.js").read_text("utf-8")
    share = ranking.share_of(rows, stock)
    html = (
        environment(words, _HERE)
        .get_template("page.html")
        .render(
            kind=words.either(f"annex.kind.{kind}", kind),
            rows=[_shown(row, kind, words, folder, out) for row in _ordered(rows)],
            counts=_counts(rows),
            harm=[_shown(row, kind, words, folder, out) for row in ranking.likely_past(rows)[:_FIRST]],
            loss=[_shown(row, kind, words, folder, out) for row in ranking.by_loss(rows)[:_FIRST]],
            visit=[_shown(row, kind, words, folder, out) for row in ranking.to_visit(rows)[:_FIRST]],
            missing=[_wanted(item, words) for item in ranking.missing_most(rows)],
            unreadable=ranking.unreadable(rows),
            share=share,
            has_stock=bool(stock),
            types=[_type(item, words) for item in share.types] if share else (),
            percent=lambda measured: _percent(measured, words),
            style=Markup(style),
            script=Markup(script),
            policy=policy(style, [script]),
        )
    )
    return html.encode("utf-8", "replace")


def _ordered(rows: Sequence[Row]) -> list[Row]:
    """By harm, then what has no verdict, then what could not be read."""
    others = [row for row in rows if row.harm is None]
    return ranking.by_harm(rows) + sorted(others, key=lambda row: (row.state != "done", row.site))


def _counts(rows: Sequence[Row]) -> dict[str, int]:
    done = [row for row in rows if row.state == "done"]
    verdicts = ("indicated", "inconclusive", "not indicated")
    return {
        "sites": len(rows),
        "unreadable": len(rows) - len(done),
        "unusable": sum(not row.usable for row in done),
        "unconfirmed": sum(not row.confirmed for row in done),
        **{name.replace(" ", "_"): sum(row.verdict == name for row in done) for name in verdicts},
    }


def _shown(row: Row, kind: str, words: Wording, folder: Path, out: Path) -> dict[str, Any]:
    """What the page shows of a row beside its own values."""
    is_done = row.state == "done"
    annex = folder / row.site / "annex" / f"{kind}.html"
    searched = (row.site, row.name, row.reference, row.place, row.construction)
    return {
        "row": row,
        "label": row.name or row.reference or row.site,
        "period": period_of(row.built) if is_done else "",
        "verdict_id": (row.verdict or "noted").replace(" ", "-") if is_done else "unreadable",
        "verdict": words.verdict(row.verdict) if is_done else words.say("portfolio.unreadable"),  # type: ignore[arg-type]
        "symbol": SYMBOLS[row.verdict] if is_done else "✕",  # type: ignore[index]
        "chance": _chance(row, words),
        "loss": _loss(row, words),
        "link": quote(fsencode(Path(relpath(annex, out)).as_posix())) if row.has_annex else "",
        "found": " ".join(searched).casefold(),
    }


def _chance(row: Row, words: Wording) -> str:
    """In whole percent, never as certain as 0 or 100."""
    if row.probability is None:
        return ""
    return words.number(min(max(100.0 * row.probability, 1.0), 99.0), 0, "%")


def _loss(row: Row, words: Wording) -> str:
    if row.loss_w_k is None or row.loss_low_w_k is None or row.loss_high_w_k is None:
        return ""
    between = words.span(row.loss_low_w_k, row.loss_high_w_k, 1, "W/K")
    return f"{words.number(row.loss_w_k, 1, 'W/K')} ({between})"


def _wanted(item: ranking.Missing, words: Wording) -> tuple[str, int]:
    return words.text(say(item.sentence, share=Number(item.share_percent, "%", 0))), item.sites


def _type(item: TypeShare, words: Wording) -> tuple[str, str, str, str]:
    count, visited = (words.number(value, 0) for value in (item.dwellings, item.visited))
    return item.type, count, visited, _percent(item.share, words)


def _percent(measured: Any, words: Wording) -> str:
    value, low, high = (100.0 * part for part in (measured.value, measured.low, measured.high))
    return f"{words.number(value, 0, '%')} ({words.span(low, high, 0, '%')})"
