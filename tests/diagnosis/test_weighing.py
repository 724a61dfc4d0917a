"""Weighing rival explanations: Bayes by hand, groups, what to ask next."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import entropy

from thermalkit.diagnosis.weighing import next_measurements, posterior, read_table

LIKELIHOODS = """question,outcome,leak,mist,nothing,basis,reasoning
stain,ring,0.8,0.1,0.1,invented,
stain,film,0.2,0.9,0.9,invented,
meter,high,0.7,0.6,0.1,invented,
meter,low,0.3,0.4,0.9,invented,
tap,drips,0.5,0.2,0.2,invented,
tap,tight,0.5,0.8,0.8,invented,
rim,sharp,0.45,0.1,0.1,invented,
rim,soft,0.55,0.9,0.9,invented,
"""
QUESTIONS = """question,group,by,minutes,reasoning
stain,seen,surveyor,2,
meter,wet,reading,5,
tap,seen,surveyor,40,
rim,seen,surveyor,400,
"""
TABLE = read_table(LIKELIHOODS, QUESTIONS)
# One source: (1 - 0.50 unknown - 0.05 nothing - 0.09 two sources) / 2 = 0.18 each.


def test_posterior_is_bayes_by_hand():
    """A ring: 0.18*0.8, 0.18*0.1, 0.05*0.1, 0.09*(0.8+0.1)/2, 0.50*(0.8+0.1+0.1)/3, over their sum."""
    joint = [0.144, 0.018, 0.005, 0.0405, 0.5 / 3.0]
    weighing = posterior(TABLE, {"stain": "ring"})
    assert weighing.probability == pytest.approx(
        {
            "leak": (joint[0] + joint[3]) / sum(joint),
            "mist": (joint[1] + joint[3]) / sum(joint),
            "nothing": joint[2] / sum(joint),
            "unknown": joint[4] / sum(joint),
        }
    )
    assert weighing.pairs == pytest.approx({("leak", "mist"): joint[3] / sum(joint)})
    assert weighing.first == "leak"


def test_a_push_is_the_ratio_to_not_knowing():
    """A ring is 0.8 / (1/3) = 2.4 times as likely with a leak: 1.263 bits; 0.3 times with mist: -1.737."""
    pushes = posterior(TABLE, {"stain": "ring", "meter": "high"}).pushes
    assert [(p.question, p.outcome) for p in pushes["leak"]] == [("stain", "ring"), ("meter", "high")]
    assert pushes["leak"][0].bits == pytest.approx(1.263, abs=5e-4)
    assert pushes["mist"][0].bits == pytest.approx(-1.737, abs=5e-4)


def test_a_group_speaks_once():
    """Only the answer that tells the sources apart most counts, in whatever order they come."""
    alone = posterior(TABLE, {"stain": "ring"})
    for answers in ({"tap": "drips", "stain": "ring"}, {"stain": "ring", "tap": "drips"}):
        both = posterior(TABLE, answers)
        assert both.probability == alone.probability
        assert both.set_aside == ("tap",)
        assert {p.question for p in both.pushes["leak"]} == {"stain"}


def test_not_looked_counts_nothing():
    assert posterior(TABLE, {"stain": "not-looked"}) == posterior(TABLE, {})
    assert posterior(TABLE, {}).first == "unknown"


@pytest.mark.parametrize("answers", [{"colour": "red"}, {"stain": "blue"}])
def test_what_is_not_in_the_table_is_refused(answers):
    with pytest.raises(KeyError):
        posterior(TABLE, answers)
    with pytest.raises(KeyError):
        next_measurements(TABLE, answers)


def test_expected_information_is_mutual_information():
    """By the other decomposition: H(outcome) - sum of P(explanation) H(outcome | explanation).

    Over the explanations that have a name: 0.18, 0.18, 0.05 and 0.09 of the half that is not *unknown*.
    """
    prior = np.array([0.36, 0.36, 0.10, 0.18])
    stain, meter = np.array([[0.8, 0.1, 0.1], [0.2, 0.9, 0.9]]), np.array([[0.7, 0.6, 0.1], [0.3, 0.4, 0.9]])
    found = {m.question: m.bits for m in next_measurements(TABLE, {})}
    for question, single in (("stain", stain), ("meter", meter)):
        likelihood = np.column_stack([single, single[:, :2].mean(axis=1)])
        expected = entropy(likelihood @ prior, base=2) - prior @ entropy(likelihood, base=2, axis=0)
        assert found[question] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("answers", [{}, {"meter": "high"}, {"tap": "drips"}, {"stain": "film"}])
def test_a_lead_is_where_the_outcome_would_lead(answers):
    """Also where the group is spoken for already: a sharp rim tells more than drips, a soft one less."""
    for measurement in next_measurements(TABLE, answers):
        assert sum(lead.chance for lead in measurement.leads) == pytest.approx(1.0)
        for lead in measurement.leads:
            after = posterior(TABLE, {**answers, measurement.question: lead.outcome}).probability
            named = {id: p for id, p in after.items() if id != "unknown"}
            assert lead.source == max(named, key=named.__getitem__)
            assert lead.probability == pytest.approx(named[lead.source])


def test_proposals_follow_information_per_effort():
    """Cheap and telling first; what is answered, left out or can tell nothing is not proposed."""
    order = [m.question for m in next_measurements(TABLE, {})]
    assert order == ["stain", "meter", "tap", "rim"]
    costly = next_measurements(TABLE, {}, {"stain": 9000.0})
    assert [m.question for m in costly][-1] == "stain"
    assert [m.question for m in next_measurements(TABLE, {"stain": "ring"})] == ["meter"]
    assert [m.question for m in next_measurements(TABLE, {}, leave_out=["stain", "rim"])] == ["meter", "tap"]
