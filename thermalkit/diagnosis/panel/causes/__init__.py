"""What makes a part of a cabinet warm, and the questions that tell one from another.

The likelihoods in `sources.csv` are common practice without a published source, and not calibrated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files

from thermalkit.diagnosis.decisions import NOT_LOOKED, Asked
from thermalkit.diagnosis.weighing import Table, read_table
from thermalkit.language import say


@cache
def table() -> Table:
    """The causes of warmth with the questions that tell them apart."""
    here = files("thermalkit.diagnosis.panel.causes")
    likelihoods, questions = (
        (here / name).read_text(encoding="utf-8") for name in ("sources.csv", "questions.csv")
    )
    return read_table(likelihoods, questions)


def questions() -> dict[str, Asked]:
    """Every question in the order of the form."""
    return {
        question.id: Asked(
            title=say(f"panel.cause.question.{question.id}"),
            by=say(f"panel.cause.by.{question.by}"),
            outcomes={o: say(f"panel.cause.outcome.{question.id}.{o}") for o in question.outcomes},
        )
        for question in table().questions.values()
    }


def questions_at(places: Mapping[str, str]) -> dict[str, Asked]:
    """The questions of several circuits in one form; keys are "id: question"."""
    asked = questions()
    return {
        f"{id}: {question}": replace(item, about=label)
        for id, label in places.items()
        for question, item in asked.items()
    }


def answers_at(answers: Mapping[str, str], place: str) -> dict[str, str]:
    """The answers of one circuit out of a form of several."""
    return {
        key.removeprefix(f"{place}: "): outcome
        for key, outcome in answers.items()
        if key.rpartition(": ")[0] == place and outcome != NOT_LOOKED
    }
