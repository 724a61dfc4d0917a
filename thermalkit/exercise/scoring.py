"""Points of one hand-in, part by part, from 0 to 1 before the rubric weighs them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.class_.questions import questions
from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import Polygons, TruthKeys
from thermalkit.exercise.rubric import Rubric
from thermalkit.imaging.mark import Mark, mark_mask

Mask = NDArray[np.bool_]

_TRUST_SHARE = 0.25
_WRONG_PLACE = 0.5  # of a job of the right three at another place
_FALSE_ALARM = 0.5


def shares(given: HandIn, truth: TruthKeys, rubric: Rubric) -> dict[str, float]:
    """Share of the full points in each part, in the order of the rubric."""
    return {name: float(part(given, truth, rubric)) for name, part in _PARTS.items()}


def total(reached: Mapping[str, float], hints: int, rubric: Rubric) -> float:
    """Points of a hand-in, hints taken off; never below none."""
    points = rubric.points.model_dump()
    gained = sum(float(points[name]) * share for name, share in reached.items())
    return max(0.0, gained - hints * rubric.hints.each)


def mask_of(marks: Iterable[Mark], shape: tuple[int, int]) -> Mask:
    """Pixels of some marks together."""
    mask = np.zeros(shape, dtype=np.bool_)
    for mark in marks:
        mask |= mark_mask(mark, shape)
    return mask


def area_of(polygons: Polygons, truth: TruthKeys) -> Mask:
    """Pixels of outlines of the key."""
    return mask_of(
        (Mark(frame=truth.frame, id="true", shape="patch", points=points) for points in polygons), truth.shape
    )


def unfit_of(truth: TruthKeys) -> Mask:
    """Pixels that are nothing to compare with."""
    unfit = area_of(truth.unfit, truth)
    return unfit | ~area_of(truth.comparable, truth) if truth.comparable else unfit


def _look(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    return given.answers.get("look") in truth.look


def _survey(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    told = _told(given.answers.get("survey", ()), truth.survey)
    return (1.0 - _TRUST_SHARE) * told + _TRUST_SHARE * (given.answers.get("trust") == truth.trust)


def _told(said: Iterable[str], wanted: tuple[str, ...], neutral: tuple[str, ...] = ()) -> float:
    """What was named of what is there, less what was named and is not."""
    named = set(said) - set(neutral)
    hits = len(named & set(wanted)) / len(wanted) if wanted else 1.0
    return max(0.0, hits - _FALSE_ALARM * len(named - set(wanted)))


def _prediction(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    order = list(questions(truth.kind).bands_k)
    if given.predicted not in order:
        return 0.0
    off = min(abs(order.index(given.predicted) - order.index(band)) for band in truth.predict)
    return {0: 1.0, 1: 0.5}.get(off, 0.0)


def place_share(marks: tuple[Mark, ...], truth: TruthKeys, rubric: Rubric) -> float:
    """How well marks lie on the true place: by overlap with the smaller of both, less for being too large."""
    if not truth.area:
        return float(not marks)
    here = mask_of((mark for mark in marks if truth.shows_place(mark.frame)), truth.shape)
    elsewhere = mask_of((mark for mark in marks if not truth.shows_place(mark.frame)), truth.shape)
    area, size = area_of(truth.area, truth), int(here.sum() + elsewhere.sum())
    if not here.any():
        return 0.0
    overlap = np.count_nonzero(here & area) / min(size, int(area.sum()))
    keys = rubric.places
    stretch = max(keys.full_overlap - keys.no_overlap, 1e-9)
    lies = float(np.clip((overlap - keys.no_overlap) / stretch, 0.0, 1.0))
    return lies * min(1.0, keys.times_as_large * int(area.sum()) / size)


def _place(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    return place_share(given.answers["suspect"], truth, rubric) if "suspect" in given.answers else 0.0


def _sound(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    """On plain wall of the same picture; anything else is no comparison."""
    marks = given.answers.get("sound", ())
    if not marks or not all(truth.shows_place(mark.frame) for mark in marks):
        return 0.0
    mask = mask_of(marks, truth.shape)
    unfit = np.count_nonzero(mask & unfit_of(truth)) / max(1, int(mask.sum()))
    return float(unfit <= rubric.places.unfit_share)


def _emissivity(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    return given.answers.get("emissivity") == truth.emissivity


def _numbers(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    """Where the case has more than one right answer, the numbers have to belong together."""
    said = given.answers.get("numbers", {})
    count = max(len(item.accepted) for item in truth.numbers.values())
    return max(
        sum(
            _number(said.get(name), item.accepted[i], item.within, rubric)
            for name, item in truth.numbers.items()
        )
        / len(truth.numbers)
        for i in range(count)
    )


def _number(said: float | None, true: float, within: float, rubric: Rubric) -> float:
    if said is None:
        return 0.0
    off = abs(said - true)
    return 1.0 if off <= within else 0.5 if off <= rubric.numbers.half_within * within else 0.0


def _verdict(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    return given.answers.get("verdict") == truth.verdict


def _cause(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    return given.answers.get("cause") == truth.cause


def _order(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    said = list(given.answers.get("order", {}).items())
    at = dict(zip(("first", "second", "third"), truth.order, strict=True))
    jobs = {job for _, job in said}
    right = sum(at[place] == job for place, job in said)
    misplaced = len(jobs & set(truth.order)) - right
    return float(right + _WRONG_PLACE * max(0, misplaced)) / len(truth.order)


def _traps(given: HandIn, truth: TruthKeys, rubric: Rubric) -> float:
    return _told(given.answers.get("traps", ()), truth.traps, truth.neutral_traps)


_PARTS: dict[str, Callable[[HandIn, TruthKeys, Rubric], float]] = {
    "look": _look,
    "survey": _survey,
    "prediction": _prediction,
    "place": _place,
    "sound": _sound,
    "emissivity": _emissivity,
    "numbers": _numbers,
    "verdict": _verdict,
    "cause": _cause,
    "order": _order,
    "traps": _traps,
}
