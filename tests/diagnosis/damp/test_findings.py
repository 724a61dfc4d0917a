"""What a damp case concludes, and from what."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.diagnosis import damp
from thermalkit.diagnosis.conditions import survey, usable_frames
from thermalkit.diagnosis.decisions import Case, MarksOn, NotADecision
from thermalkit.diagnosis.finding import Findings
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import place
from thermalkit.diagnosis.run import Answer, accept, kinds, run
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.language import render
from thermalkit.scenes import Options, random_corner, random_scene, seen, write_site
from thermalkit.site.folder import read_site


def picture(seed=3, **options):
    rng = np.random.default_rng(seed)
    return seen(random_scene(rng, random_corner(rng)), rng, Options(**options))


@pytest.fixture
def site(tmp_path):
    """A site with one corner; `about` lies over what its scene wrote."""

    def made(about=None, marks=(), seed=3, **options):
        write_site(tmp_path / "site", [picture(seed, **options)], about=about or {}, marks=marks)
        return read_site(tmp_path / "site")

    return made


def by_code(findings: Findings, code: str, mark: str | None = None):
    return [f for f in findings.findings if f.code == code and (mark is None or f.mark == mark)]


def remark_ids(site) -> dict[str, str]:
    case = Case(site=site, decided={"frames": usable_frames(Case(site=site))})
    return {r.statement.id.removeprefix("conditions."): r.effect for r in survey(case).remarks}


def test_damp_is_found_by_its_folder():
    assert "damp" in kinds()


def test_every_place_gets_its_findings(site):
    findings = run("damp", site(), accept)
    for code in (
        "surface-humidity",
        "temperature-factor",
        "surface-humidity-at-conditions",
        "colder-than-sound",
    ):
        assert by_code(findings, f"damp.{code}", "cold"), code
    assert by_code(findings, "damp.room-air")
    assert findings.survey.usable


def test_nothing_is_confirmed_that_nobody_decided(site):
    findings = run("damp", site(), accept)
    assert not any(finding.confirmed for finding in findings.findings if finding.rests_on)
    opened = [step.step for step in findings.open_steps]
    assert opened == ["frames", "photo-pairs", "limit", "suspect", "sound", "water", "factors", "remark"]


def test_everything_is_confirmed_that_somebody_kept(site):
    findings = run("damp", site(), lambda step, propose, inputs: Answer(value=propose(), state="decided"))
    assert all(finding.confirmed for finding in findings.findings)
    assert not findings.open_steps


def test_two_runs_are_equal(site):
    read = site()
    assert run("damp", read, accept).as_json("en") == run("damp", read, accept).as_json("en")


@pytest.mark.parametrize("seed", range(8))
def test_the_proposed_place_covers_the_coldest_part_of_the_wall(site, seed):
    """The scene knows where its wall is coldest."""
    read, true = site(seed=seed), picture(seed)
    marks = run("damp", read, accept).decisions["suspect"]
    parsed = MarksOn("suspect", lambda case: ("wall",)).checked(marks, Case(site=read))
    wall = np.where(np.isfinite(true.true_factor), true.true_surface_degc, np.nan)
    coldest = wall <= np.nanquantile(wall, 0.02)
    assert np.mean(np.any([mark_mask(m, wall.shape) for m in parsed], axis=0)[coldest]) > 0.25


def test_a_mark_in_the_site_file_is_taken_as_it_stands(site):
    read = site(marks=("suspect", "sound"))
    decisions = run("damp", read, accept).decisions
    written = {mark.id: [list(p) for p in mark.points] for mark in read.keys.marks}
    assert {m["id"]: m["points"] for m in decisions["suspect"] + decisions["sound"]} == written


def test_a_reference_narrows_everything_after_it(tmp_path, site):
    """From about +-2 K to about +-0.4 K on the frame, so the interval at least halves."""
    with_reference = by_code(run("damp", site(contact=True), accept), "damp.surface-humidity", "cold")[0]
    without = by_code(run("damp", site(contact=False), accept), "damp.surface-humidity", "cold")[0]

    def width(finding):
        return finding.quantities[1].measured.high - finding.quantities[1].measured.low

    assert width(with_reference) < 0.5 * width(without)
    assert without.quantities[1].measured.low < with_reference.quantities[1].measured.value


def test_differences_in_one_frame_hardly_feel_the_camera(site):
    """What both places share cancels: without any reference the difference is known within half a kelvin."""
    found = by_code(run("damp", site(contact=False), accept), "damp.colder-than-sound", "cold")[0]
    assert found.quantities[0].measured.high - found.quantities[0].measured.low < 1.0


@pytest.mark.parametrize(
    ("about", "remark", "effect"),
    [
        ({"weather": {"hours_since_sun": 1.0}}, "sun-still-there", "excludes"),
        ({"weather": {"hours_since_sun": 6.0}}, "sun", "widens"),
        ({"weather": {"hours_steady": 3.0}}, "unsteady", "widens"),
        ({"weather": {"hours_since_rain": 2.0}}, "rain", "none"),
        ({"weather": {"wind_speed_m_s": 9.0}}, "wind", "none"),
        ({"frames": [{"emissivity": 0.3}]}, "low-emissivity", "excludes"),
        ({"frames": [{"subject": "radiator"}]}, "other-subject", "excludes"),
        (
            {"rooms": [{"air_temperature_degc": 2.5}], "weather": {"air_temperature_degc": 1.0}},
            "difference-too-small",
            "excludes",
        ),
    ],
)
def test_conditions_are_remarked_with_their_effect(site, about, remark, effect):
    read = site(about)
    assert remark_ids(read)[remark] == effect
    assert bool(usable_frames(Case(site=read))) == (effect != "excludes")


def test_sun_and_unsteady_heating_widen_the_factor(site):
    def width(about):
        found = by_code(
            run("damp", site(about, marks=("suspect", "sound")), accept), "damp.temperature-factor"
        )[0]
        return found.quantities[0].measured.high - found.quantities[0].measured.low

    plain = width({"weather": {"hours_since_sun": 20.0, "hours_steady": 24.0}})
    assert width({"weather": {"hours_since_sun": 6.0, "hours_steady": 24.0}}) > plain
    assert width({"weather": {"hours_since_sun": 20.0, "hours_steady": 3.0}}) > plain


@pytest.mark.parametrize("beyond", ["heated", "unheated", "room"])
def test_behind_an_inner_wall_it_is_not_outdoors(site, beyond):
    """No factor and nothing that rests on it, whatever the weather; its humidity stays, and why is said."""
    inner = site({"frames": [{"far_side": beyond}], "weather": {"hours_since_sun": 0.5}})
    assert "room" in {room.id for room in inner.keys.rooms}
    findings = run("damp", inner, accept)
    assert not by_code(findings, "damp.temperature-factor")
    assert not by_code(findings, "damp.surface-humidity-at-conditions")
    assert by_code(findings, "damp.surface-humidity", "cold")
    remarks = remark_ids(inner)
    assert remarks["inner"] == "none"
    assert "difference-enough" not in remarks
    assert "sun-still-there" not in remarks


def test_a_wall_between_two_rooms_read_is_colder_than_both_when_wet(site):
    """A place kelvins below the air on both sides is no dry wall; with one side unread none is said."""
    for beyond, told in (("room", "yes"), ("heated", None), ("outdoors", None)):
        inner = site({"frames": [{"far_side": beyond}], "rooms": [{"air_temperature_degc": 27.0}]})
        proposed = run("damp", inner, accept).decisions["water"]
        assert {q.rpartition(" ")[2]: o for q, o in proposed.items()}.get("colder-than-dry") == told


def test_an_inner_wall_needs_its_room_read(site):
    """Without the air of the room not even the humidity at the surface can be given."""
    inner = site({"frames": [{"far_side": "heated"}], "rooms": [{"air_temperature_degc": None}]})
    assert remark_ids(inner)["no-indoor"] == "excludes"


@pytest.mark.parametrize(("shift_k", "word"), [(4.0, "warmer"), (-4.0, "colder"), (0.0, "alike")])
def test_colder_or_warmer_is_said_by_sign(site, monkeypatch, shift_k, word):
    """Never "colder by minus": the sentence turns with the sign and gives up where it is not sure."""
    import thermalkit.diagnosis.damp as damp

    def shifted(case, mark, limits):
        found = place(case, mark, limits)
        level = 10.0 + (shift_k if mark.role == "suspect" else 0.0)
        return replace(found, surface_degc=level + case.draws.normal(f"invented {mark.id}", 0.3))

    monkeypatch.setattr(damp, "place", shifted)
    (finding,) = by_code(run("damp", site(), accept), "damp.colder-than-sound", "cold")
    assert finding.statement.id == f"damp.colder-than-sound.{word}"
    if word != "alike":
        assert f"{word} by 4." in render(finding.statement, "en").replace("3.9", "4.0")


def test_a_visit_that_cannot_answer_says_what_is_missing(site):
    """No humidity, no contact reading, sun on the wall, nearly as warm outdoors; and what would decide."""
    poor = site(
        {
            "weather": {
                "air_temperature_degc": 19.0,
                "mean_24h_air_temperature_degc": 19.0,
                "hours_since_sun": 0.5,
            },
            "rooms": [{"air_temperature_degc": 20.0, "relative_humidity_percent": None}],
        },
        contact=False,
    )
    findings = run("damp", poor, accept)
    first = findings.findings[0]
    assert first.code == "damp.unanswered"
    said = render(first.statement, "en")
    for missing in ("humidity of the room's air", "contact reading", "differ enough", "the sun"):
        assert missing in said
    assert len(first.next_steps) == 2
    assert not by_code(run("damp", site(), accept), "damp.unanswered")


def test_without_a_usable_frame_it_still_runs(site):
    findings = run("damp", site({"frames": [{"subject": "radiator"}]}), accept)
    assert not findings.survey.usable
    assert [finding.code for finding in findings.findings] == ["damp.room-air", "damp.season.missing"]


def test_a_flue_nobody_knows_of_is_asked_for(site):
    findings = run("damp", site({"rooms": [{"open_flued_appliance": "unknown"}]}), accept)
    assert "appliance" in [step.step for step in findings.open_steps]
    assert findings.decisions["appliance"] == "unknown"


def test_an_inconclusive_place_names_what_would_narrow_it(site):
    """Without a reference the camera's own error counts most for the humidity at the surface."""
    firsts = [
        finding.next_steps[0].step.id
        for seed in range(12)
        for finding in by_code(
            run("damp", site(contact=False, seed=seed), accept), "damp.surface-humidity", "cold"
        )
        if finding.verdict == "inconclusive"
    ]
    assert firsts
    assert set(firsts) == {"narrow.camera-accuracy"}


def test_a_reference_counts_once_its_mark_is_drawn(site):
    """A reading whose mark stands nowhere yet is not used, and does not stop the run."""
    about = {
        "references": [
            {"frame": "wall", "mark": "by the window", "kind": "contact", "temperature_degc": 15.0}
        ]
    }
    read = site(about, contact=False)
    assert run("damp", read, accept).findings

    def drawn(step, propose, inputs):
        proposal = propose()
        marks = [{**mark, "id": "by the window"} for mark in proposal] if step.name == "sound" else proposal
        return Answer(value=marks, state="decided")

    sound = by_code(run("damp", read, drawn), "damp.surface-humidity", "by the window")[0]
    assert sound.quantities[1].measured.value == pytest.approx(15.0, abs=0.1)


def test_a_changed_reading_makes_a_decision_stale(site):
    """Decisions rest on the values they were made from."""
    from thermalkit.record.fingerprint import fingerprint

    prints = []
    for temperature in (0.0, 1.0):
        seen_inputs = {}
        run("damp", site({"weather": {"air_temperature_degc": temperature}}), record_into(seen_inputs))
        prints.append({name: fingerprint(inputs) for name, inputs in seen_inputs.items()})
    assert prints[0]["suspect"] != prints[1]["suspect"]
    assert prints[0]["limit"] == prints[1]["limit"]
    assert prints[0]["remark"] == prints[1]["remark"]


def record_into(inputs_by_step):
    def answer(step, propose, inputs):
        inputs_by_step[step.name] = inputs
        return Answer(value=propose(), state="decided")

    return answer


@pytest.mark.parametrize(
    "value",
    [
        None,
        [{}],
        [{"frame": "nowhere", "id": "a", "shape": "pin", "points": [[1, 1]]}],
        [{"frame": "wall", "id": "a", "shape": "patch", "points": [[1, 1], [2, 2]]}],
        [{"frame": "wall", "id": "a", "shape": "star", "points": [[1, 1]]}],
        [{"frame": "wall", "id": "a", "shape": "pin", "points": [[1e9, 1]]}],
        [{"frame": "wall", "id": "a", "shape": "pin", "points": ["ab"]}],
        [{"frame": "wall", "id": "a", "shape": "pin", "points": [[10**400, 1]]}],
        [{"frame": "wall", "id": ["a"], "shape": "pin", "points": [[1, 1]]}],
        [{"frame": "wall", "id": "a", "shape": ["pin"], "points": [[1, 1]]}],
        [{"frame": "wall", "id": "a", "shape": "pin", "points": [[1, 1]], "role": {}}],
        [{"frame": "wall", "id": "a", "shape": "trace", "points": [[1, 1]] * 2001}],
        [{"frame": "wall", "id": str(n), "shape": "pin", "points": [[1, 1]]} for n in range(2001)],
    ],
)
def test_what_is_no_mark_is_refused(site, value):
    with pytest.raises(NotADecision):
        MarksOn("suspect", lambda case: ("wall",)).checked(value, Case(site=site()))


@pytest.mark.parametrize(("count", "charted"), [(12, 12), (13, 12)])
def test_many_places_are_charted_where_it_is_most_humid(sample_site, count, charted):
    """Twelve at most, the driest left out, and it is said."""
    suspects = tuple(
        Mark(
            frame="corner",
            id=f"s{n}",
            shape="patch",
            points=((c, 12.0), (c, 30.0), (c + 9, 30.0)),
            role="suspect",
        )
        for n, c in enumerate(np.linspace(40.0, 76.0, count))
    )
    decided = {"frames": ("corner",), "limit": "GB-dwelling", "suspect": suspects, "sound": ()}
    case = Case(site=read_site(sample_site("cold-corner")), decided=decided | {"water": {}, "factors": ()})
    drawn = {chart.place for chart in damp.charts(case)} & {place_label(case, mark) for mark in suspects}
    left_out = {place_label(case, mark) for mark in suspects} - drawn
    found = list(damp.findings(case))
    humidity = {f.place: f.quantities[0].measured.value for f in found if f.code == "damp.surface-humidity"}
    assert len(drawn) == charted
    assert all(humidity[name] <= min(humidity[other] for other in drawn) for name in left_out)
    assert any(f.code == "damp.charted" for f in found) == (count > charted)


def test_a_german_reader_meets_proposed_places_in_german(site):
    """Names are shown in the report's language, ids of marks stay those of the record."""
    findings = run("damp", site({"report": {"language": "de"}}), accept).findings
    marks = {(f.mark, f.place.rpartition(" / ")[2]) for f in findings if f.mark}
    assert marks == {("cold", "kalte Stelle"), ("sound", "ungestört")}
