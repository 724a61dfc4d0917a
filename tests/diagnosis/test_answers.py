"""Answers to many questions in one step."""

from __future__ import annotations

import pytest

from thermalkit.diagnosis.decisions import Answers, Asked, NotADecision
from thermalkit.language import say


def asked(*outcomes):
    return Asked(
        title=say("answer.unknown"),
        by=say("by.surveyor"),
        outcomes={outcome: say("answer.yes") for outcome in outcomes},
    )


CONTROL = Answers(lambda case: {"where": asked("corner", "patch"), "timing": asked("rain", "winter")})


def test_answers_come_in_the_order_of_the_form():
    """What was not looked at drops out, whether said or left out."""
    given = {"timing": "rain", "where": "corner"}
    assert list(CONTROL.checked(given, None).items()) == [("where", "corner"), ("timing", "rain")]
    assert CONTROL.checked({"timing": "not-looked"}, None) == {}


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (["corner"], "question and outcome"),
        ({"edge": "level"}, "allowed: where, timing"),
        ({"where": "level"}, "where: read: 'level'; allowed: corner, patch, not-looked"),
        ({"where": None}, "where: read: None"),
        ({"where": ["corner"]}, "where: read: "),
    ],
)
def test_what_is_no_answer_is_named(value, said):
    with pytest.raises(NotADecision, match=said):
        CONTROL.checked(value, None)
