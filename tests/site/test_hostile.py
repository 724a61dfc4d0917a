"""Text from a file reaches the terminal on one line, escaped and short."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site import read_site
from thermalkit.site.problems import listed, shown

NASTY = ['a\\"b', "a\\nb", "\\u001b[31m", "\\u202Eabc", "\\u0000", "\\u2066x", "x" * 3000, "\\U000E0041"]


def message_of(folder):
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    text = str(caught.value)
    assert all(c.isprintable() or c == "\n" for c in text)
    for problem in caught.value.problems:
        assert str(problem).count("\n") <= 1
        assert len(str(problem)) < 1500
    return text


@pytest.mark.parametrize("nasty", NASTY)
def test_hostile_text_in_every_role(folder, nasty):
    """As key, id, instrument name, reference, path and value it stays harmless."""
    folder.replace('id = "cellar"', f'id = "{nasty}"')
    folder.replace('room = "cellar"', f'room = "{nasty}-"')
    folder.replace('subject = "wall"', f'subject = "{nasty}"')
    folder.replace("photos/corner.png", f"photos/{nasty}.png")
    folder.append(f'["{nasty}"]\n"{nasty}" = 1\n[instruments."{nasty}"]\n"{nasty}" = "{nasty}"\n')
    assert "unknown key" in message_of(folder)


@pytest.mark.parametrize("nasty", ["\\u001b[31m", "\\u202Eabc", "\\u0000", "a\\rb"])
def test_control_characters_in_text_are_refused(folder, nasty):
    """Names and remarks hold no control or direction-changing characters."""
    folder.replace('why = "stored goods"', f'why = "{nasty}"')
    assert "looked_at[0].why" in message_of(folder)


def test_other_scripts_and_line_breaks_are_welcome(folder):
    """Right-to-left scripts, accents and new lines are ordinary text."""
    folder.replace('why = "stored goods"', 'why = "מרתף\\nÉté 地下室 🏠"')
    assert read_site(folder.path).keys.looked_at[0].why.startswith("מרתף\nÉté")


@pytest.mark.parametrize("value", ["[]", "{}", "[[]]", "[{}]", "1", '"x"', "true", "inf", "2026-01-21"])
@pytest.mark.parametrize(
    "key",
    ["site", "weather", "instruments", "rooms", "frames", "references", "marks", "costs", "instruments.a"],
)
def test_any_type_in_any_place(folder, key, value):
    """A wrong type anywhere is a problem, never a traceback."""
    folder.toml(f"{key} = {value}\n")
    message_of(folder)


@pytest.mark.parametrize("value", ["[]", "{}", "[[1]]", '[["a", "b"]]', "[[1, 2, 3]]", "[[inf, nan]]", "1"])
def test_any_type_as_points(folder, value):
    """Points of a wrong form are refused at their key."""
    folder.replace("points = [[2, 2], [2, 9], [9, 9], [9, 2]]", f"points = {value}")
    assert "marks[0].points" in message_of(folder)


def test_deep_value_under_an_unknown_key(folder):
    """A value nested to just below the parser's limit is shown as a table or list only."""
    folder.append("[x]\nx = " + "[" * 150 + "]" * 150)
    assert "x: unknown key" in message_of(folder)


def test_values_are_shown_short():
    """Whatever was read is shown in a few words."""
    assert shown(10**5000) == "a number of very many digits"
    assert shown(12) == "12"
    assert len(shown("x" * 10_000)) < 100
    assert shown({}) == "a table"
    assert shown(None) == "nothing"
    assert shown(object()) == "something else"
    assert listed("abcdefghijklmnop", most=2) == '"a", "b", …'
