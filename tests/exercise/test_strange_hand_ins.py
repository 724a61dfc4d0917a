"""Hand-ins as other machines pack them, and keys that somebody else made."""

from __future__ import annotations

import json
import unicodedata

import pytest

from thermalkit.errors import ReadingError
from thermalkit.exercise.key import read_key, sealed
from thermalkit.exercise.marking import marked
from thermalkit.exercise.plan import read_plan
from thermalkit.exercise.rubric import read_rubric

RUBRIC = read_rubric()


@pytest.fixture
def changed_key(made, tmp_path):
    """The key with something changed in it, sealed again."""

    def change(act):
        content = json.loads(made.key.read_bytes())
        del content["seal"]
        act(content["learners"])
        path = tmp_path / "key.json"
        path.write_bytes(sealed(content))
        return read_key(path)

    return change


@pytest.mark.parametrize("form", ["NFD", "capitals"])
@pytest.mark.parametrize("packed", ["folder", "file"])
def test_a_name_as_another_system_writes_it_is_found(
    changed_key, hands_in, simulated, tmp_path, form, packed
):
    """Letters taken apart into accent and letter, and other capitals, are the same name."""
    key = changed_key(lambda learners: learners[0].update(name="Jürgen"))
    came_back = unicodedata.normalize("NFD", "Jürgen") if form == "NFD" else "JÜRGEN"
    folder = tmp_path / "came-back"
    record = folder / came_back / "record" / "class.json"
    if packed == "file":
        record = folder / f"{came_back}-class.json"
    record.parent.mkdir(parents=True)
    written = hands_in.__class__(key).record("Jürgen", simulated(key.learners[0].truth).answers())
    record.write_text(json.dumps(written), encoding="utf-8")
    assert marked(folder, key, RUBRIC)[0].points == 100.0


def test_a_folder_that_is_a_link_is_no_hand_in(key, hands_in, simulated, tmp_path):
    """It may lead to a neighbour's folder, or out of what came back."""
    name = key.learners[0].name
    record = tmp_path / "elsewhere" / "record" / "class.json"
    record.parent.mkdir(parents=True)
    answers = simulated(key.learners[0].truth).answers()
    record.write_text(json.dumps(hands_in.record(name, answers)), encoding="utf-8")
    folder = tmp_path / "came-back"
    folder.mkdir()
    (folder / name).symlink_to(record.parents[1])
    assert marked(folder, key, RUBRIC)[0].state == "broken"


CHANGES = {
    "a name that leads out": lambda learners: learners[0].update(name="../../teacher"),
    "a name twice": lambda learners: learners[1].update(name=learners[0]["name"]),
    "a file elsewhere": lambda learners: learners[0]["files"].update({"/etc/passwd": "0" * 64}),
    "a picture without sides": lambda learners: learners[0]["truth"].update(shape=[-1, 10]),
    "a picture without end": lambda learners: learners[0]["truth"].update(shape=[10**6, 10**6]),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_key_that_reaches_out_is_refused(changed_key, change):
    """Anybody can seal a key of their own; the pages of a class are named after its learners."""
    with pytest.raises(ReadingError, match=r"key\.json"):
        changed_key(CHANGES[change])


STRANGE = {
    "kind": "roof",
    "cause": "ghost",
    "look": ["ghost"],
    "survey": ["ghost"],
    "trust": "ghost",
    "predict": ["ghost"],
    "emissivity": "ghost",
    "verdict": "ghost",
    "order": ["ghost"],
    "traps": ["ghost"],
    "neutral_traps": ["ghost"],
    "numbers": {"ghost": {"accepted": [1.0], "within": 1.0}},
}


@pytest.mark.parametrize("name", STRANGE)
def test_a_key_with_an_answer_that_nobody_can_give_is_refused(changed_key, name):
    """A later program may ask other questions; the key says which answer is not known here."""
    with pytest.raises(ReadingError, match=r"learners\.0\.truth: .*(ghost|roof)' is none of "):
        changed_key(lambda learners: learners[0]["truth"].update({name: STRANGE[name]}))


def test_two_names_that_look_alike_are_one(tmp_path):
    """On some systems they would share a folder."""
    names = [unicodedata.normalize(form, "Jürgen") for form in ("NFC", "NFD")]
    text = f'[class]\nname = "x"\nnumber = 2\nnames = {json.dumps(names, ensure_ascii=False)}\n'
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ReadingError, match="names"):
        read_plan(tmp_path / "plan.toml")
