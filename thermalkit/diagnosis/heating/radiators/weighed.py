"""What is the matter with a radiator: picture, pipes and answers weighed together.

The likelihoods in `causes.csv` are common practice without a published source, and not calibrated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

import numpy as np

from thermalkit.diagnosis.causes import answers_at, questions_at, table_in
from thermalkit.diagnosis.decisions import Asked, Case
from thermalkit.diagnosis.heating.radiators.reading import Shown, is_settled, pipes, shown
from thermalkit.diagnosis.heating.radiators.subject import Radiator, heating, radiators
from thermalkit.diagnosis.weighing import NOTHING, UNKNOWN, Table, Weighing, posterior

FAULTS = ("air", "deposit", "starved", "shut", "swapped")
NAMED_FROM = 0.55  # own choice: below it nothing is named
FROM_PICTURE = "front"
# Own choices: most radiators work; two faults at once are rare; the picture tells more than a stain does.
_PRIOR_NOTHING, _PRIOR_PAIRS, _PRIOR_UNKNOWN = 0.35, 0.03, 0.12
_LARGE_DROP, _USUAL_DROP, _SMALL_DROP = 0.42, 0.52, 0.92  # return over flow excess
_NO_FLOW_K, _NO_FLOW_SHARE = 4.0, 0.3


@cache
def table() -> Table:
    """Likelihoods of what is seen under each explanation, with the priors of radiators."""
    found = table_in("thermalkit.diagnosis.heating.radiators", "causes.csv")
    sources, pairs = len(found.sources), sum(len(e) == 2 for e in found.explanations)
    alone = 1.0 - _PRIOR_NOTHING - _PRIOR_PAIRS - _PRIOR_UNKNOWN
    prior = [*[alone / sources] * sources, _PRIOR_NOTHING, *[_PRIOR_PAIRS / pairs] * pairs, _PRIOR_UNKNOWN]
    return replace(found, log_prior=np.log(np.array(prior)))


def options(case: Case) -> Mapping[str, Asked]:
    """Every question of every radiator in one form."""
    return questions_at(table(), "heating", {item.id: item.place for item in radiators(case)})


def proposed(case: Case) -> dict[str, str]:
    """What pictures, pipes and notes already tell; the rest is for the surveyor."""
    return {
        f"{item.id}: {question}": outcome
        for item in radiators(case)
        for question, outcome in known(case, item, shown(case, item)).items()
    }


def known(case: Case, item: Radiator, found: Shown | None) -> dict[str, str]:
    """Answers that follow from picture, pipes and notes of one radiator."""
    keys = item.keys
    answers: dict[str, str] = {}
    if is_settled(item):
        answers |= _from_picture(item, found) | _from_pipes(case, item)
    if keys.head != "unknown":
        answers["head"] = keys.head
    if keys.warmer_than_set != "unknown":
        answers["room"] = "as-warm-as-set" if keys.warmer_than_set == "yes" else "colder-than-set"
    return answers


def weighed(case: Case, item: Radiator) -> Weighing:
    """How likely each explanation is, by the answers decided on."""
    return posterior(table(), answers_of(case, item))


def answers_of(case: Case, item: Radiator) -> dict[str, str]:
    """The answers of one radiator out of the form."""
    return answers_at(case.decided.get("answers", {}), item.id)


def named(found: Weighing) -> str:
    """The explanation that is named, *nothing* where it works, *unknown* where none stands out."""
    p = found.probability
    first = next(id for id in p if id != UNKNOWN)
    if p[first] >= NAMED_FROM:
        return first
    # A head that throttles belongs to a radiator that works: which of both, matters less.
    is_fine = first in (NOTHING, "satisfied") and p[NOTHING] + p["satisfied"] >= NAMED_FROM
    return first if is_fine else UNKNOWN


def _from_picture(item: Radiator, found: Shown | None) -> dict[str, str]:
    outcome = found.pattern.outcome if found is not None else "unclear"
    if outcome == "unclear" or (outcome == "rising" and item.keys.connection == "unknown"):
        return {}
    return {FROM_PICTURE: outcome}


def _from_pipes(case: Case, item: Radiator) -> dict[str, str]:
    read = pipes(case, item)
    if read is None:
        return {}
    flow_k = float(np.median(read.flow_k))
    house = heating(case).flow_degc
    room = item.room.air_temperature_degc if item.room is not None else None
    usual_k = house - room if house is not None and room is not None else None
    if flow_k < _NO_FLOW_K or (usual_k is not None and flow_k < _NO_FLOW_SHARE * usual_k):
        return {"water": "no-flow"}
    left = float(np.median(read.return_k)) / flow_k
    if left < _LARGE_DROP:
        return {"water": "large-drop"}
    if left > _SMALL_DROP:
        return {"water": "small-drop"}
    return {"water": "usual-drop"} if left > _USUAL_DROP else {}
