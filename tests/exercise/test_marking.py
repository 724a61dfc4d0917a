"""Marking: simulated learners of whom it is known what they think, and hand-ins that are none."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import numpy as np
import pytest

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import ids
from thermalkit.errors import ReadingError
from thermalkit.exercise import marking
from thermalkit.exercise.feedback import class_page, learner_page
from thermalkit.exercise.marking import commonest, gradebook, mark_class, marked, to_discuss
from thermalkit.exercise.misconceptions import all_misconceptions
from thermalkit.exercise.rubric import OWN, read_rubric
from thermalkit.language import say

EACH = 10
EACH_SLIP = 4
STEPS_MARKED = (
    *("look", "survey", "trust", "predict", "suspect", "sound", "emissivity"),
    *("numbers", "verdict", "cause", "order", "traps"),
)
RUBRIC = read_rubric()
MISCONCEPTIONS = all_misconceptions()
SHOWN_BY = {
    "drying-taken-for-bridge": ("drying", "leak"),
    "pipe-taken-for-leak": ("warm-pipe",),
    "leak-taken-for-construction": ("air-leak",),
    "construction-taken-for-leak": ("bridge", "missing-insulation"),
    "throttling-taken-for-fault": ("satisfied",),
    "lukewarm-taken-for-fault": ("healthy",),
    "mirror-taken-for-cold": ("chrome",),
    "little-water-taken-for-deposit": ("starved",),
}
"""What is true of the cases in which a misconception of one kind can show."""


def row_of(hands_in, folder, name, answers):
    hands_in.write(folder, name, answers)
    return marking.row_of(folder, hands_in.key.of(name), RUBRIC)


def one_of_each(key):
    """A learner for each kind and each thing that may be true in it."""
    return {(item.truth.kind, item.truth.cause): item for item in key.learners}


def test_the_points_add_up_to_a_hundred():
    assert RUBRIC.out_of == 100.0


def test_whoever_answers_the_truth_gets_full_marks_in_every_case(key, hands_in, simulated, tmp_path):
    for learner in key.learners:
        row = row_of(hands_in, tmp_path, learner.name, simulated(learner.truth).answers())
        assert (row.points, row.misconceptions) == (100.0, ()), (learner.truth.cause, row.shares)


def test_whoever_answers_nothing_gets_nearly_nothing(key, hands_in, tmp_path):
    """Where there is no place, nothing is marked rightly; that is all."""
    for learner in key.learners:
        row = row_of(hands_in, tmp_path, learner.name, {"justify": "", "suspect": [], "hints": []})
        assert row.points <= (RUBRIC.points.place if not learner.truth.area else 0.0)


@pytest.mark.parametrize("name", MISCONCEPTIONS)
def test_a_misconception_is_named(key, hands_in, simulated, tmp_path, name):
    """In at least 90 of 100 who have just that one, one part in ten wrong besides; no other is named."""
    cases = [
        learner
        for learner in key.learners
        if MISCONCEPTIONS[name] in ("", learner.truth.kind)
        and learner.truth.cause in SHOWN_BY.get(name, (learner.truth.cause,))
    ]
    named, others = [], []
    for learner in cases:
        for seed in range(EACH * 6 // len(cases)):
            answers = simulated(learner.truth, slips=0.1, misconception=name, seed=seed).answers()
            found = row_of(hands_in, tmp_path, learner.name, answers).misconceptions
            named.append(name in found)
            others.append(bool(set(found) - {name}))
    assert np.mean(named) >= 0.9
    assert np.mean(others) <= 0.03


def test_correct_learners_are_not_accused(key, hands_in, simulated, tmp_path):
    """At most 3 of 100 who have no misconception, one part in ten wrong by slips."""
    accused = [
        bool(
            row_of(
                hands_in, tmp_path, learner.name, simulated(learner.truth, slips=0.1, seed=seed).answers()
            ).misconceptions
        )
        for learner in key.learners
        for seed in range(EACH)
    ]
    assert np.mean(accused) <= 0.03


def test_cases_are_equally_hard_for_the_same_learner(key, hands_in, simulated, tmp_path):
    """The mean of a learner with three parts in ten wrong differs by at most 5 of 100 points.

    One part wrong at a time: what each costs adds up, and is known better than from slips by chance.
    """
    means = {}
    for case, learner in one_of_each(key).items():
        lost = [
            100.0 - row_of(hands_in, tmp_path, learner.name, slipped.answers()).points
            for step in STEPS_MARKED
            for slipped in (simulated(learner.truth, at=step, seed=seed) for seed in range(EACH_SLIP))
        ]
        means[case] = 100.0 - 0.3 * sum(lost) / EACH_SLIP
    assert max(means.values()) - min(means.values()) <= 5.0, means


def test_the_first_prediction_counts_and_hints_stay(key, hands_in, simulated, tmp_path):
    """Changed with numbers in sight, it still is what was foretold; a hint that was unticked was taken."""
    learner = key.learners[0]
    hints = ids(learner.truth.kind, "hint")[:2]
    answers = simulated(learner.truth).answers()
    record = hands_in.record(learner.name, answers)
    entry = {
        **record["entries"][0],
        "step": "predict",
        "value": "over-8" if learner.truth.predict[0] != "over-8" else "under-1",
    }
    hint = {**record["entries"][0], "step": "hints", "value": list(hints)}
    record["entries"] = [entry, hint, *record["entries"]]
    (tmp_path / f"{learner.name}-class.json").write_text(json.dumps(record), encoding="utf-8")
    row = marked(tmp_path, key, RUBRIC)[0]
    assert row.shares["prediction"] < 1.0
    assert row.given.hints == hints
    lost = RUBRIC.points.prediction * (1.0 - row.shares["prediction"]) + 2 * RUBRIC.hints.each
    assert row.points == pytest.approx(100.0 - lost)


def test_a_mark_over_the_whole_picture_is_no_place(key, hands_in, simulated, tmp_path):
    learner = next(learner for learner in key.learners if learner.truth.cause == "reflection")
    rows, columns = learner.truth.shape
    answers = simulated(learner.truth).answers()
    answers["suspect"][0]["points"] = [[0, 0], [0, columns - 1], [rows - 1, columns - 1], [rows - 1, 0]]
    assert row_of(hands_in, tmp_path, learner.name, answers).shares["place"] < 0.5


HOSTILE = {
    "empty file": ("", "broken"),
    "no JSON": ("{", "broken"),
    "deep": ("[" * 200_000, "broken"),
    "not a number": ('{"schema": 1, "kind": "class", "entries": NaN}', "broken"),
    "another kind": ('{"schema": 1, "kind": "damp", "entries": []}', "broken"),
    "another schema": ('{"schema": 9, "kind": "class", "entries": []}', "broken"),
    "no entries": ('{"schema": 1, "kind": "class", "entries": []}', "empty"),
    "a list": ("[]", "broken"),
    "large": ("x" * 20_000_001, "broken"),
}


@pytest.mark.parametrize("text", HOSTILE)
def test_what_is_no_record_is_one_row_with_its_reason(key, tmp_path, text):
    content, state = HOSTILE[text]
    (tmp_path / f"{key.learners[0].name}-class.json").write_text(content, encoding="utf-8")
    rows = marked(tmp_path, key, RUBRIC)
    assert rows[0].state == state
    assert rows[0].reason is not None
    assert {row.state for row in rows[1:]} == {"missing"}


VALUES = [None, 1e308, "x" * 5000, [[[[[[]]]]]], {"a": {"b": []}}, [{"frame": "wall-1"}], True, "\ud800"]


@pytest.mark.parametrize("value", VALUES, ids=range(len(VALUES)))
def test_an_answer_that_is_none_costs_its_points_only(key, hands_in, simulated, tmp_path, value):
    learner = key.learners[0]
    for step in ("cause", "numbers", "traps", "order", "hints"):
        answers = {**simulated(learner.truth).answers(), step: value}
        row = row_of(hands_in, tmp_path, learner.name, answers)
        assert row.state == "marked"
        assert row.points <= 100.0


def test_a_record_of_another_case_is_noticed(key, hands_in, simulated, tmp_path):
    """Copied from a neighbour: the marks do not fit the pictures."""
    one, other = key.learners[:2]
    record = hands_in.record(other.name, simulated(one.truth).answers())
    (tmp_path / f"{one.name}-class.json").write_text(json.dumps(record), encoding="utf-8")
    assert marked(tmp_path, key, RUBRIC)[0].state == "altered"


def test_marks_with_a_number_that_is_none_are_noticed(key, hands_in, simulated, tmp_path):
    learner = key.learners[0]
    record = hands_in.record(learner.name, simulated(learner.truth).answers())
    for entry in record["entries"]:
        if entry["step"] == "predict":
            entry["value"] = float("inf")
    text = json.dumps(record).replace("Infinity", "1e999")
    (tmp_path / f"{learner.name}-class.json").write_text(text, encoding="utf-8")
    assert marked(tmp_path, key, RUBRIC)[0].state == "altered"


def test_a_changed_picture_is_noticed(made, key, hands_in, simulated, tmp_path):
    learner = key.learners[0]
    hands_in.write(tmp_path, learner.name, simulated(learner.truth).answers())
    folder = tmp_path / learner.name / "thermal"
    folder.mkdir(parents=True)
    one, other = (f"{name}.tiff" for name in (learner.truth.frame, learner.truth.frame_of_another_room))
    (folder / one).write_bytes(b"another")
    (folder / other).symlink_to(made.hand_out / learner.name / "thermal" / other)
    row = marked(tmp_path, key, RUBRIC)[0]
    assert row.state == "altered"
    assert f"{one}, thermal/{other}" in Wording("en").text(row.reason)


def test_a_hand_in_counts_once(key, hands_in, simulated, tmp_path):
    """Saved twice by a browser, or as folder and file: which one counts is for a person to say."""
    learner = key.learners[0]
    path = hands_in.write(tmp_path, learner.name, simulated(learner.truth).answers())
    (tmp_path / f"{learner.name}-class (1).json").write_bytes(path.read_bytes())
    assert marked(tmp_path, key, RUBRIC)[0].state == "several"
    path.unlink()
    assert marked(tmp_path, key, RUBRIC)[0].points == 100.0


def test_a_folder_with_its_record_is_a_hand_in_too(key, hands_in, simulated, tmp_path):
    learner = key.learners[0]
    path = hands_in.write(tmp_path, learner.name, simulated(learner.truth).answers())
    inside = tmp_path / learner.name / "record"
    inside.mkdir(parents=True)
    path.rename(inside / "class.json")
    assert marked(tmp_path, key, RUBRIC)[0].points == 100.0


@pytest.fixture(scope="module")
def class_marked(made, key, hands_in, simulated, tmp_path_factory):
    """One learner who forgot the emissivity, one with hostile words, one missing, the others right."""
    names, tmp_path = [learner.name for learner in key.learners], tmp_path_factory.mktemp("marked")
    for number, learner in enumerate(key.learners[:-1]):
        wrong = "forgotten-emissivity" if number == 0 else None
        answers = simulated(learner.truth, misconception=wrong).answers()
        answers["justify"] = '<script>alert("x")</script> =1+1'
        hands_in.write(tmp_path, learner.name, answers)
    (tmp_path / "out").mkdir()
    return names, mark_class(tmp_path, key, tmp_path / "out", RUBRIC, made.hand_out), tmp_path / "out"


def test_pages_and_table_are_written_for_everybody(class_marked):
    names, done, out = class_marked
    assert {path.relative_to(out).as_posix() for path in done.files} == {
        "class.html",
        "grades.csv",
        *(f"feedback/{name}.html" for name in names),
    }
    assert done.unmarked == 1
    table = list(csv.DictReader(io.StringIO((out / "grades.csv").read_text(encoding="utf-8-sig"))))
    assert [row["learner"] for row in table] == names
    assert table[0]["misconceptions"] == "forgotten-emissivity"
    assert table[0]["points"] == "92.0"
    assert table[-1]["state"] == "missing"
    assert commonest(done.rows) == [("forgotten-emissivity", 1)]
    assert to_discuss(done.rows).name == names[0]


def test_pages_ask_nobody_and_run_nothing_that_was_handed_in(class_marked):
    """Words of a learner are text; no address is loaded."""
    names, _, out = class_marked
    page = (out / "feedback" / f"{names[0]}.html").read_text(encoding="utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page
    assert not re.search(r"""(src|href)=["']?https?:""", page)
    assert "default-src &#39;none&#39;" in page


def test_marking_twice_gives_the_same_bytes(class_marked, key, made):
    _, done, out = class_marked
    before = [path.read_bytes() for path in done.files]
    again = mark_class(out.parent, key, out, RUBRIC, made.hand_out)
    assert [path.read_bytes() for path in again.files] == before


def test_a_german_class_is_told_in_german(class_marked, key, tmp_path):
    _, done, _ = class_marked
    text = gradebook(done.rows, RUBRIC, Wording("de")).decode("utf-8-sig")
    assert "es wurde nichts abgegeben" in text


def test_a_rubric_of_the_teachers_own_counts(key, hands_in, simulated, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(OWN.read_text(encoding="utf-8").replace("look = 5", "look = 55"), encoding="utf-8")
    own, learner = read_rubric(path), key.learners[0]
    hands_in.write(tmp_path, learner.name, simulated(learner.truth).answers())
    assert marked(tmp_path, key, own)[0].points == own.out_of == 150.0


@pytest.mark.parametrize(
    "change",
    [("look = 5", "look = -5"), ("look = 5", "lok = 5"), ("[hints]", "[hint]"), ("look = 5", "look =")],
)
def test_a_rubric_that_is_none_is_refused(tmp_path, change):
    path = tmp_path / "mine.toml"
    path.write_text(OWN.read_text(encoding="utf-8").replace(*change), encoding="utf-8")
    with pytest.raises(ReadingError, match=r"mine\.toml"):
        read_rubric(path)


def test_without_the_hand_out_there_are_outlines(key, hands_in, simulated, tmp_path):
    """And with one that was changed: the picture would not be the one that was marked."""
    learner = key.learners[0]
    hands_in.write(tmp_path, learner.name, simulated(learner.truth).answers())
    row = marking.row_of(tmp_path, learner, RUBRIC)
    bare = learner_page(row, key, RUBRIC, None).decode()
    assert "outlines only" in bare
    assert learner_page(row, key, RUBRIC, tmp_path / "nowhere").decode().count("data-picture>") >= 1


STATES = ("missing", "several", "broken", "altered", "empty")


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_case_state_and_misconception_has_its_words(key, hands_in, simulated, tmp_path, language):
    """A sentence that is missing would end the page."""
    spoken = key.model_copy(update={"plan": key.plan.model_copy(update={"language": language})})
    rows = []
    for learner in key.learners:
        hands_in.write(tmp_path, learner.name, simulated(learner.truth, slips=0.5).answers())
        own = tuple(name for name, kind in MISCONCEPTIONS.items() if kind in ("", learner.truth.kind))
        row = replace(marking.row_of(tmp_path, learner, RUBRIC), misconceptions=own)
        rows.append(row)
        assert learner_page(row, spoken, RUBRIC, None)
    for state in STATES:
        row = replace(rows[0], state=state, reason=say("exercise.handin.missing"), given=None, shares={})
        rows.append(row)
        assert learner_page(row, spoken, RUBRIC, None)
    assert class_page(rows, spoken, RUBRIC)
