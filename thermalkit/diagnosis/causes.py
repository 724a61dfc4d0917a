"""A table of causes as a form of several places, and what its weighing says in words.

The texts stand under one prefix: `question`, `by`, `outcome`, and for reasons `push` and `source`.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files

from thermalkit.diagnosis.decisions import NOT_LOOKED, Asked
from thermalkit.diagnosis.weighing import Push, Table, Weighing, read_table
from thermalkit.language import Number, Sentence, say

_STRONG_BITS = 1.5
_WORTH_SAYING_BITS = 0.25


def table_in(package: str, likelihoods: str = "sources.csv") -> Table:
    """The table in a folder, with the questions beside it."""
    here = files(package)
    return read_table(*((here / name).read_text(encoding="utf-8") for name in (likelihoods, "questions.csv")))


def questions_at(table: Table, prefix: str, places: Mapping[str, str]) -> dict[str, Asked]:
    """The questions of several places in one form.

    Parameters
    ----------
    table : Table
    prefix : str
        Of the texts' ids.
    places : mapping of str to str
        Id of each place, and what it is called.

    Returns
    -------
    dict of str to Asked
        Keys are "id: question".
    """
    return {
        f"{id}: {question.id}": Asked(
            title=say(f"{prefix}.question.{question.id}"),
            by=say(f"{prefix}.by.{question.by}"),
            outcomes={o: say(f"{prefix}.outcome.{question.id}.{o}") for o in question.outcomes},
            about=label,
        )
        for id, label in places.items()
        for question in table.questions.values()
    }


def answers_at(answers: Mapping[str, str], place: str) -> dict[str, str]:
    """The answers of one place out of a form of several."""
    return {
        key.removeprefix(f"{place}: "): outcome
        for key, outcome in answers.items()
        if key.rpartition(": ")[0] == place and outcome != NOT_LOOKED
    }


def telling(weighing: Weighing, id: str, most: int) -> tuple[Push, ...]:
    """The answers that speak for or against an explanation most, as far as they are worth a word."""
    return tuple(push for push in weighing.pushes[id] if abs(push.bits) >= _WORTH_SAYING_BITS)[:most]


def reasons(weighing: Weighing, id: str, prefix: str, most: int) -> tuple[Sentence, ...]:
    """The same in words."""
    return tuple(_reason(push, id, prefix) for push in telling(weighing, id, most))


def _reason(push: Push, id: str, prefix: str) -> Sentence:
    towards = "for" if push.bits > 0 else "against"
    strongly = "-strongly" if abs(push.bits) >= _STRONG_BITS else ""
    return say(
        f"{prefix}.push.{towards}{strongly}",
        question=say(f"{prefix}.question.{push.question}"),
        outcome=say(f"{prefix}.outcome.{push.question}.{push.outcome}"),
        source=say(f"{prefix}.source.{id}"),
    )


def percent(probability: float) -> Number:
    """Never certain: 1 to 99 %."""
    return Number(min(max(100.0 * probability, 1.0), 99.0), "%", 0)
