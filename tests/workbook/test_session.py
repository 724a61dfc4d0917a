"""One investigation in a notebook: what is asked, kept, awaited and concluded."""

import html

import numpy as np
import pytest
from IPython.core.interactiveshell import InteractiveShell
from pytest import raises

from thermalkit.diagnosis.damp import steps
from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site
from thermalkit.workbook import open_session
from thermalkit.workbook import session as session_module
from thermalkit.workbook.halt import Halt

STEPS = tuple(step.name for step in steps.STEPS)


def keep(panel):
    panel._keep.click()
    return panel


def keep_all(session):
    return {name: keep(session.show(name)) for name in STEPS}


def test_an_unknown_kind_names_the_allowed_ones(site_folder):
    """A typing error in the kind is answered with the kinds there are."""
    with raises(Halt, match=r"No such investigation: dmap\. Allowed: .*damp"):
        open_session("dmap", site_folder)


def test_an_unknown_parameter_names_the_allowed_ones(site_folder):
    """A typing error in a parameter is answered with the parameters there are."""
    with raises(Halt, match=r"No such parameter: unatended\. Allowed: site_folder, unattended, by\."):
        open_session("damp", site_folder, unatended=True)


def test_an_unknown_step_names_the_allowed_ones(site_folder):
    """A typing error in a step is answered with the steps there are."""
    with raises(Halt, match=r"No such step: suspekt\. Allowed: frames, photo-pairs, limit, suspect"):
        open_session("damp", site_folder).show("suspekt")


def test_a_folder_that_cannot_be_read_is_told_as_text_without_a_traceback(site_folder, capsys):
    """The notebook shows every problem of the folder and no line of code."""
    (site_folder / "site.toml").write_text("format = 1\n[sight]\nname = 'x'\n", encoding="utf-8")
    with raises(Halt) as caught:
        open_session("damp", site_folder, unattended=True)
    shell = InteractiveShell.instance()
    shell.showtraceback((Halt, caught.value, caught.tb))
    InteractiveShell.clear_instance()
    shown = capsys.readouterr().out
    assert "problem" in shown
    assert "site.toml" in shown
    assert "sight" in shown
    assert "Traceback" not in shown
    assert "session.py" not in shown


def test_the_overview_tells_what_was_found_and_where_to_go_on(site_folder):
    """Text and HTML name the site, count its frames, lead to the next open step and escape everything."""
    session = open_session("damp", site_folder)
    assert "Invented <b>wall</b>" in repr(session)
    assert "frames: 1" in repr(session)
    assert "Invented &lt;b&gt;wall&lt;/b&gt;" in session._repr_html_()
    shown = session._repr_mimebundle_()["text/html"]
    assert "Still open: 8. Go on with: <button type='button' class='tk-goto' data-step='frames'>" in shown
    overview = session._panels[-1]
    keep_all(session)
    assert "Go on with" not in overview._shown.value


def test_keeping_leads_to_the_next_open_step(site_folder):
    """Nobody has to look for it; after the last one the way leads to the findings."""
    session = open_session("damp", site_folder)
    frames, remark = keep(session.show("frames")), keep(session.show("remark"))
    assert "Kept. Next:" in frames._answer.value
    assert "data-step='photo-pairs'" in frames._answer.value or "data-step='limit'" in frames._answer.value
    assert "data-step='limit'" in remark._answer.value
    assert "data-step='suspect'" in session.show("sound")._status.value
    panels = keep_all(session)
    assert "Nothing is open any more" in keep(panels["remark"])._answer.value


def test_only_where_something_is_proposed_is_a_proposal_spoken_of(site_folder):
    """A remark has no proposal to go back to; a photo without pairs promises none."""
    session = open_session("damp", site_folder)
    keep(session.show("frames"))
    limit, remark = session.show("limit"), session.show("remark")
    assert limit._propose in limit.children[-2].children
    assert remark._propose not in remark.children[-2].children
    assert "proposal" not in remark._reason.placeholder
    session.case.values["limit"] = ""
    session._asked["limit"] = (lambda: "", {})
    assert repr(limit).startswith("Nothing could be proposed")


def test_all_panels_share_one_conclusion(site_folder, monkeypatch):
    """Findings, changes, charts and annex look at the same run, however often they are drawn."""
    runs = []
    before = session_module.run
    monkeypatch.setattr(session_module, "run", lambda *args: runs.append(1) or before(*args))
    session = open_session("damp", site_folder)
    shown = [session.findings(), session.changes(), session.charts(), session.annex()]
    keep_all(session)
    runs.clear()
    keep(session.show("remark"))
    assert [repr(panel) for panel in shown]
    session.write_annex()
    assert runs == [1]


def test_findings_stand_by_place_with_verdicts_first(site_folder):
    """What was merely noted at a place is folded away below its verdicts."""
    session = open_session("damp", site_folder)
    keep_all(session)
    html = session.findings().as_html()
    places = html.split("<section>")[1:]
    assert places[0].startswith("<h3>room / cold</h3><article><h4>● indicated</h4>")
    assert places[-1].count("indicated") == 0
    noted = places[0].split("Also noted here (")[1]
    assert noted.count("<article>") == int(noted.split(")")[0])
    assert "indicated</h4>" not in noted


def test_keeping_every_proposal_leads_to_the_findings_of_the_command(site_folder):
    """Six times Keep, and the findings are those of one run over the record."""
    session = open_session("damp", site_folder, by="A. Nobody")
    findings = session.findings()
    assert "Still to be kept" in repr(findings)
    keep_all(session)
    found = run("damp", read_site(site_folder), replay(read_record(site_folder, "damp")))
    assert found.open_steps == ()
    assert session.concluded().as_json("en") == found.as_json("en")
    statement = found.as_json("en")["findings"][1]["statement"]
    assert statement in repr(findings)
    assert all(entry.by == "A. Nobody" for entry in read_record(site_folder, "damp").entries)


def test_a_kept_decision_is_on_disk_at_once_with_reason_and_proposal(site_folder):
    """Keep writes value, proposal, reason and author before it returns."""
    session = open_session("damp", site_folder)
    panel = session.show("limit")
    panel._asking.fill_in("general")
    panel._reason.value = "client is abroad"
    keep(panel)
    entry = read_record(site_folder, "damp").last("limit")
    assert (entry.value, entry.proposed, entry.reason) == ("general", "GB-dwelling", "client is abroad")
    assert "Kept on" in repr(panel)


def test_a_step_waits_for_what_it_rests_on_and_fills_in_by_itself(site_folder):
    """No cell is run again: the panel below draws its control once the one above is kept."""
    session = open_session("damp", site_folder)
    frames, suspect, sound = (session.show(name) for name in ("frames", "suspect", "sound"))
    assert repr(suspect) == "Waits for: Which frames may be used."
    assert len(suspect.children) == 2
    keep(frames)
    assert "proposal is filled in" in repr(suspect)
    assert suspect._asking.value()[0]["id"] == "cold"
    assert repr(sound) == "Waits for: The coldest places."


def test_changing_an_earlier_decision_asks_again_with_the_old_answer_filled_in(site_folder):
    """A stale decision is not lost: it stands in its control until it is checked and kept again."""
    session = open_session("damp", site_folder)
    panels = keep_all(session)
    sound = panels["sound"]._asking.value()
    panels["suspect"]._asking._numbers.value = "corner: patch 20,4 20,12 28,12 28,4"
    keep(panels["suspect"])
    assert "changed since" in repr(panels["sound"])
    assert panels["sound"]._asking.value() == sound
    assert "Still to be kept: A sound place" in repr(session.findings())
    keep(panels["sound"])
    keep(panels["water"])
    assert "corner" in repr(session.findings())


def test_what_is_being_edited_is_left_alone_by_other_decisions(site_folder):
    """Keeping one step does not reset a half-written remark in another."""
    session = open_session("damp", site_folder)
    remark, limit = session.show("remark"), session.show("limit")
    remark._asking.widget.value = "Half written"
    keep(limit)
    assert remark._asking.widget.value == "Half written"


def test_the_control_keeps_its_widgets_when_it_is_kept(site_folder):
    """The button stays where it is, and with it the focus of somebody who uses the keyboard."""
    session = open_session("damp", site_folder)
    panel = session.show("limit")
    before = panel.children
    keep(panel)
    assert panel.children == before


def test_a_proposal_is_computed_once_for_the_same_inputs(site_folder, monkeypatch):
    """Keeping a step does not search the frames again for what rests on other answers."""
    searched = []
    before = steps.suggested_places
    monkeypatch.setattr(
        steps, "suggested_places", lambda *args, **kw: searched.append(1) or before(*args, **kw)
    )
    session = open_session("damp", site_folder)
    for name in ("frames", "limit", "remark"):
        keep(session.show(name))
    assert len(searched) == 1


def test_back_to_the_proposal_fills_it_in_again(site_folder):
    """One click undoes all changes that were not kept."""
    session = open_session("damp", site_folder)
    panel = session.show("limit")
    panel._asking.fill_in("general")
    panel._propose.click()
    assert panel._asking.value() == "GB-dwelling"


def test_an_answer_that_is_none_is_told_beside_the_button(site_folder):
    """Marks outside the frame are refused in words; nothing is written."""
    session = open_session("damp", site_folder)
    keep(session.show("frames"))
    panel = session.show("suspect")
    panel._asking._numbers.value = "corner: patch 20,4 20,12 280,12 28,4"
    keep(panel)
    assert "role='alert'" in panel._answer.value
    assert "outside its frame" in panel._answer.value
    assert read_record(site_folder, "damp").last("suspect") is None


def test_two_marks_of_one_name_are_told_beside_the_button(site_folder):
    """Findings speak of places by name, so a name stands for one place of a frame."""
    session = open_session("damp", site_folder)
    keep(session.show("frames"))
    panel = session.show("suspect")
    panel._asking._numbers.value = "corner: pin 20,4\ncorner: pin 25,4"
    keep(panel)
    assert "two marks on 'corner' are named 'corner'" in html.unescape(panel._answer.value)


def test_a_mark_without_a_name_is_kept_and_told(site_folder):
    """The client would read the name that the picture gave it."""
    session = open_session("damp", site_folder)
    keep(session.show("frames"))
    panel = session.show("suspect")
    for name, is_told in (("pin-1", True), ("reveal", False)):
        panel._asking._numbers.value = f"{name}: pin 20,4"
        keep(panel)
        assert read_record(site_folder, "damp").last("suspect").value[0]["id"] == name
        assert ("the client reads “pin-1”" in html.unescape(panel._answer.value)) is is_told


def test_a_record_changed_by_another_window_is_told_beside_the_button(site_folder):
    """The second window does not overwrite the first one's decision."""
    first, second = (open_session("damp", site_folder) for _ in range(2))
    keep(first.show("limit"))
    panel = keep(second.show("frames"))
    assert "changed by another window" in panel._answer.value
    assert [entry.step for entry in read_record(site_folder, "damp").entries] == ["limit"]


def test_decided_gives_the_checked_decision(site_folder):
    """A consultant's own cell gets marks, not JSON."""
    session = open_session("damp", site_folder)
    keep_all(session)
    assert [mark.role for mark in session.decided("suspect")] == ["suspect"]


def test_decided_halts_with_one_sentence_while_the_step_is_open(site_folder):
    """An own cell further down stops instead of using somebody's proposal."""
    session = open_session("damp", site_folder)
    with raises(Halt, match=r"^Stopped here\. Still to be kept further up: Which limits apply\."):
        session.decided("limit")
    with raises(Halt, match="Stopped here"):
        session.concluded()


def test_a_question_that_the_site_answers_does_not_arise(site_folder):
    """Where the site file says that there is no appliance, nobody is asked."""
    path = site_folder / "site.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace(
            'id = "room"\n', 'id = "room"\nopen_flued_appliance = "no"\n', 1
        ),
        encoding="utf-8",
    )
    session = open_session("damp", site_folder)
    assert "does not arise" in repr(session.show("appliance"))
    with raises(Halt, match="does not arise"):
        session.decided("appliance")


def test_unattended_takes_proposals_says_so_and_writes_no_decision(site_folder):
    """Nothing waits, nothing is recorded, and each finding says that nobody confirmed it."""
    session = open_session("damp", site_folder, unattended=True)
    assert "nothing is written to the record" in repr(session)
    panel = keep(session.show("suspect"))
    assert repr(panel) == "The proposal was taken; no person has decided this."
    assert session.decided("limit") == "GB-dwelling"
    assert not any(f.confirmed for f in session.concluded().findings if f.rests_on)
    assert "not confirmed by the surveyor" in repr(session.findings())
    assert not (site_folder / "record").exists()


def test_the_annex_is_the_one_of_the_command(site_folder, tmp_path):
    """The button writes what `build` makes of the same site and record."""
    from thermalkit.annex.build import build

    session = open_session("damp", site_folder)
    panel = session.annex()
    assert panel._button.disabled
    keep_all(session)
    assert not panel._button.disabled
    panel._button.click()
    assert "Written: " in panel._said.value
    expected = build(read_site(site_folder), read_record(site_folder, "damp"), "damp")
    assert (site_folder / "annex" / "damp.html").read_bytes() == expected
    assert session.write_annex(tmp_path / "other.html").read_bytes() == expected


def test_an_annex_that_cannot_be_written_is_told_beside_the_button(site_folder):
    """A file in the way gives a sentence, not a traceback."""
    session = open_session("damp", site_folder)
    keep_all(session)
    (site_folder / "annex").write_text("in the way", encoding="utf-8")
    panel = session.annex()
    panel._button.click()
    assert "role='alert'" in panel._said.value
    assert "could not be written" in panel._said.value


def test_unattended_the_annex_is_written_at_once(site_folder, tmp_path):
    """A batch run has nobody to press a button."""
    session = open_session("damp", site_folder, unattended=True)
    panel = session.annex(tmp_path / "annex.html")
    assert (tmp_path / "annex.html").is_file()
    assert "Written: " in panel._said.value


def test_a_site_without_a_frame_still_runs(site_folder):
    """A damp case without a usable frame has its steps and findings all the same."""
    path = site_folder / "site.toml"
    path.write_text(path.read_text(encoding="utf-8").split("[[frames]]")[0], encoding="utf-8")
    session = open_session("damp", site_folder)
    panels = keep_all(session)
    assert "nothing to mark" in panels["suspect"]._asking.widget.children[0].value
    assert "room" in repr(session.findings())


def test_a_german_site_is_worked_in_german(site_folder):
    """Buttons, states and findings follow the language of the report."""
    path = site_folder / "site.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[weather]", '[report]\nlanguage = "de"\n\n[weather]'), encoding="utf-8")
    session = open_session("damp", site_folder)
    panel = session.show("limit")
    assert panel._keep.description == "Übernehmen"
    assert "Noch zu übernehmen" in repr(session.findings())


def test_every_panel_has_a_face_without_widgets(site_folder):
    """A viewer that draws no widgets shows text or HTML, the same at every run."""
    session = open_session("damp", site_folder)
    for panel in (session.show("limit"), session.findings(), session.annex()):
        bundle = panel._repr_mimebundle_()
        assert bundle["text/plain"] == repr(panel)
        assert "0x" not in repr(panel)
        assert "application/vnd.jupyter.widget-view+json" in bundle
        assert bundle["text/html"]


@pytest.mark.parametrize("name", STEPS)
def test_a_panel_keeps_keys_from_the_notebook(site_folder, name):
    """Each panel carries the fence for keys and the style."""
    panel = open_session("damp", site_folder, unattended=True).show(name)
    assert type(panel.children[0]).__name__ == "Frame"


def test_several_frames_are_marked_one_after_the_other(site_folder):
    """Marks of all frames are kept together, whichever picture is shown."""
    np.save(site_folder / "thermal" / "other.npy", np.load(site_folder / "thermal" / "corner.npy"))
    path = site_folder / "site.toml"
    text = path.read_text(encoding="utf-8")
    second = "[[frames]]" + text.split("[[frames]]")[1].replace("corner", "other")
    path.write_text(f"{text}\n{second}", encoding="utf-8")
    session = open_session("damp", site_folder)
    keep(session.show("frames"))
    panel = session.show("suspect")
    asking = panel._asking
    asking._numbers.value = "first: pin 20,8"
    asking._viewer.choice.value = "other"
    asking._numbers.value = "second: pin 24,8"
    keep(panel)
    kept = read_record(site_folder, "damp").last("suspect").value
    assert [(mark["frame"], mark["id"]) for mark in kept] == [("corner", "first"), ("other", "second")]


def test_charts_wait_for_decisions_and_are_those_of_the_run(site_folder):
    """Nothing is drawn while a step is open; then one drawing and its words for each chart."""
    path = site_folder / "site.toml"
    months = ", ".join(["2.0"] * 12), ", ".join(["85"] * 12)
    path.write_text(
        path.read_text("utf-8")
        + f"\n[climate]\nmonthly_air_temperature_degc = [{months[0]}]\n"
        + f"monthly_relative_humidity_percent = [{months[1]}]\n",
        encoding="utf-8",
    )
    session = open_session("damp", site_folder)
    panel = session.charts()
    assert repr(panel).startswith("Still to be kept: Which frames")
    keep_all(session)
    charts = session.concluded().charts
    assert charts
    assert len(panel.children[1].charts) == len(charts)
    assert len(repr(panel).splitlines()) == len(charts)
