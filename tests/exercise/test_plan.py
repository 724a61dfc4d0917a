"""Plans as teachers write them."""

from __future__ import annotations

import pytest

from thermalkit.errors import ReadingError
from thermalkit.exercise.chance import WeakSeed, checked_seed, new_seed
from thermalkit.exercise.plan import read_plan, truths_of


def plan(folder, text):
    path = folder / "plan.toml"
    path.write_text(text, encoding="utf-8")
    return read_plan(path)


def test_a_name_is_enough(tmp_path):
    found = plan(tmp_path, '[class]\nname = "Second year"\n')
    assert found.number == len(found.learners) == 30
    assert found.learners[0] == "01"


def test_names_become_folders(tmp_path):
    found = plan(tmp_path, '[class]\nname = "x"\nnumber = 2\nnames = ["A.B.", "C.D."]\n')
    assert found.learners == ("A.B.", "C.D.")


def test_the_digest_knows_no_layout(tmp_path):
    """Comments and order do not matter, values do."""
    one = plan(tmp_path, '[class]\nname = "x"\nnumber = 3\n')
    same = plan(tmp_path, '# a remark\n[class]\nnumber = 3\nname = "x"\n')
    other = plan(tmp_path, '[class]\nname = "x"\nnumber = 4\n')
    assert one.digest == same.digest != other.digest


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", ["class"]),
        (
            '[class]\nnumber = 0\nlanguage = "fr"\nnumbr = 3\n',
            ["class.language", "class.name", "class.number"],
        ),
        ('[class]\nname = "x"\ntruths = ["ghost"]\n', ["class.truths[0]"]),
        ('[class]\nname = "x"\nnumber = 3\nnames = ["a", "A"]\n', ["class.names", "class.names"]),
        ('[class]\nname = "x"\nnumber = 1\nnames = [".hidden"]\n', ["class.names"]),
        ('[class]\nname = "x"\nkinds = ["ghost"]\n', ["class.kinds[0]"]),
        (
            '[class]\nname = "x"\nkinds = ["damp", "heating"]\ntruths = ["drying", "air-leak"]\n',
            ["class.truths", "class.kinds"],
        ),
        ("[class\n", [""]),
    ],
)
def test_every_problem_of_a_plan_is_named_at_once(tmp_path, text, places):
    with pytest.raises(ReadingError) as raised:
        plan(tmp_path, text)
    assert all(problem.file == "plan.toml" for problem in raised.value.problems)
    named = {str(problem.place) for problem in raised.value.problems}
    assert all(any(place in found for found in named) for place in places)


def test_a_plan_of_several_kinds_takes_all_their_truths(tmp_path):
    """And one that names some, those each kind has of them."""
    every = plan(tmp_path, '[class]\nname = "x"\nkinds = ["heating", "envelope"]\n')
    assert set(every.truths) == {*truths_of("heating"), *truths_of("envelope")}
    some = plan(tmp_path, '[class]\nname = "x"\nkinds = ["damp", "envelope"]\ntruths = ["sound", "drying"]\n')
    assert some.truths_in("damp") == ("sound", "drying")
    assert some.truths_in("envelope") == ("sound",)


def test_a_plan_that_is_not_there_is_named(tmp_path):
    with pytest.raises(ReadingError, match=r"nowhere\.toml"):
        read_plan(tmp_path / "nowhere.toml")


@pytest.mark.parametrize("seed", ["", "abc", "g" * 32, "0" * 64, "0123456789abcdef" * 1])
def test_a_seed_that_can_be_guessed_is_refused(seed):
    with pytest.raises(WeakSeed, match="128 bits"):
        checked_seed(seed)


def test_a_new_seed_is_accepted_and_new():
    assert checked_seed(new_seed()) != new_seed()
