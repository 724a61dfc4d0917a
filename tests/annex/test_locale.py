import ast
import re
import tomllib
from pathlib import Path
from string import Formatter
from typing import get_type_hints

import pytest

import thermalkit.annex
from thermalkit.diagnosis.change import Outcome
from thermalkit.diagnosis.finding import Remark
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.language import catalogue
from thermalkit.site.model import QUANTITIES, FrameKeys, InstrumentKeys, LookedAtKeys, WeatherKeys
from thermalkit.site.sections.elements import ElementKeys

ANNEX = Path(thermalkit.annex.__file__).parent
CATALOGUES = {
    language: tomllib.loads((ANNEX / "locale" / f"{language}.toml").read_text("utf-8"))
    for language in ("en", "de")
}


def options(model, key):
    """Words that an optional key may hold."""
    words, _ = model.model_fields[key].annotation.__args__
    return words.__args__


# Ids put together from a value: the prefix, and every value there is.
OPEN = {
    "annex.changes.": Outcome.__args__,
    "annex.changes.count.": Outcome.__args__,
    "annex.verdict.": ("indicated", "inconclusive", "not-indicated", "noted"),
    "annex.key.": ("indicated", "inconclusive", "not-indicated", "noted"),
    "annex.state.": ("missing", "stale"),
    "annex.effect.": get_type_hints(Remark)["effect"].__args__,
    "annex.evidence.": ("picture", "reading", "answer"),
    "annex.looked.": tuple(
        v.replace(" ", "-") for v in LookedAtKeys.model_fields["looked"].annotation.__args__
    ),
    "annex.instrument.": InstrumentKeys.model_fields["kind"].annotation.__args__,
    "annex.accuracy.": ("kelvin", "percent"),
    "annex.urgency.": ("at-once", "indicated", "inconclusive", "not-indicated", "noted"),
    "annex.weather.": tuple(WeatherKeys.model_fields),
    "annex.sky.": options(WeatherKeys, "sky"),
    "annex.facing.": options(FrameKeys, "orientation"),
    "annex.element.": ElementKeys.model_fields["kind"].annotation.__args__,
    "annex.reading.": tuple(name.replace(" ", "-") for name in QUANTITIES),
    "annex.confidence.": tuple({row.confidence.replace(" ", "-") for row in limit_sets().values()}),
    "annex.method.": ("damp",),
    "annex.again.": (),
    "annex.kind.": ("damp", "envelope", "heating", "panel"),
}


def used_ids():
    """Every id that stands in a template or module of the annex."""
    text = "\n".join(p.read_text("utf-8") for p in sorted(ANNEX.rglob("*.html")))
    for path in sorted(ANNEX.glob("*.py")):
        nodes = ast.walk(ast.parse(path.read_text("utf-8")))
        texts = [node.value for node in nodes if isinstance(node, ast.Constant)]
        text += "".join(f'"{value}"\n' for value in texts if isinstance(value, str))
    return set(re.findall(r'"(annex\.[a-z_.-]*[a-z_])"', text))


@pytest.mark.parametrize("language", CATALOGUES)
def test_every_id_used_exists(language):
    """Whatever a template or module says can be said, also where the id is put together."""
    wanted = used_ids() | {prefix + value for prefix, values in OPEN.items() for value in values}
    assert sorted(wanted - CATALOGUES[language].keys()) == []
    assert len(used_ids()) > 80


def test_languages_say_the_same_things():
    """Both have the same ids, and each sentence the same names in it."""
    english, german = CATALOGUES["en"], CATALOGUES["de"]
    assert english.keys() == german.keys()
    for id, text in english.items():
        names = [{name for _, name, _, _ in Formatter().parse(t) if name} for t in (text, german[id])]
        assert names[0] == names[1], id


def test_advice_for_a_further_visit_answers_a_remark_that_there_is():
    """Each piece of advice is named like the remark that calls for it."""
    texts = catalogue("en")
    remarks = {id.rpartition(".")[2] for id in texts if "conditions." in id}
    assert {id.removeprefix("annex.again.") for id in texts if id.startswith("annex.again.")} <= remarks


def test_nothing_stands_in_the_catalogue_for_nobody():
    """Every sentence is used."""
    assembled = (
        *OPEN,
        "annex.chapter.",
        "annex.picture.",
        "annex.at_",
        "annex.counts",
        "annex.replaced",
        "annex.stale",
    )
    chapters = {"annex.general-cautions", "annex.looked-at"}
    left = {id for id in CATALOGUES["en"].keys() - used_ids() - chapters if not id.startswith(assembled)}
    assert sorted(left) == []
