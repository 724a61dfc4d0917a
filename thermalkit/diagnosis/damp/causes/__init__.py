"""Which water: the sources of damp, the questions that tell them apart, and what adds to any of them.

The likelihoods in `sources.csv` are common practice without a published source, and not calibrated: they
say what is seen where a source is active and the question was properly looked at. Doubt about the table
itself is what *unknown* stands for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files

from thermalkit.diagnosis.decisions import NOT_LOOKED, Asked, Case
from thermalkit.diagnosis.weighing import Table, read_table
from thermalkit.language import Sentence, say

# What makes any source worse. A cold bridge is no rival of condensation, so none of these is weighed.
FACTORS = ("cold-bridge", "furniture", "little-heating", "shut-vents")


@cache
def table() -> Table:
    """The sources of damp with the questions that tell them apart."""
    here = files("thermalkit.diagnosis.damp.causes")
    likelihoods, questions = (
        (here / name).read_text(encoding="utf-8") for name in ("sources.csv", "questions.csv")
    )
    return read_table(likelihoods, questions)


def questions() -> dict[str, Asked]:
    """Every question in the order of the form."""
    return {
        question.id: Asked(
            title=say(f"damp.cause.question.{question.id}"),
            by=say(f"damp.cause.by.{question.by}"),
            outcomes={o: say(f"damp.cause.outcome.{question.id}.{o}") for o in question.outcomes},
        )
        for question in table().questions.values()
    }


def questions_at(places: Mapping[str, str]) -> dict[str, Asked]:
    """The questions of several places in one form.

    Parameters
    ----------
    places : mapping of str to str
        Id of each place, and what it is called.

    Returns
    -------
    dict of str to Asked
        Keys are "id: question".
    """
    asked = questions()
    return {
        f"{id}: {question}": replace(item, about=label)
        for id, label in places.items()
        for question, item in asked.items()
    }


def answers_at(answers: Mapping[str, str], place: str) -> dict[str, str]:
    """The answers of one place out of a form of several."""
    return {
        key.removeprefix(f"{place}: "): outcome
        for key, outcome in answers.items()
        if key.rpartition(": ")[0] == place and outcome != NOT_LOOKED
    }


def factor_options(case: Case) -> dict[str, Sentence]:
    """Conditions that add to any source, to be ticked where they were seen."""
    return {factor: say(f"damp.cause.factor.{factor}") for factor in FACTORS}
