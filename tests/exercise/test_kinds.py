"""What only one kind of case has, and what all have to have."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import ids, words
from thermalkit.diagnosis.class_.notes import notes
from thermalkit.diagnosis.class_.questions import in_own_words, kind_of, questions
from thermalkit.diagnosis.run import Answer, accept, run
from thermalkit.exercise.cases import kinds
from thermalkit.exercise.misconceptions import all_misconceptions
from thermalkit.exercise.scoring import area_of
from thermalkit.language import render, words_in
from thermalkit.site.folder import read_site

STEPS = ("look", "survey", "predict", "cause", "job", "traps", "hint", "hint-text")


def site_with(air_degc, outdoor_degc):
    """A frame of a room with so warm air."""
    room = SimpleNamespace(air_temperature_degc=air_degc, relative_humidity_percent=50.0)
    weather = SimpleNamespace(mean_24h_air_temperature_degc=outdoor_degc, air_temperature_degc=None)
    return SimpleNamespace(frames={"one": SimpleNamespace(room=room)}, keys=SimpleNamespace(weather=weather))


def on_the_line(table, degc):
    (cold, low), (warm, high) = table
    return low + (degc - cold) / (warm - cold) * (high - low)


def test_temperature_factor_beside_a_picture_is_that_of_din_4108_2():
    """12.6 °C at 20 °C indoors and -5 °C outdoors are the printed 0.70; tolerance is half its last digit."""
    table = questions("envelope").beside.table(site_with(20.0, -5.0), "one")
    assert on_the_line(table, 12.6) == pytest.approx(0.70, abs=0.005)


def test_excess_beside_a_picture_is_that_of_en_442():
    """Water of 75/65 °C in a room of 20 °C is the printed excess of 50 K."""
    table = questions("heating").beside.table(site_with(20.0, None), "one")
    assert on_the_line(table, (75.0 + 65.0) / 2.0) == pytest.approx(50.0)


def test_what_was_not_read_stands_beside_nothing():
    for kind in kinds():
        assert questions(kind).beside.table(site_with(None, None), "one") == []


def test_a_hand_out_is_asked_about_as_what_it_is(made, key):
    for learner in key.learners:
        assert kind_of(read_site(made.hand_out / learner.name)) == learner.truth.kind


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_kind_has_its_words(made, key, language):
    """Options, hints, causes and misconceptions; the notes of each case."""
    told = Wording(language)
    for kind in kinds():
        shown = [words(kind, step, id) for step in STEPS for id in ids(kind, step.removesuffix("-text"))]
        shown += [in_own_words("exercise", kind, f"why.{cause}") for cause in ids(kind, "cause")]
        shown += [words(kind, "numbers", name) for name in questions(kind).numbers]
        for name, own in all_misconceptions().items():
            if own in ("", kind):
                shown += [in_own_words("exercise", kind, f"misconception.{name}")]
                shown += [in_own_words("exercise", kind, f"misconception-told.{name}")]
        assert all(told.text(sentence) for sentence in shown)
    for learner in key.learners:
        for title, text in notes(read_site(made.hand_out / learner.name)):
            assert render(title, language)
            assert words_in(text, language)


def test_a_fan_moves_leaks_only(made, key):
    """Means over the true place, without and with it; 0.15 K is what noise and blur leave of 60 pixels."""
    for learner in (item for item in key.learners if item.truth.kind == "envelope" and item.truth.area):
        site = read_site(made.hand_out / learner.name)
        area = area_of(learner.truth.area, learner.truth)
        before, after = (
            site.frames[name].apparent_degc[area].mean()
            for name in (learner.truth.frame, *learner.truth.same_view)
        )
        assert (before - after > 0.4) == (learner.truth.cause == "air-leak")
        assert learner.truth.cause == "air-leak" or abs(before - after) < 0.15


def test_notes_of_every_radiator_are_of_one_length(made, key):
    """What is written down tells nothing by being there."""
    lengths = {
        len(notes(read_site(made.hand_out / learner.name)))
        for learner in key.learners
        if learner.truth.kind == "heating"
    }
    assert len(lengths) == 1


@pytest.mark.parametrize("kind", kinds())
def test_answers_become_findings_of_their_kind(made, key, hands_in, simulated, kind):
    """The answer in words, and at each mark what the kind reads beside its temperature."""
    learner = next(item for item in key.learners if item.truth.kind == kind and item.truth.area)
    answers = simulated(learner.truth).answers()
    found = run(
        "class",
        read_site(made.hand_out / learner.name),
        lambda step, propose, inputs: Answer(value=answers[step.name], state="decided"),
    )
    terms = {quantity.term.id for finding in found.findings[1:] for quantity in finding.quantities}
    beside = {"damp": "surface-humidity", "envelope": "temperature-factor", "heating": "excess-temperature"}
    assert terms == {"surface-temperature", "temperature-difference", beside[kind]}
    assert render(found.findings[0].statement, "de")


@pytest.mark.slow
def test_whole_unattended_runs_say_the_same_as_the_checks(made, key):
    """What was walked when a case was made is what `thermalkit annex --unattended` concludes."""
    causes = {(learner.truth.kind, learner.truth.cause): learner for learner in key.learners}
    leak = run("envelope", read_site(made.hand_out / causes["envelope", "air-leak"].name), accept)
    assert "indicated" in {f.verdict for f in leak.findings if f.code == "envelope.leak.two-frames"}
    air = run("heating", read_site(made.hand_out / causes["heating", "air"].name), accept)
    cause = next(f for f in air.findings if f.code == "heating.radiator" and f.frame == "radiator-1")
    assert cause.alternatives[0].name.id.endswith(".air")
