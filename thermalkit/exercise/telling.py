"""An answer and the truth of one part, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import OPEN
from thermalkit.diagnosis.class_.choices import words as in_words
from thermalkit.diagnosis.class_.questions import in_own_words, questions
from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import NumberKeys, TruthKeys

_ORDER = ("first", "second", "third")
_FULL = 0.999


def given_text(part: str, given: HandIn, truth: TruthKeys, share: float, words: Wording) -> str:
    """What a learner answered."""
    answers, told = given.answers, _Told(truth.kind, words)
    if part == "prediction":
        return told.option("predict", given.predicted)
    if part in ("place", "sound"):
        return _marked(part, given, truth, share, words)
    if part == "numbers":
        said = answers.get("numbers", {})
        return "; ".join(told.number(name, value) for name, value in said.items()) or words.say("class.open")
    if part == "survey":
        trust = told.option("trust", answers.get("trust"))
        return f"{told.options('survey', answers.get('survey', ()))} – {trust}"
    if part == "order":
        said = answers.get("order", {})
        return told.options("job", [said[place] for place in _ORDER if place in said])
    if part == "traps":
        return told.options("traps", answers.get("traps", ()))
    return told.option(part, answers.get(part))


def true_text(part: str, truth: TruthKeys, words: Wording) -> str:
    """What is true."""
    told = _Told(truth.kind, words)
    if part == "prediction":
        return told.options("predict", truth.predict, "exercise.or")
    if part in ("place", "sound"):
        which = f"true.{part}" if truth.area else f"true.{part}-none"
        return words.text(in_own_words("exercise", truth.kind, which))
    if part == "numbers":
        return "; ".join(told.true_number(name, item) for name, item in truth.numbers.items())
    if part == "survey":
        return f"{told.options('survey', truth.survey)} – {told.option('trust', truth.trust)}"
    if part == "order":
        return told.options("job", truth.order)
    if part == "traps":
        return told.options("traps", truth.traps)
    if part == "look":
        return told.options("look", truth.look, "exercise.or")
    return told.option(part, getattr(truth, part))


@dataclass(frozen=True, slots=True)
class _Told:
    """Answers in the words of a kind."""

    kind: str
    words: Wording

    def option(self, step: str, id: str | None) -> str:
        return self.words.text(in_words(self.kind, step, OPEN if id is None else id))

    def options(self, step: str, ids: Iterable[str], between: str = "") -> str:
        told = [self.option(step, id) for id in ids]
        joint = f" {self.words.say(between)} " if between else "; "
        return joint.join(told) or self.words.say("exercise.none")

    def number(self, name: str, value: float) -> str:
        asked = questions(self.kind).numbers[name]
        return self.words.number(value, asked.digits, asked.unit)

    def true_number(self, name: str, item: NumberKeys) -> str:
        asked = questions(self.kind).numbers[name]
        joint = f" {self.words.say('exercise.or')} "
        return self.words.say(
            "exercise.number-within",
            value=joint.join(self.number(name, value) for value in item.accepted),
            within=self.words.number(item.within, asked.digits, asked.off_unit or asked.unit),
        )


def _marked(part: str, given: HandIn, truth: TruthKeys, share: float, words: Wording) -> str:
    """Where marks lie, in words; the picture shows it."""
    marks = given.answers.get("suspect" if part == "place" else "sound", ())
    if not marks:
        return words.say("exercise.marked.nothing")
    if share >= _FULL:
        which = f"{part}-well"
    elif not all(truth.shows_place(mark.frame) for mark in marks):
        which = "other-room"
    else:
        which = f"{part}-{'partly' if share > 0.0 else 'beside'}"
    return words.text(in_own_words("exercise", truth.kind, f"marked.{which}"))
