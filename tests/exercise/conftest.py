"""One small class for all tests of this folder, made once a run, and learners who are simulated."""

from __future__ import annotations

import json
import os

import numpy as np
import pytest

from thermalkit.diagnosis.class_.choices import EMISSIVITIES, OPEN, TRUST, VERDICTS, ids
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.exercise.cases import kinds, maker
from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import read_key
from thermalkit.exercise.make import make_class
from thermalkit.exercise.plan import ClassKeys, truths_of
from thermalkit.exercise.scoring import unfit_of
from thermalkit.record.fingerprint import fingerprint

MOST = 30  # a class, however many scenes are asked for
EVERY = len(kinds()) * max(len(truths_of(kind)) for kind in kinds())
NUMBER = min(max(MOST, EVERY), int(os.environ.get("THERMALKIT_SCENES", EVERY)))
SEED = "5d0c8a1f7be2943660f1d2c3b4a59687"
PLAN = ClassKeys(
    name="Trial class",
    number=NUMBER,
    difficulty="medium",
    kinds=kinds(),
)
ANSWERED = {
    "forgotten-emissivity": {"emissivity": "1.00"},
    "drying-taken-for-bridge": {"cause": "bridge"},
    "pipe-taken-for-leak": {"cause": "leak"},
    "leak-taken-for-construction": {"cause": "bridge"},
    "construction-taken-for-leak": {"cause": "air-leak"},
    "throttling-taken-for-fault": {"cause": "starved", "verdict": "indicated"},
    "lukewarm-taken-for-fault": {"cause": "starved", "verdict": "indicated"},
    "mirror-taken-for-cold": {"cause": "starved", "verdict": "indicated"},
    "little-water-taken-for-deposit": {"cause": "deposit"},
}
"""What somebody answers who has a misconception."""


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    """A class with a case of each truth of each kind; of more where that many scenes are asked for."""
    return make_class(PLAN, tmp_path_factory.mktemp("class") / "made", SEED, workers=1)


@pytest.fixture(scope="session")
def key(made):
    return read_key(made.key)


class Learner:
    """Answers the truth but for slips, which happen by chance or at one step, and one misconception."""

    def __init__(self, truth, *, slips=0.0, at=None, misconception=None, seed=0):
        self.truth, self.slips, self.at, self.misconception = truth, slips, at, misconception
        self.rng = np.random.default_rng(seed)

    def answers(self):
        truth = self.truth
        order = list(truth.order)
        if self._slips("order"):
            order[0], order[1] = order[1], order[0]
        found = {
            "look": self._one("look", truth.look[0], ids(truth.kind, "look")),
            "survey": self._some("survey", truth.survey, ids(truth.kind, "survey")),
            "trust": self._one("trust", truth.trust, TRUST),
            "predict": self._one("predict", truth.predict[0], ids(truth.kind, "predict")),
            "emissivity": self._one("emissivity", truth.emissivity, EMISSIVITIES[1:]),
            "suspect": self._place(),
            "sound": self._sound(),
            "numbers": self._numbers(),
            "verdict": self._one("verdict", truth.verdict, VERDICTS),
            "cause": self._cause(),
            "traps": self._some(
                "traps", truth.traps, tuple(sorted({*ids(truth.kind, "traps")} - {*truth.neutral_traps}))
            ),
            "order": dict(zip(("first", "second", "third"), order, strict=True)),
            "justify": "because",
            "hints": [],
        }
        return found | ANSWERED.get(self.misconception, {})

    def _slips(self, step):
        return step == self.at or self.rng.random() < self.slips

    def _one(self, step, true, options):
        wrong = [option for option in options if option != true]
        return wrong[self.rng.integers(len(wrong))] if self._slips(step) else true

    def _cause(self):
        """A slip is one that no misconception explains."""
        truth, rules = self.truth, maker(self.truth.kind).MISCONCEPTIONS.values()

        def is_explained(cause):
            answers = {"cause": cause, "verdict": truth.verdict}
            given = HandIn(answers=answers, predicted=None, hints=())
            return any(shows(given, truth) for shows in rules)

        return self._one("cause", truth.cause, [c for c in ids(truth.kind, "cause") if not is_explained(c)])

    def _some(self, step, true, options):
        return [self._one(step, true[0], options)]

    def _numbers(self):
        within = 2.5 if self._slips("numbers") else 0.5 if self.slips else 0.0
        return {
            name: float(
                np.clip(item.accepted[0] + self.rng.choice((-1, 1)) * within * item.within, -60.0, 200.0)
            )
            for name, item in self.truth.numbers.items()
        }

    def _place(self):
        truth = self.truth
        if self.misconception == "brightest-spot":
            top, below, left, right = truth.brightest
            shift = self.rng.integers(-1, 2, 2) if self.slips else (0, 0)
            rows, columns = (top + shift[0], below + shift[0]), (left + shift[1], right + shift[1])
            return [self._box("suspect", truth.frame, rows, columns)]
        if self._slips("suspect"):
            return [self._elsewhere("suspect")]
        if not truth.area:
            return []
        points = np.array(truth.area[0])
        if self.slips:
            middle = points.mean(axis=0)
            points = middle + 0.9 * (points - middle) + self.rng.normal(0.0, 0.8, points.shape)
        return [self._mark("suspect", truth.frame, points)]

    def _sound(self):
        frame = self.truth.frame
        if self.misconception == "across-rooms":
            return [self._box("sound", self.truth.frame_of_another_room, (40, 60), (40, 70))]
        return (
            [self._box("sound", frame, (3, 12), (3, 12))]
            if self._slips("sound")
            else [self._elsewhere("sound")]
        )

    def _elsewhere(self, role):
        """A box clear of everything that is not plain wall."""
        unfit = unfit_of(self.truth)
        rows, columns = self.truth.shape
        for high, wide in ((14, 20), (9, 13), (5, 9), (3, 6)):  # a narrow front has no more to offer
            for _ in range(500):
                top = self.rng.integers(4, rows - high - 4)
                left = self.rng.integers(4, columns - wide - 4)
                if not unfit[top : top + high, left : left + wide].any():
                    ends = (top, top + high - 1), (left, left + wide - 1)
                    return self._box(role, self.truth.frame, *ends)
        raise AssertionError("no plain wall")

    def _box(self, role, frame, rows, columns):
        corners = [(rows[0], columns[0]), (rows[0], columns[1]), (rows[1], columns[1]), (rows[1], columns[0])]
        return self._mark(role, frame, np.array(corners, dtype=float))

    def _mark(self, role, frame, points):
        points = np.clip(points, 0.0, np.subtract(self.truth.shape, 1.0)).round(1).tolist()
        return {"frame": frame, "id": role, "shape": "patch", "points": points, "role": role}


class HandsIn:
    """Writes answers as the page form and the notebook do."""

    def __init__(self, key):
        self.key = key

    def record(self, name, answers):
        """A record as plain data."""
        known = self.key.of(name)
        entries, before = [], {}
        for step in (step for step in STEPS if step.name in answers):
            decisions = {used: before.get(used, OPEN) for used in step.uses}
            own = known.inputs if step.uses else {"site": {}, "files": {}}
            entries.append(
                {
                    "step": step.name,
                    "value": answers[step.name],
                    "proposed": None,
                    "reason": "",
                    "by": name,
                    "at": "2026-02-01T10:00:00+00:00",
                    "inputs": fingerprint({**own, "decisions": decisions}),
                    "thermalkit": "0.1.0",
                }
            )
            before[step.name] = answers[step.name]
        return {"schema": 1, "kind": "class", "entries": entries}

    def write(self, folder, name, answers):
        """The file that a browser saves."""
        path = folder / f"{name}-class.json"
        path.write_text(json.dumps(self.record(name, answers)), encoding="utf-8")
        return path


@pytest.fixture(scope="session")
def hands_in(key):
    return HandsIn(key)


@pytest.fixture(scope="session")
def simulated():
    return Learner
