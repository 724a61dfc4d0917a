"""Decisions in words: what was answered alike of several places is told once."""

from types import SimpleNamespace

from thermalkit.annex.history import in_words
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.decisions import Answers, Asked
from thermalkit.language import say

YES = say("annex.kept")


def asked(about):
    return Asked(title=say("annex.place"), by=say("annex.by"), outcomes={"yes": YES}, about=about)


def test_like_answers_of_several_places_stand_in_one_line():
    """Every place keeps its answer; the question is not repeated for each."""
    abouts = {"a": "Board 1 / F1", "b": "Board 1 / F2", "c": "Board 2 / F1"}
    control = Answers(options=lambda case: {id: asked(about) for id, about in abouts.items()})
    step = SimpleNamespace(control=control)
    words = Wording("en")
    text = in_words({"a": "yes", "b": "yes", "c": "yes", "gone": "no"}, step, None, words)
    assert text == f"Place: {words.text(YES)} (Board 1 / F1, F2; Board 2 / F1); gone: no"
