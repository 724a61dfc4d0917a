"""The first page: a folder without a filled-in site file becomes a case, without a text editor."""

import re
import shutil
import tomllib

import pytest
from pytest import raises

from thermalkit.errors import WritingError
from thermalkit.site import read_site, write_new_site
from thermalkit.workbook import open_session
from thermalkit.workbook.halt import Halt
from thermalkit.workbook.visit import read_visit, save
from thermalkit.workbook.visit_changes import checked

READINGS = """\
place,taken_at,quantity,value,unit,instrument
bedroom,2026-01-21T08:50:00+00:00,air temperature,17.2,degC,hygro
bedroom,2026-01-21T08:50:00+00:00,relative humidity,63.2,%,hygro
"""


@pytest.fixture
def new_folder(tmp_path, site_folder):
    """Only `new` was done, then a frame and the readings were dropped in."""
    folder = write_new_site(tmp_path / "dropped")
    shutil.copy(site_folder / "thermal" / "corner.npy", folder / "thermal")
    (folder / "readings.csv").write_text(READINGS, "utf-8")
    return folder


def typed(panel, **tables):
    """Answers typed into a panel: for a table its keys, for a list the keys of one entry by number."""
    answers = {
        table: dict(value) if isinstance(value, dict) else [dict(item) for item in value]
        for table, value in panel._form.answers.items()
    }
    for table, values in tables.items():
        for key, value in values.items():
            if isinstance(key, int):
                entries = answers[table]
                entries.extend({} for _ in range(key + 1 - len(entries)))
                entries[key] |= value
            else:
                answers[table][key] = value
    panel._form.answers = answers
    return panel


def saved(panel, **tables):
    typed(panel, **tables).save()
    return panel


NEEDED = {
    "site": {"name": "Row 14", "surveyed_at": "2026-01-21 08:30+00:00"},
    "weather": {"air_temperature_degc": "1,5"},
    "frames": {0: {"values": "apparent"}},
}


def test_a_new_folder_opens_with_the_form_and_everything_waits(new_folder):
    """The notebook runs to its end; each part says what it waits for."""
    session = open_session("damp", new_folder)
    assert "still to be filled in" in repr(session)
    assert "still to be filled in" in session._repr_html_()
    form = session.site_form()
    assert "The building and the question, Name: missing. Shown to the client." in repr(form)
    assert 'readings.csv, row 2, instrument: "hygro". Not listed' in repr(form)
    assert form._form.opened
    assert repr(session.show("frames")) == "Waits for the form of the visit above."
    assert "Still to be kept" in repr(session.findings())
    assert session.annex()._button.disabled
    for asked in (lambda: session.site, lambda: session.decided("frames"), session.concluded):
        with raises(Halt, match="form of the visit"):
            asked()


def test_the_overview_above_follows_the_form(new_folder):
    """Once the visit is saved it no longer says that the folder is empty."""
    session = open_session("damp", new_folder)
    session._repr_mimebundle_()
    overview = session._panels[-1]
    assert "still to be filled in" in overview._shown.value
    saved(session.site_form(), **NEEDED)
    assert "Row 14" in overview._shown.value


def test_files_and_readings_fill_the_form_in(new_folder):
    """What the folder tells need not be typed."""
    answers = open_session("damp", new_folder).site_form()._form.answers
    assert answers["rooms"][0]["id"] == "bedroom"
    assert answers["rooms"][0]["air_temperature_degc"] == "17.2"
    assert answers["frames"][0]["file"] == "thermal/corner.npy"
    assert [item["id"] for item in answers["instruments"]] == ["cam", "hygro"]
    assert answers["site"]["surveyed_at"]


def test_saving_makes_a_site_and_every_panel_looks_again(new_folder):
    """Three needed answers, one click, and the first question is asked with its proposal."""
    session = open_session("damp", new_folder)
    form, frames = session.site_form(), session.show("frames")
    saved(form, **NEEDED)
    assert session.problems == ()
    assert read_site(new_folder).keys.weather.air_temperature_degc == 1.5
    assert "proposal is filled in" in repr(frames)
    assert frames._asking.value() == ["corner"]
    assert "No second reading on the frame" in repr(form)
    text = (new_folder / "site.toml").read_text("utf-8")
    template = write_new_site(new_folder.parent / "other") / "site.toml"
    remarks = [line for line in template.read_text("utf-8").splitlines() if line.startswith("# ")]
    assert [line for line in text.splitlines() if line.startswith("# ")] == remarks
    assert (new_folder / "readings.csv").read_text("utf-8") == READINGS


def test_an_opened_form_changes_nothing(site_folder):
    """A complete site file is saved as it stands, to the byte."""
    before = (site_folder / "site.toml").read_bytes()
    session = open_session("damp", site_folder)
    form = session.site_form()
    assert not form._form.opened
    assert form._form.messages == []
    form.save()
    assert (site_folder / "site.toml").read_bytes() == before
    assert "Saved" in form._said.value


def test_what_is_wrong_is_told_beside_its_field_and_not_written(site_folder):
    """The rest is saved; the wrong answer stays on the screen."""
    session = open_session("damp", site_folder)
    form = saved(session.site_form(), rooms={0: {"relative_humidity_percent": "0,6", "name": "Bedroom"}})
    assert "cannot be read (1)" in form._said.value
    assert read_site(site_folder).room("room").name == "Bedroom"
    assert read_site(site_folder).room("room").relative_humidity_percent == 60.0
    assert form._form.answers["rooms"][0]["relative_humidity_percent"] == "0,6"
    assert form._form.messages == [
        [
            "rooms",
            0,
            "relative_humidity_percent",
            "Allowed: 1 to 100. 0.6 looks like a fraction; did you mean 60?",
        ]
    ]


def test_a_name_given_twice_is_not_written_and_stays_on_the_screen(new_folder):
    """It does not fit the rest of the file; once it does, it is saved."""
    session = open_session("damp", new_folder)
    form = saved(session.site_form(), **NEEDED, rooms={1: {"id": "bedroom", "name": "Hall"}})
    assert session.problems == ()
    assert [m[:3] for m in form._form.messages] == [["rooms", 1, "id"]]
    assert "Already used by rooms[0]" in form._form.messages[0][3]
    assert form._form.answers["rooms"][1]["name"] == "Hall"
    saved(form, rooms={1: {"id": "hall"}})
    assert form._form.messages == []
    assert [room.id for room in read_site(new_folder).keys.rooms] == ["bedroom", "hall"]


def test_a_problem_of_the_folder_stands_beside_its_field_until_it_is_answered(new_folder):
    """Written with an editor, mended in the form."""
    session = open_session("damp", new_folder)
    form = saved(session.site_form(), **NEEDED)
    path = new_folder / "site.toml"
    path.write_text(path.read_text("utf-8") + '\n[[rooms]]\nid = "bedroom"\n', "utf-8")
    session = open_session("damp", new_folder)
    form = session.site_form()
    assert "already used" in repr(form).lower()
    assert [m[:3] for m in form._form.messages] == [["rooms", 1, "id"]]
    typed(form, rooms={1: {"id": "hall"}})
    assert form._form.messages == []


WRONG_READINGS = [
    ("value", "500", "Allowed: -60 to 60."),
    ("value", "mild", "Allowed: -1e+06 to 1e+06."),
    ("unit", "%", 'Allowed: "degC" for air temperature.'),
    ("instrument", "other", "Not listed under [instruments]"),
    ("quantity", "", "Needed."),
]


@pytest.mark.parametrize(("key", "text", "said"), WRONG_READINGS)
def test_a_wrong_reading_is_not_written_and_the_earlier_one_stays(new_folder, key, text, said):
    """Told beside its field while the good row beside it is saved."""
    session = open_session("damp", new_folder)
    form = saved(session.site_form(), **NEEDED)
    saved(form, readings={0: {key: text}, 1: {"value": "64,1"}, 2: {"place": "hall"}})
    assert [(m[1], m[2]) for m in form._form.messages if m[1] == 0] == [(0, key)]
    assert said in form._form.messages[0][3]
    assert (new_folder / "readings.csv").read_text("utf-8").splitlines()[1:] == [
        "bedroom,2026-01-21T08:50:00+00:00,air temperature,17.2,degC,hygro,,",
        "bedroom,2026-01-21T08:50:00+00:00,relative humidity,64.1,%,hygro,,",
    ]
    assert form._form.answers["readings"][0].get(key, "") == text
    assert form._form.answers["readings"][2]["place"] == "hall"
    assert session.problems == ()


def test_a_needed_answer_that_is_emptied_stays_on_the_disk(site_folder):
    """A site without its name could not be read."""
    before = (site_folder / "site.toml").read_bytes()
    form = saved(open_session("damp", site_folder).site_form(), site={"name": ""})
    assert (site_folder / "site.toml").read_bytes() == before
    assert [m[:3] for m in form._form.messages] == [["site", -1, "name"]]


def test_messages_are_in_the_language_of_the_report(site_folder):
    """Beside the field and on top."""
    path = site_folder / "site.toml"
    path.write_text(path.read_text("utf-8") + '\n[report]\nlanguage = "de"\n', "utf-8")
    form = typed(
        open_session("damp", site_folder).site_form(), rooms={0: {"relative_humidity_percent": "300"}}
    )
    assert form._form.messages[0][3].startswith("Erlaubt: 1 bis 100. Luft in Raummitte")
    path.write_text(path.read_text("utf-8").replace('id = "room"', 'id = "a/b"', 1), "utf-8")
    assert "druckbare Zeichen" in repr(open_session("damp", site_folder).site_form())


def test_a_changed_site_is_asked_again_with_the_same_decisions(site_folder):
    """A new reading makes the decisions that rest on it stale; what was marked is still filled in."""
    session = open_session("damp", site_folder)
    form, frames, limit = session.site_form(), session.show("frames"), session.show("limit")
    for panel in (frames, limit):
        panel._keep.click()
    asking = limit._asking
    saved(form, weather={"air_temperature_degc": "4"})
    assert "changed since" in repr(frames)
    assert "Kept on" in repr(limit)
    assert limit._asking is asking
    assert session.site.keys.weather.air_temperature_degc == 4.0


def test_entries_are_added_and_taken_away(site_folder):
    """A second room with its reading, then the first instrument gone."""
    session = open_session("damp", site_folder)
    form = session.site_form()
    saved(
        form,
        rooms={1: {"id": "hall", "air_temperature_degc": "18"}},
        instruments={2: {"id": "probe", "kind": "contact_thermometer"}},
        readings={0: {"place": "hall", "quantity": "wind speed", "value": "0,2", "unit": "m/s"}},
    )
    site = read_site(site_folder)
    assert site.room("hall").air_temperature_degc == 18.0
    assert site.instrument("probe").kind == "contact_thermometer"
    assert site.readings[0].value == 0.2
    answers = {**form._form.answers, "rooms": form._form.answers["rooms"][:1], "readings": []}
    form._form.answers = answers
    form.save()
    assert [room.id for room in read_site(site_folder).keys.rooms] == ["room"]
    assert read_site(site_folder).readings == ()


def test_a_section_that_is_emptied_is_gone(site_folder):
    """A table with a needed key does not stay without it."""
    session = open_session("damp", site_folder)
    form = saved(session.site_form(), limits={"set": "GB-dwelling"})
    assert read_site(site_folder).keys.limits.set == "GB-dwelling"
    saved(form, limits={"set": ""})
    assert session.problems == ()
    assert "limits" not in tomllib.loads((site_folder / "site.toml").read_text("utf-8"))


def test_a_file_changed_by_another_program_is_not_written_over(site_folder):
    """The editor's change wins; the form says how to go on."""
    session = open_session("damp", site_folder)
    form = session.site_form()
    path = site_folder / "site.toml"
    path.write_text(path.read_text("utf-8") + "\n# by hand\n", "utf-8")
    saved(form, site={"name": "Other"})
    assert "role='alert'" in form._said.value
    assert path.read_text("utf-8").endswith("# by hand\n")
    with raises(WritingError, match="changed by another"):
        save(checked(form._form.answers, form._visit), form._visit)


def test_what_stops_a_save_is_told_in_german(site_folder):
    """Somebody else wrote the site file, or the record, meanwhile."""
    path = site_folder / "site.toml"
    path.write_text(path.read_text("utf-8") + '\n[report]\nlanguage = "de"\n', "utf-8")
    session = open_session("damp", site_folder)
    form, frames = session.site_form(), session.show("frames")
    path.write_text(path.read_text("utf-8") + "# by hand\n", "utf-8")
    form.save()
    assert "einem anderen Fenster oder Programm geändert. Führen Sie diese Zelle" in form._said.value
    (site_folder / "record").mkdir(exist_ok=True)
    (site_folder / "record" / "damp.json").write_text("{}", "utf-8")
    frames._keep.click()
    assert "öffnen Sie das Notebook neu" in frames._answer.value
    with raises(Halt, match=r"(?s)damp\.json.*Erlaubt: schema = 1\. Eine andere Version"):
        open_session("damp", site_folder)


def test_readings_that_a_form_cannot_show_are_left_alone(site_folder):
    """Another heading is a problem of the file, not a reason to write it anew."""
    (site_folder / "readings.csv").write_text("place,colour\nroom,red\n", "utf-8")
    session = open_session("damp", site_folder)
    form = session.site_form()
    assert "readings" not in form._form.answers
    form.save()
    assert (site_folder / "readings.csv").read_text("utf-8") == "place,colour\nroom,red\n"


def test_a_file_that_is_no_toml_is_told_and_left_alone(site_folder):
    """A form cannot mend it, and neither guesses nor overwrites."""
    (site_folder / "site.toml").write_text("[site\n", "utf-8")
    with raises(Halt, match=r"site\.toml"):
        open_session("damp", site_folder)


def test_unattended_there_is_no_form(site_folder):
    """A batch run writes nothing and shows what is missing."""
    form = open_session("damp", site_folder, unattended=True).site_form()
    assert len(form.children) == 3
    assert "No second reading" in repr(form)


def test_a_german_site_has_a_german_form(site_folder):
    """Titles, labels and choices."""
    path = site_folder / "site.toml"
    path.write_text(path.read_text("utf-8") + '\n[report]\nlanguage = "de"\n', "utf-8")
    form = open_session("damp", site_folder).site_form()._form
    rooms = next(table for table in form.tables if table["table"] == "rooms")
    assert [field["label"] for field in rooms["fields"]][:3] == ["Kurzname", "Name", "Lufttemperatur"]
    assert form.words["save"] == "Besuch sichern"
    assert form.words["thermal_camera"] == "Wärmebildkamera"
    assert re.search("Fehlt", open_session("damp", site_folder).site_form()._top.value)


def test_a_time_without_offset_takes_the_clock_of_the_walk(new_folder):
    """Frames are set beside loggers by their times, so the offset is never left open."""
    visit = read_visit(new_folder)
    answers = visit.answers()
    answers["site"]["surveyed_at"] = "2026-01-21 08:30+01:00"
    answers["frames"][0] |= {"taken_at": "2026-01-21 08:41", "values": "apparent"}
    assert checked(answers, visit).changes["frames", 0]["taken_at"].isoformat() == "2026-01-21T08:41:00+01:00"
