"""Weighing rival explanations of one place: which, how sure, what to look at next.

An explanation is one source, two sources at once, *nothing active*, or *unknown*. Each answered
question multiplies the odds by how likely its outcome is under each explanation (Bayes), with three
rules that keep a table of rough likelihoods from claiming too much:

- *Unknown* stands for any source: each outcome is as likely under it as on average over the table. It
  starts as the largest, so only answers that tell the sources apart make it shrink, and answers that fit
  no single story let it grow.
- Questions of one group see much the same thing. Only the answer that tells the sources apart most counts.
- Two sources share what is seen: an outcome is as likely as the mean of what it is under each.

Contributing conditions are no rivals of a source and have no place in a table.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.decisions import NOT_LOOKED
from thermalkit.measured import FloatArray

K = TypeVar("K")

NOTHING = "nothing"
UNKNOWN = "unknown"

# Own choice: without base rates from a source every source starts alike, about one place in five has two
# sources, and not knowing outweighs everything else together.
_PRIOR_UNKNOWN = 0.50
_PRIOR_NOTHING = 0.05
_PRIOR_PAIRS = 0.09
_GETTING_READY_MINUTES = 10.0  # common practice


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What can be asked of a place: its outcomes, who can answer, the work it takes."""

    id: str
    group: str
    by: str
    minutes: float
    outcomes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """Likelihoods of outcomes under explanations.

    `log_likelihood` has one row per outcome, in the order of the questions, and one column per explanation;
    `spread` (outcomes,) is by how much an outcome tells the sources apart; `active` (answers, explanations)
    tells under which explanations a source, *nothing* or *unknown* holds.
    """

    sources: tuple[str, ...]
    questions: Mapping[str, Question]
    explanations: tuple[tuple[str, ...], ...]
    log_prior: FloatArray
    log_likelihood: FloatArray
    spread: FloatArray
    active: NDArray[np.bool_]
    rows: Mapping[tuple[str, str], int]

    @property
    def answers(self) -> tuple[str, ...]:
        """Everything that can be answered: the sources, *nothing* and *unknown*."""
        return (*self.sources, NOTHING, UNKNOWN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """By how many bits an outcome makes a source likelier (negative: less likely) than not knowing."""

    question: str
    outcome: str
    bits: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """How probable each source is to be active at the place, and why.

    `probability` holds every source (alone or with another), *nothing* and *unknown*, largest first; two
    sources can be active at once, so it may sum to more than one. `pairs` holds two sources at once.
    `set_aside` names answered questions that a stronger one of their group speaks for.
    """

    probability: Mapping[str, float]
    pairs: Mapping[tuple[str, str], float]
    pushes: Mapping[str, tuple[Push, ...]]
    set_aside: tuple[str, ...]

    @property
    def first(self) -> str:
        """The most probable answer."""
        return next(iter(self.probability))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Where an outcome would lead: how likely it is, and the first source or *nothing* after it."""

    outcome: str
    chance: float
    source: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """A question worth asking next: what it is expected to tell, in bits, and the work it takes."""

    question: str
    bits: float
    minutes: float
    leads: tuple[Lead, ...]


def read_table(likelihoods: str, questions: str) -> Table:
    """A table from the text of two CSV files.

    Parameters
    ----------
    likelihoods : str
        Columns question, outcome, one per source, nothing, basis, reasoning; P(outcome | source), each
        question's outcomes summing to 1 in every column.
    questions : str
        Columns question, group, by, minutes, reasoning, in the order of the form.
    """
    reader = csv.DictReader(likelihoods.splitlines())
    columns = list(reader.fieldnames or ())
    sources = tuple(columns[2 : columns.index(NOTHING)])
    found = list(reader)
    asked = {
        row["question"]: Question(
            id=row["question"],
            group=row["group"],
            by=row["by"],
            minutes=float(row["minutes"]),
            outcomes=tuple(line["outcome"] for line in found if line["question"] == row["question"]),
        )
        for row in csv.DictReader(questions.splitlines())
    }
    by_outcome = {(row["question"], row["outcome"]): row for row in found}
    order = [(question.id, outcome) for question in asked.values() for outcome in question.outcomes]
    single = np.array([[float(by_outcome[key][s]) for s in (*sources, NOTHING)] for key in order])
    pairs = list(combinations(range(len(sources)), 2))
    paired = np.stack([single[:, pair].mean(axis=1) for pair in pairs], axis=1)
    likelihood = np.concatenate([single, paired, single.mean(axis=1, keepdims=True)], axis=1)
    explanations = (
        *((source,) for source in (*sources, NOTHING)),
        *((sources[a], sources[b]) for a, b in pairs),
        (UNKNOWN,),
    )
    return Table(
        sources=sources,
        questions=asked,
        explanations=explanations,
        log_prior=np.log(_prior(len(sources), len(pairs))),
        log_likelihood=np.log(likelihood),
        spread=np.log(single.max(axis=1) / single.min(axis=1)),
        active=np.array([[a in e for e in explanations] for a in (*sources, NOTHING, UNKNOWN)]),
        rows={key: row for row, key in enumerate(order)},
    )


def posterior(table: Table, answers: Mapping[str, str]) -> Weighing:
    """Probability of every source at a place, given what was looked at.

    Parameters
    ----------
    table : Table
        The likelihoods.
    answers : mapping of str to str
        Outcome of each question; "not-looked" counts as no answer.

    Raises
    ------
    KeyError
        A question or outcome is not in the table.
    """
    counted = _counted(table, answers)
    explanations = _normalised(_log_weights(table, counted))
    marginal = dict(zip(table.answers, (table.active @ explanations).tolist(), strict=True))
    pairs = {
        (e[0], e[1]): float(p) for e, p in zip(table.explanations, explanations, strict=True) if len(e) == 2
    }
    speaking = {key for key, row in table.rows.items() if row in counted.values()}
    return Weighing(
        probability=_largest_first(marginal),
        pairs=_largest_first(pairs),
        pushes={answer: _pushes(table, answer, speaking) for answer in (*table.sources, NOTHING)},
        set_aside=tuple(q for q, o in answers.items() if o != NOT_LOOKED and (q, o) not in speaking),
    )


def next_measurements(
    table: Table,
    answers: Mapping[str, str],
    effort: Mapping[str, float] | None = None,
    *,
    leave_out: Collection[str] = (),
) -> tuple[Measurement, ...]:
    """Open questions by the information they are expected to bring per effort, best first.

    The expected information is how much the uncertainty over the explanations that have a name (Shannon
    entropy) is expected to fall. *Unknown* is left out of it: it stands for any of them, so that telling it
    apart brings nobody nearer to a cure. A question that cannot be expected to tell anything is left out.
    To its minutes come those that any question takes to get ready for and to write down.

    Parameters
    ----------
    table : Table
        The likelihoods.
    answers : mapping of str to str
        What was looked at so far.
    effort : mapping of str to float, optional
        Work per question; the table's minutes where a question is not in it.
    leave_out : collection of str
        Questions that cannot be asked here.

    Raises
    ------
    KeyError
        A question or outcome is not in the table.
    """
    counted = _counted(table, answers)
    now = _normalised(_log_weights(table, counted))
    after = _normalised(_log_weights_after(table, counted))
    chance = np.exp(table.log_likelihood) @ now
    named_now, named_after = (_normalised_shares(p[..., :-1]) for p in (now, after))
    left = (np.exp(table.log_likelihood[:, :-1]) @ named_now) * _entropy_bits(named_after)
    found = []
    for question in table.questions.values():
        rows = [table.rows[question.id, outcome] for outcome in question.outcomes]
        bits = float(_entropy_bits(named_now) - left[rows].sum())
        is_open = answers.get(question.id, NOT_LOOKED) == NOT_LOOKED and question.id not in leave_out
        if is_open and bits > 1e-9:
            leads = tuple(
                _lead(table, o, float(chance[r]), after[r])
                for o, r in zip(question.outcomes, rows, strict=True)
            )
            minutes = (effort or {}).get(question.id, question.minutes)
            found.append(Measurement(question=question.id, bits=bits, minutes=minutes, leads=leads))
    return tuple(sorted(found, key=lambda item: -item.bits / (_GETTING_READY_MINUTES + item.minutes)))


def _prior(sources: int, pairs: int) -> FloatArray:
    alone = 1.0 - _PRIOR_UNKNOWN - _PRIOR_NOTHING - _PRIOR_PAIRS
    return np.array(
        [alone / sources] * sources + [_PRIOR_NOTHING] + [_PRIOR_PAIRS / pairs] * pairs + [_PRIOR_UNKNOWN]
    )


def _counted(table: Table, answers: Mapping[str, str]) -> dict[str, int]:
    """The row that speaks for each group: the answer that tells the sources apart most."""
    counted: dict[str, int] = {}
    for question, outcome in answers.items():
        if outcome == NOT_LOOKED:
            continue
        row = table.rows[question, outcome]
        held = counted.setdefault(table.questions[question].group, row)
        if table.spread[row] > table.spread[held]:
            counted[table.questions[question].group] = row
    return counted


def _log_weights(table: Table, counted: Mapping[str, int]) -> FloatArray:
    rows = np.array(list(counted.values()), dtype=np.intp)
    weights: FloatArray = table.log_prior + table.log_likelihood[rows].sum(axis=0)
    return weights


def _log_weights_after(table: Table, counted: Mapping[str, int]) -> FloatArray:
    """Weights after each outcome, shape (outcomes, explanations); its group may go on being spoken for."""
    held = np.array([counted.get(table.questions[question].group, -1) for question, _ in table.rows])
    spoken = np.where((held >= 0)[:, None], table.log_likelihood[held], 0.0)
    speaks = (held < 0) | (table.spread > table.spread[held])
    added = np.where(speaks[:, None], table.log_likelihood - spoken, 0.0)
    weights: FloatArray = _log_weights(table, counted) + added
    return weights


def _normalised(log_weights: FloatArray) -> FloatArray:
    return _normalised_shares(np.exp(log_weights - log_weights.max(axis=-1, keepdims=True)))


def _normalised_shares(weights: FloatArray) -> FloatArray:
    shares: FloatArray = weights / weights.sum(axis=-1, keepdims=True)
    return shares


def _entropy_bits(probability: FloatArray) -> FloatArray:
    entropy: FloatArray = -(probability * np.log2(np.maximum(probability, 1e-300))).sum(axis=-1)
    return entropy


def _pushes(table: Table, answer: str, speaking: Collection[tuple[str, str]]) -> tuple[Push, ...]:
    column, unknown = table.explanations.index((answer,)), len(table.explanations) - 1
    ratio = (table.log_likelihood[:, column] - table.log_likelihood[:, unknown]) / np.log(2.0)
    pushes = [Push(question=q, outcome=o, bits=float(ratio[table.rows[q, o]])) for q, o in speaking]
    return tuple(sorted(pushes, key=lambda push: (-abs(push.bits), push.question)))


def _lead(table: Table, outcome: str, chance: float, explanations: FloatArray) -> Lead:
    marginal = (table.active @ explanations)[:-1]
    first = int(np.argmax(marginal))
    return Lead(
        outcome=outcome, chance=chance, source=table.answers[first], probability=float(marginal[first])
    )


def _largest_first(values: Mapping[K, float]) -> dict[K, float]:
    return dict(sorted(values.items(), key=lambda item: -item[1]))
