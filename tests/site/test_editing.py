"""The site file is changed like a careful person would: what was not meant stays as it is."""

import re
import tomllib
from datetime import UTC, datetime
from importlib.resources import files

import pytest

from thermalkit.errors import WritingError
from thermalkit.site.editing import edited

TEMPLATE = files("thermalkit.site").joinpath("new_site.toml").read_text(encoding="utf-8")
WALKED = datetime(2026, 1, 21, 8, 30, tzinfo=UTC)
FILLED = {
    ("site", "name"): "Row 14",
    ("site", "surveyed_at"): WALKED,
    ("limits", "set"): "GB-dwelling",
    ("weather", "hours_since_sun"): 14.0,
    ("instruments", "cam"): {"kind": "thermal_camera", "field_of_view_deg": [25.0, 19.0]},
    ("instruments", "hygro 2"): {"kind": "thermohygrometer"},
    ("rooms", 0): {"id": "bedroom", "name": "Rear bedroom"},
    ("rooms", 1): {"id": "hall"},
    ("elements", 0): {"id": "wall", "layers": [{"material": "brick", "thickness_mm": 215}]},
}


def remarks(text):
    return [line for line in text.splitlines() if line.startswith("# ")]


def test_the_template_is_filled_in_place():
    """Each value stands where its example stood, and every remark of the template is still there."""
    text = edited(TEMPLATE, FILLED)
    assert tomllib.loads(text)["rooms"] == [{"id": "bedroom", "name": "Rear bedroom"}, {"id": "hall"}]
    assert remarks(text) == remarks(TEMPLATE)
    lines = text.splitlines()
    assert lines[lines.index('name = "Row 14"') - 1].startswith("# Needed")
    assert "#hours_since_sun = 14.0" not in lines
    heads = [line for line in lines if re.match(r"\[|# -{5}", line)]
    assert heads[heads.index('[instruments."hygro 2"]') + 1].endswith("rooms: repeat the block for each")


def test_other_values_leave_remarks_and_order_alone():
    """A number is changed, one taken away, an entry removed; all else is the same text."""
    before = edited(TEMPLATE, FILLED)
    after = edited(
        before, {("rooms", 0, "name"): "Bedroom", ("weather", "hours_since_sun"): None, ("rooms", 1): None}
    )
    assert remarks(after) == remarks(before)
    gone = set(before.splitlines()) - set(after.splitlines())
    assert gone == {'name = "Rear bedroom"', "hours_since_sun = 14.0", 'id = "hall"'}
    assert set(after.splitlines()) - set(before.splitlines()) == {'name = "Bedroom"'}


def test_a_table_without_keys_is_taken_away_with_its_remarks_kept():
    """An optional table with a required key must not stay empty."""
    before = edited(TEMPLATE, FILLED)
    after = edited(before, {("limits",): None})
    assert "limits" not in tomllib.loads(after)
    assert remarks(after) == remarks(before)


def test_a_remark_at_the_end_of_a_line_stays():
    """The surveyor's own words beside a number."""
    text = edited(
        "[weather]\nair_temperature_degc = 1.5 # shade of the porch\n",
        {("weather", "air_temperature_degc"): 2.0},
    )
    assert text == "[weather]\nair_temperature_degc = 2.0 # shade of the porch\n"


def test_several_entries_are_taken_away_by_their_old_numbers():
    """Removing the first does not shift the third."""
    text = '[[rooms]]\nid = "a"\n[[rooms]]\nid = "b"\n[[rooms]]\nid = "c"\n'
    assert tomllib.loads(edited(text, {("rooms", 0): None, ("rooms", 2): None}))["rooms"] == [{"id": "b"}]
    assert "rooms" not in tomllib.loads(edited(text, {("rooms", i): None for i in range(3)}))


@pytest.mark.parametrize(
    "text",
    [
        'site = {name = "a"}\n',
        'rooms = [{id = "x"}]\n[site]\nname = "a"\n',
        '"site".name = "a"\n',
        '[site]\nname = """a\n[[rooms]]\n#[[rooms]]\n# ------\n"""\n',
        '[instruments.a]\nkind = "logger"\n[site]\nname = "a"\n[instruments.b]\nkind = "logger"\n',
    ],
)
def test_other_ways_of_writing_give_the_same_values_or_an_error(text):
    """Never a file that says something else than was asked for."""
    before = tomllib.loads(text)
    changes = {("site", "name"): 'b "\\ \n', ("rooms", len(before.get("rooms", []))): {"id": "new"}}
    try:
        after = tomllib.loads(edited(text, changes))
    except WritingError:
        return
    assert after["site"]["name"] == 'b "\\ \n'
    assert after["rooms"] == [*before.get("rooms", []), {"id": "new"}]
    assert after.get("instruments") == before.get("instruments")


def test_what_cannot_be_changed_for_sure_is_refused():
    """A table that is none cannot take a key."""
    with pytest.raises(WritingError, match=r"site\.name cannot be changed"):
        edited("site = 3\n", {("site", "name"): "a"})
