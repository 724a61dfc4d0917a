"""What a learner is asked, and what becomes of the answers."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from thermalkit.diagnosis.class_.choices import EMISSIVITIES, OPEN
from thermalkit.diagnosis.class_.controls import Numbers
from thermalkit.diagnosis.class_.notes import notes
from thermalkit.diagnosis.class_.questions import questions
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.diagnosis.decisions import Case, NotADecision
from thermalkit.diagnosis.run import Answer, accept, investigation, kinds, run
from thermalkit.language import render, words_in
from thermalkit.site.folder import read_site

SITES = Path(__file__).parents[3] / "sample_sites"
ASKED = Numbers(lambda case: questions("damp").numbers)
MARKS = {
    "suspect": [[40, 40], [40, 60], [60, 60], [60, 40]],
    "sound": [[100, 30], [100, 60], [120, 60], [120, 30]],
}


def learner(**answers):
    """Answers some steps and leaves the others as they are proposed."""
    return lambda step, propose, inputs: Answer(value=answers.get(step.name, propose()), state="decided")


def marked(frame, **answers):
    marks = {
        role: [{"frame": frame, "id": role, "shape": "patch", "points": points, "role": role}]
        for role, points in MARKS.items()
    }
    return learner(**marks, **answers)


def test_a_kind_that_is_a_word_of_the_language_is_found():
    assert "class" in kinds()
    assert investigation("class").__name__ == "thermalkit.diagnosis.class_"


def test_nothing_is_proposed():
    """A learner who keeps every proposal has answered nothing."""
    site = read_site(SITES / "cold-corner")
    assert all(step.only_a_person for step in STEPS)
    found = run("class", site, accept)
    assert all(value in (OPEN, [], {}, "") for value in found.decisions.values())
    assert [finding.code for finding in found.findings] == ["class.answer"]


def test_the_chosen_emissivity_moves_the_numbers():
    """A surface colder than what it mirrors looks warmer than it is; correcting makes it colder."""
    site = read_site(SITES / "cold-corner")
    untouched = site.keys.model_copy(update={"references": ()})  # a reading on the wall would cancel it
    site, frame = replace(site, keys=untouched), next(iter(site.frames))
    read = {
        chosen: run("class", site, marked(frame, emissivity=chosen)).findings[1].quantities[0].measured.value
        for chosen in ("1.00", "0.93")
    }
    assert read["0.93"] < read["1.00"]


def test_numbers_at_marks_and_reservations_are_handed_in():
    site = read_site(SITES / "cold-corner")
    frame = next(iter(site.frames))
    found = run("class", site, marked(frame, survey=["sun"], trust="no", emissivity=EMISSIVITIES[1]))
    assert not found.survey.usable
    assert len(found.survey.remarks) == 1
    terms = [quantity.term.id for quantity in found.findings[1].quantities]
    assert terms == ["surface-temperature", "surface-humidity", "temperature-difference"]


@pytest.mark.parametrize(
    "value", [[], {"other": 1.0}, {"surface": "12"}, {"surface": 1e9}, {"surface": True}]
)
def test_what_is_no_number_is_refused(value):
    with pytest.raises(NotADecision):
        ASKED.checked(value, Case(site=None))


def test_numbers_stay_in_the_order_in_which_they_are_asked():
    assert list(ASKED.checked({"humidity": 80, "surface": 12.5}, Case(site=None))) == [
        "surface",
        "humidity",
    ]


@pytest.mark.parametrize("name", ["cold-corner", "ground-moisture"])
def test_notes_speak_both_languages(name):
    """Drillings too; what was not written down is left out."""
    lines = notes(read_site(SITES / name))
    for language in ("en", "de"):
        told = [(render(title, language), words_in(text, language)) for title, text in lines]
        assert all(title and text for title, text in told)
