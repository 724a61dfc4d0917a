"""Every reader meets damaged files: an error of the program or a result, nothing else.

The ordinary run takes 2000 inputs; THERMALKIT_FUZZ_INPUTS=20000 asks for more, THERMALKIT_FUZZ_SEED for
others. `python tests/hostile/fuzzing.py INPUTS SEED` prints the figures.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from thermalkit.annex.prose import fragment_html, remark_html
from thermalkit.diagnosis.decisions import Step, Words
from thermalkit.errors import ThermalkitError
from thermalkit.record.store import read_record, save_record, with_decision
from thermalkit.site.toml_text import tables_in

pytestmark = pytest.mark.slow

INPUTS = int(os.environ.get("THERMALKIT_FUZZ_INPUTS", "2000"))
SEED = int(os.environ.get("THERMALKIT_FUZZ_SEED", "1"))
MEMORY_MB = 1500  # many times what the sound files need, far from what a lie in a header asks for
STEP = Step(name="remark", kind="damp", control=Words(), propose=lambda case: "")
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters(codec=None)),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)
PLENTY = settings(
    max_examples=200,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


class Elements(HTMLParser):
    """Every (tag, attribute, value) of a piece of HTML."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str, str]] = []

    def handle_starttag(self, tag, attributes):
        self.found += [(tag, "", ""), *((tag, name, value or "") for name, value in attributes)]


def test_damaged_files_of_every_kind():
    """No traceback, no control character in a message, no hang, no file left, no word on stderr."""
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("fuzzing.py")), str(INPUTS), str(SEED)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    result = json.loads(done.stdout)
    assert result["escaped"] == {}
    assert result["left"] == []
    assert result["peak_mb"] < MEMORY_MB
    assert sum(result["inputs"].values()) == INPUTS


@PLENTY
@given(value=JSON, reason=st.text(), by=st.text())
def test_any_decision_comes_back_or_is_refused(tmp_path, value, reason, by):
    """What was saved is read again as it was; what cannot be is refused before anything is written."""
    from datetime import UTC, datetime

    before = read_record(tmp_path, "damp")
    when = datetime(2026, 1, 21, tzinfo=UTC)
    try:
        decided = with_decision(before, STEP, value, proposed=None, inputs={}, by=by, at=when, reason=reason)
        saved = save_record(decided)
    except ThermalkitError:
        assert read_record(tmp_path, "damp") == before
    else:
        assert read_record(tmp_path, "damp") == saved


@PLENTY
@given(
    text=st.text(
        st.sampled_from("<>&\"'/=![]()*_`#|-:; \n\tabjsonerrorimgsrchrefdata\\{}%\x00\u202e"), max_size=300
    )
)
def test_any_text_becomes_harmless_html(text):
    """No script, no handler, no address but those that a reader clicks."""
    for html in (remark_html(text), fragment_html(text)):
        reader = Elements()
        reader.feed(html)
        for tag, name, value in reader.found:
            assert tag not in {"script", "style", "iframe", "svg", "object", "form", "link", "meta", "base"}
            assert not name.startswith("on")
            if name == "href":
                assert value.lower().startswith(("http://", "https://", "mailto:"))
            if name == "src":
                assert value.startswith("data:image/")


@PLENTY
@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda text: text.encode("utf-8", "replace")))
def test_any_bytes_are_toml_or_a_problem(content):
    try:
        said = "" if isinstance(tables_in(content), dict) else "no tables"
    except ThermalkitError as error:
        said = str(error).replace("\n", " ")
    assert said.isprintable()
    assert said != "no tables"
