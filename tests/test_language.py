"""Sentences in both languages."""

from __future__ import annotations

import ast
import re
import string
from pathlib import Path

import pytest

from thermalkit.diagnosis.assumptions import assumptions
from thermalkit.glossary import TERMS
from thermalkit.language import Interval, Number, catalogue, number_text, render, say

PACKAGE = Path(__file__).parents[1] / "thermalkit"
_SAID = re.compile(r'\bsay\(\s*"([a-z0-9.-]+)"')


def names_in(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def test_both_languages_say_the_same_things():
    """Same ids, same values in each sentence."""
    english, german = catalogue("en"), catalogue("de")
    assert sorted(english) == sorted(german)
    assert {id: names_in(text) for id, text in english.items()} == {
        id: names_in(text) for id, text in german.items()
    }


@pytest.mark.parametrize("language", ["en", "de"])
def test_terms_and_assumptions_have_names(language):
    """Each glossary term has a name and a definition, each assumption a title."""
    known = catalogue(language)
    assert not [t for t in TERMS if f"term.{t}" not in known or f"definition.{t}" not in known]
    assert not [a for a in assumptions() if f"assumption.{a}" not in known]


def test_every_sentence_that_code_names_exists():
    """Ids written out in the code stand in the catalogue."""
    named = {id for path in PACKAGE.rglob("*.py") for id in _SAID.findall(path.read_text(encoding="utf-8"))}
    assert not named - catalogue("en").keys()


def _written() -> tuple[set[str], re.Pattern[str]]:
    """Texts of code and templates, and a pattern of those that are put together from values."""
    texts: set[str] = set()
    joined: set[str] = set()
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                parts = [re.escape(p.value) if isinstance(p, ast.Constant) else ".+" for p in node.values]
                joined.add("".join(parts))
    for path in [*PACKAGE.rglob("*.html"), *PACKAGE.rglob("*.js")]:
        text = path.read_text(encoding="utf-8")
        texts.update(re.findall(r'"([a-z][\w.-]*)"', text))
        joined.update(f".+{re.escape(end)}" for end in re.findall(r'~ "(\.[\w.-]+)"', text))
    stated = {part for part in joined if re.search(r"\\\.[a-z]|[a-z]\\\.", part) and " " not in part}
    return texts, re.compile("|".join(sorted(stated)))


# A doctest says the first; nothing says yet what an investigation is called.
UNSAID = {"unit.example", "damp.title", "heating.title", "panel.title"}


def _stems(id: str) -> set[str]:
    """What may stand in the code for an id: a code without its verdict, a prefix with its full stop."""
    stem = id.rpartition(".")[0]
    return {f"{stem}.", *([stem] if "." in stem else [])}


def test_no_text_stands_for_nobody():
    """Each id is written out, put together from values, or one of several whose stem is written out.

    Those of a class are put together from a kind's own words and checked beside them.
    """
    texts, joined = _written()
    left = [
        id
        for id in catalogue("en")
        if not id.startswith(("class.", "exercise."))
        and id not in texts
        and not joined.fullmatch(id)
        and not _stems(id) & texts
    ]
    assert set(left) <= UNSAID


def test_numbers_follow_the_language():
    """Decimal comma and point, a real minus sign, a no-break space before the unit."""
    assert number_text(-1234.56, "en", 1, "degC") == "\u22121,234.6\u00a0°C"
    assert number_text(-1234.56, "de", 1, "degC") == "\u22121.234,6\u00a0°C"
    assert number_text(-0.04, "en", 1) == "0.0"


def test_values_are_inert():
    """Braces and percent signs in a surveyor's text are shown, not understood."""
    hostile = "{0.__class__} %s {air}"
    assert hostile in render(say("unit.example", air=hostile), "en")


def test_an_interval_shows_both_ends():
    shown = render(say("unit.example", air=Interval(20.04, 19.5, 20.6, "degC")), "en")
    assert shown == "The air is at 20.0\u00a0°C (19.5 to 20.6)."
    assert "20\u00a0%" in render(say("unit.example", air=Number(20.4, "%", 0)), "en")
