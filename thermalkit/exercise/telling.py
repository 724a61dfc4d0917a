"""An answer and the truth of one part, in words."""

from __future__ import annotations

from collections.abc import Iterable

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import OPEN
from thermalkit.diagnosis.class_.controls import NUMBERS
from thermalkit.exercise.handin import HandIn
from thermalkit.exercise.key import TruthKeys

_ORDER = ("first", "second", "third")
_DIGITS = {"surface": 1, "difference": 1, "humidity": 0}
_OFF_BY = {"surface": "K", "difference": "K", "humidity": "%"}
_FULL = 0.999


def given_text(part: str, given: HandIn, truth: TruthKeys, share: float, words: Wording) -> str:
    """What a learner answered."""
    answers = given.answers
    if part == "prediction":
        return _option("predict", given.predicted, words)
    if part in ("place", "sound"):
        return _marked(part, given, truth, share, words)
    if part == "numbers":
        said = answers.get("numbers", {})
        return "; ".join(_number(name, value, words) for name, value in said.items()) or words.say(
            "class.open"
        )
    if part == "survey":
        trust = _option("trust", answers.get("trust"), words)
        return f"{_options('survey', answers.get('survey', ()), words)} – {trust}"
    if part == "order":
        said = answers.get("order", {})
        return _options("job", [said[place] for place in _ORDER if place in said], words)
    if part == "traps":
        return _options("traps", answers.get("traps", ()), words)
    return _option(part, answers.get(part), words)


def true_text(part: str, truth: TruthKeys, words: Wording) -> str:
    """What is true."""
    if part == "prediction":
        return _options("predict", truth.predict, words, "exercise.or")
    if part in ("place", "sound"):
        return words.say(f"exercise.true.{part}" if truth.area else f"exercise.true.{part}-none")
    if part == "numbers":
        return "; ".join(
            words.say(
                "exercise.number-within",
                value=f" {words.say('exercise.or')} ".join(_number(name, v, words) for v in item.accepted),
                within=words.number(item.within, _DIGITS[name], _OFF_BY[name]),
            )
            for name, item in truth.numbers.items()
        )
    if part == "survey":
        return f"{_options('survey', truth.survey, words)} – {_option('trust', truth.trust, words)}"
    if part == "order":
        return _options("job", truth.order, words)
    if part == "traps":
        return _options("traps", truth.traps, words)
    if part == "look":
        return _options("look", truth.look, words, "exercise.or")
    return _option(part, getattr(truth, part), words)


def _option(step: str, id: str | None, words: Wording) -> str:
    return words.say("class.open" if id in (None, OPEN) else f"class.{step}.{id}")


def _options(step: str, ids: Iterable[str], words: Wording, between: str = "") -> str:
    told = [_option(step, id, words) for id in ids]
    return (f" {words.say(between)} " if between else "; ").join(told) or words.say("exercise.none")


def _number(name: str, value: float, words: Wording) -> str:
    return words.number(value, _DIGITS[name], NUMBERS[name].unit)


def _marked(part: str, given: HandIn, truth: TruthKeys, share: float, words: Wording) -> str:
    """Where marks lie, in words; the picture shows it."""
    marks = given.answers.get("suspect" if part == "place" else "sound", ())
    if not marks:
        return words.say("exercise.marked.nothing")
    if share >= _FULL:
        return words.say(f"exercise.marked.{part}-well")
    if any(mark.frame != truth.frame for mark in marks):
        return words.say("exercise.marked.other-room")
    return words.say(f"exercise.marked.{part}-{'partly' if share > 0.0 else 'beside'}")
