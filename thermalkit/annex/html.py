"""What every page we write has in common: templates that escape, and a policy that lets nothing in."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from thermalkit.annex.wording import SYMBOLS, VERDICTS, Wording, symbol_html, visible

TEMPLATES = Path(__file__).parent / "templates"


def environment(words: Wording, *folders: Path) -> Environment:
    """Templates of some folders and of the annex, speaking one language; whatever they show is escaped."""
    made = Environment(
        loader=FileSystemLoader([*folders, TEMPLATES]),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda value: visible(value) if type(value) is str else value,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["words"] = lambda sentences: list(dict.fromkeys(map(words.text, sentences)))
    made.filters["symbol"] = symbol_html
    made.filters["capital"] = lambda text: text[:1].upper() + text[1:]
    made.globals.update(w=words, symbols=SYMBOLS, verdicts=VERDICTS)
    return made


def policy(style: str, scripts: Sequence[str] = ()) -> str:
    """What a page may do: show its own pictures, use this one style and these scripts."""

    def digest(text: str) -> str:
        return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode() + "'"

    allowed = " ".join(map(digest, scripts)) or "'none'"
    return (
        f"default-src 'none'; img-src data: blob:; style-src {digest(style)}; "
        f"script-src {allowed}; base-uri 'none'; form-action 'none'"
    )
