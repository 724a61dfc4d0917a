"""Hand-outs: what is in them, what is not, and that they can be made again."""

from __future__ import annotations

import json
import re

import pytest

from thermalkit.diagnosis.class_.questions import kinds as kinds_asked
from thermalkit.diagnosis.class_.questions import questions
from thermalkit.diagnosis.run import accept, run
from thermalkit.errors import ReadingError, WritingError
from thermalkit.exercise import make
from thermalkit.exercise.cases import kinds, maker
from thermalkit.exercise.key import read_key, sealed
from thermalkit.exercise.make import NoCase, dealt, made_case, make_class
from thermalkit.exercise.plan import ClassKeys, truths_of
from thermalkit.language import say
from thermalkit.record.whole import write_whole
from thermalkit.site.folder import read_site

FILES = {
    "README.md",
    "site.toml",
    "page.html",
    "sheet.html",
}


def contents(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


NOTED = {"chrome"}  # a finish is seen, and written down as one


def of_kind(key, kind):
    return [learner for learner in key.learners if learner.truth.kind == kind]


def test_every_learner_gets_a_site_without_truth(made, key):
    for learner in key.learners:
        folder = made.hand_out / learner.name
        assert FILES <= set(learner.files) == set(contents(folder))
        frames = (learner.truth.frame, learner.truth.frame_of_another_room)
        assert {f"thermal/{frame}.tiff" for frame in frames} <= set(learner.files)
        site = read_site(folder)
        assert {mark.role for mark in site.keys.marks} <= {"radiator", "hidden"}
        assert not site.keys.references
        assert all(frame.keys.emissivity is None for frame in site.frames.values())


def test_every_truth_is_dealt_as_often(key):
    """In an order that follows from the seed, not from the plan."""
    for kind in kinds():
        here = [learner.truth.cause for learner in key.learners if learner.truth.kind == kind]
        counts = [here.count(truth) for truth in truths_of(kind)]
        assert max(counts) - min(counts) <= 1
    long = ClassKeys(name="x", number=60)
    every = {("damp", truth): 10 for truth in truths_of("damp")}
    assert {case: dealt(long, key.seed).count(case) for case in every} == every
    assert dealt(long, key.seed) != dealt(long, key.seed[::-1])


def test_kinds_are_dealt_as_often_and_have_only_their_own_truths():
    """A truth that two kinds know is dealt in both."""
    plan = ClassKeys(name="x", number=10 * len(kinds()), kinds=kinds())
    assert set(plan.cases) == {(kind, truth) for kind in kinds() for truth in truths_of(kind)}
    assert {kind: [k for k, _ in plan.cases].count(kind) for kind in kinds()} == dict.fromkeys(kinds(), 10)


def test_every_kind_that_is_made_is_asked_about():
    """Folders of one name: questions where answers are checked, a maker here."""
    assert kinds() == kinds_asked()
    for kind in kinds():
        assert set(questions(kind).numbers) >= {"surface", "difference"}
        assert set(questions(kind).options) == {"look", "survey", "cause", "job", "traps", "hint"}
        assert maker(kind).MISCONCEPTIONS


def test_each_case_has_one_trap_of_the_visit_and_one_of_the_picture(key):
    """The same in all cases: equal difficulty."""
    for learner in key.learners:
        assert len(learner.truth.survey) == len(learner.truth.traps) == 1
        asked = questions(learner.truth.kind)
        assert learner.truth.survey[0] in asked.ids("survey")
        assert learner.truth.traps[0] in asked.ids("traps")


def test_nothing_of_the_key_is_handed_out(made, key):
    """Neither seed nor outlines in any byte; words of the truth only where every case has them."""
    folders = {learner.name: contents(made.hand_out / learner.name) for learner in key.learners}
    for learner in key.learners:
        whole = b"\n".join(folders[learner.name].values())
        assert key.seed.encode() not in whole
        assert key.seal.encode() not in whole
        assert b"truth" not in whole.lower()
        outline = json.dumps(learner.truth.area[0] if learner.truth.area else learner.truth.brightest)
        assert outline.encode() not in whole
        assert re.sub(r"\s", "", outline).encode() not in whole
    for kind in kinds():
        names = [learner.name for learner in key.learners if learner.truth.kind == kind]
        words = [
            {word: folders[name]["site.toml"].count(word.encode()) for word in {*truths_of(kind)} - NOTED}
            for name in names
        ]
        assert all(counts == words[0] for counts in words)


def test_names_order_and_times_tell_nothing(made, key):
    """Folders are named by the plan, every file bears one time, and files are the same in number."""
    folders = sorted(path for path in made.hand_out.iterdir())
    assert [folder.name for folder in folders] == list(key.plan.learners)
    assert len({path.stat().st_mtime_ns for path in made.hand_out.rglob("*")}) == 1
    for kind in kinds():
        assert len({tuple(sorted(item.files)) for item in key.learners if item.truth.kind == kind}) == 1


def test_the_same_plan_and_seed_give_the_same_bytes(made, key):
    """One case of the class drawn again, in this process."""
    cases = dealt(key.plan, key.seed)
    for kind in kinds():
        number = next(n for n, case in enumerate(cases) if case[0] == kind)
        name = key.plan.learners[number]
        assert made_case((key.plan, key.seed, name, *cases[number])).files == contents(made.hand_out / name)


def test_another_seed_gives_another_case(key):
    plan = ClassKeys(name="x", number=1, truths=("sound",))
    one, other = (made_case((plan, seed, "01", "damp", "sound")) for seed in (key.seed, key.seed[::-1]))
    assert one.files["thermal/wall-1.tiff"] != other.files["thermal/wall-1.tiff"]


@pytest.mark.slow
def test_the_whole_unattended_run_says_the_same_as_the_check(made, key):
    """What was walked when the case was made is what `thermalkit annex damp --unattended` concludes."""
    learner = next(learner for learner in of_kind(key, "damp") if learner.truth.cause == "bridge")
    found = run("damp", read_site(made.hand_out / learner.name), accept)
    verdicts = {
        finding.frame: finding.verdict
        for finding in reversed(found.findings)
        if finding.code == "damp.surface-humidity" and finding.mark.startswith("cold")
    }
    assert verdicts[learner.truth.frame] == "indicated"
    cause = next(f for f in found.findings if f.code == "damp.cause" and f.frame == learner.truth.frame)
    assert cause.alternatives[0].name.id == "damp.cause.source.condensation"


def test_a_class_is_never_written_over_another(made, key):
    with pytest.raises(WritingError, match="there already"):
        make_class(key.plan, made.hand_out.parent, key.seed)


def test_a_changed_key_is_refused(made, tmp_path):
    """A verdict that somebody turned round breaks the seal."""
    content = json.loads(made.key.read_bytes())
    assert sealed({k: v for k, v in content.items() if k != "seal"}) == made.key.read_bytes()
    content["learners"][0]["truth"]["verdict"] = "inconclusive"
    path = tmp_path / "key.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    with pytest.raises(ReadingError, match="changed since it was sealed"):
        read_key(path)


@pytest.mark.parametrize("text", ["", "[]", "[" * 100_000, '{"schema": 2}', '{"schema": NaN}'])
def test_what_is_no_key_is_refused(tmp_path, text):
    path = tmp_path / "key.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ReadingError, match=r"key\.json"):
        read_key(path)


def test_a_sound_wall_has_no_place(key):
    """Nor a radiator that is even. Every other case has one, of some size and clear of what is brightest."""
    for learner in key.learners:
        assert (not learner.truth.area) == (learner.truth.cause in ("sound", "healthy", "chrome"))
        assert learner.truth.unfit or learner.truth.comparable


def test_a_case_that_cannot_be_found_is_said(key, monkeypatch, tmp_path):
    """Nothing is written then."""
    monkeypatch.setattr(make, "MOST_ATTEMPTS", 0)
    with pytest.raises(NoCase, match=r"No \w+ case for 01"):
        make_class(key.plan, tmp_path / "out", key.seed, workers=1)
    assert not (tmp_path / "out").exists()


def test_a_disk_that_is_full_leaves_no_half_of_a_class(tmp_path, monkeypatch):
    """What was written so far is gone, and the same folder can be used again."""
    files = {f"{number}.txt": b"x" for number in range(5)}
    case = make.Made(name="01", files=files, truth={}, inputs={}, attempts=1)
    monkeypatch.setattr(make, "_by_processes", lambda tasks, workers: [case])
    written = []

    def write(path, data):
        if len(written) == 3:
            raise WritingError(say("record.not-written", path=str(path), reason="full"))
        written.append(path)
        write_whole(path, data)

    monkeypatch.setattr(make, "write_whole", write)
    with pytest.raises(WritingError, match="full"):
        make_class(ClassKeys(name="x", number=1), tmp_path / "out", "5d0c8a1f7be2943660f1d2c3b4a59687")
    assert len(written) == 3
    assert list((tmp_path / "out").iterdir()) == []


def test_what_a_killed_run_left_is_removed_by_the_next(tmp_path, monkeypatch):
    """It may hold a key, and stands hidden beside what is handed out."""
    case = make.Made(name="01", files={"site.toml": b""}, truth={}, inputs={}, attempts=1)
    monkeypatch.setattr(make, "_by_processes", lambda tasks, workers: [case])
    left = tmp_path / f"{make._STAGE}left" / "teacher"
    left.mkdir(parents=True)
    (left / "key.json").write_bytes(b"{}")
    make_class(ClassKeys(name="x", number=1), tmp_path, "5d0c8a1f7be2943660f1d2c3b4a59687")
    assert {path.name for path in tmp_path.iterdir()} == {"hand-out", "teacher"}
