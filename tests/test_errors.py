"""What can go wrong is told in every language of the package."""

from __future__ import annotations

import ast
import importlib
import re
from pathlib import Path

import pytest

from thermalkit.diagnosis.decisions import NotADecision, Words
from thermalkit.errors import OutOfDomain, Problem, ReadingError, ThermalkitError
from thermalkit.language import Sentence, say
from thermalkit.physics.domain import require_within

PACKAGE = Path(__file__).parents[1] / "thermalkit"
_WORDS = re.compile("[A-Za-z]{2} (?!=)|^ [a-z]")


def errors_of_the_package() -> set[str]:
    """Names of every error that the package's own errors are."""
    for path in PACKAGE.rglob("*.py"):
        if "class " in (text := path.read_text(encoding="utf-8")) and "Error" in text:
            parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
            importlib.import_module(".".join(parts).removesuffix(".__init__"))
    found, left = set(), [ThermalkitError]
    while left:
        error = left.pop()
        found.add(error.__name__)
        left += error.__subclasses__()
    return found


def texts_outside_the_catalogue(source: str, names: set[str]) -> list[str]:
    """Texts given to an error or a problem that are words and no sentence."""
    found = []
    for call in ast.walk(ast.parse(source)):
        if not isinstance(call, ast.Call) or getattr(call.func, "id", "") not in names:
            continue
        given = [*call.args, *(k.value for k in call.keywords if k.arg not in ("file", "where"))]
        said = {
            id(part)
            for value in given
            for inner in ast.walk(value)
            if isinstance(inner, ast.Call) and getattr(inner.func, "id", "") == "say"
            for part in ast.walk(inner)
        }
        texts = [
            part.value
            for value in given
            for part in ast.walk(value)
            if isinstance(part, ast.Constant) and isinstance(part.value, str) and id(part) not in said
        ]
        found += [f"{call.func.id}: {text}" for text in texts if _WORDS.search(text)]
    return found


def test_a_text_in_code_is_noticed():
    """The test below sees a text, a formatted text, and lets sentences and file names pass."""
    source = """raise WritingError(f"no {thing} here"); raise WritingError(say("a.b", x="in two words"))
problems.append(Problem(file="a b.csv", read="not a number"))"""
    found = texts_outside_the_catalogue(source, {"WritingError", "Problem"})
    assert sorted(found) == ["Problem: not a number", "WritingError:  here", "WritingError: no "]


def test_every_error_is_a_sentence_of_the_catalogue():
    """None carries words of one language; what the catalogue holds, it holds in each."""
    names = errors_of_the_package() | {"Problem", "refusal", "_refused", "_unreadable"}
    assert {"WritingError", "NotADecision", "OutOfDomain", "IllPosed", "NoCase"} <= names
    left = {
        f"{path.relative_to(PACKAGE)}: {text}"
        for path in PACKAGE.rglob("*.py")
        for text in texts_outside_the_catalogue(path.read_text(encoding="utf-8"), names)
    }
    assert sorted(left) == []


def test_an_error_takes_the_language_of_its_reader():
    """English for whoever prints it, German where the report is."""
    with pytest.raises(OutOfDomain) as caught:
        require_within("relative_humidity", 50.0, 0.01, 1.0)
    assert str(caught.value) == "relative_humidity = 50 is outside 0.01 to 1"
    assert caught.value.told("de") == "relative_humidity = 50 liegt außerhalb von 0.01 bis 1"
    with pytest.raises(NotADecision) as refused:
        Words(longest=3).checked("long", None)
    assert refused.value.told("de") == "ein Text mit höchstens 3 Zeichen, gelesen: 'long'"


def test_hostile_values_are_shown_and_not_sent():
    """Neither a path nor braces in it do anything."""
    error = ThermalkitError(say("error.not-written", path="a\x1b[31m{b}", reason="c"))
    assert error.told("de") == "a\\x1b[31m{b}: c"


def test_all_problems_of_a_folder_are_told():
    problem = Problem(file="site.toml", read=say("site.read.missing"))
    error = ReadingError("folder", [problem, problem])
    assert isinstance(error.said, Sentence)
    assert error.told("de").count("site.toml: fehlt") == 2
    assert error.told("de").splitlines()[0] == "2 Fehler in folder"
