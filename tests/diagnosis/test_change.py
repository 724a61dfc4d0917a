"""What two visits share, what may be claimed of a change, and what is said where nothing can be."""

import shutil
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from thermalkit.diagnosis import change, run
from thermalkit.diagnosis.change import Change, Compared, change_term, changes
from thermalkit.diagnosis.change_findings import change_findings, changed
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.earlier import earlier_visit
from thermalkit.diagnosis.run import accept, walk
from thermalkit.diagnosis.visits import alike_inputs, is_weather_alike, shared_inputs
from thermalkit.glossary import TERMS
from thermalkit.language import render
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site import read_site

pytestmark = pytest.mark.slow

FACTOR = "temperature-factor"


@pytest.fixture
def visits(sample_site):
    """The folder of the repaired corner, free to be changed."""
    return sample_site("repaired-corner")


def rewrite(path, *pairs):
    text = path.read_text("utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, "utf-8")


def of_both(folder):
    site = read_site(folder)
    return site, site.earlier


def test_the_same_checked_instruments_and_the_same_paint_are_shared(visits):
    """Not the camera, which drifts, nor the probe, which is pressed on anew."""
    shared = set(shared_inputs(*of_both(visits)))
    groups = ("air-temperature-accuracy", "relative-humidity-accuracy", "outdoor-air-accuracy")
    assert {name for name in shared if not name.startswith("emissivity")} == {
        f"{group} {name}" for group in groups for name in ("hygro", "outdoor")
    }
    assert alike_inputs(*of_both(visits)) == ("film corner",)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('serial = "INV-HYG-3"', 'serial = "INV-HYG-9"'),
        ("calibrated_on = 2025-09-15", "calibrated_on = 2024-09-15"),
    ],
)
def test_another_instrument_or_a_calibration_in_between_shares_nothing(visits, old, new):
    rewrite(visits / "earlier" / "site.toml", (old, new))
    assert not [name for name in shared_inputs(*of_both(visits)) if name.endswith(" hygro")]


def test_an_instrument_without_a_serial_number_may_be_any(visits):
    for folder in (visits, visits / "earlier"):
        rewrite(folder / "site.toml", ('serial = "INV-HYG-3"\n', ""))
    assert not [name for name in shared_inputs(*of_both(visits)) if name.endswith(" hygro")]


def test_a_new_inner_face_has_other_paint_and_another_film(visits):
    """Insulation on the outside leaves it as it was, a lining does not."""
    rewrite(visits / "site.toml", ('material = "gypsum plaster"', 'material = "clay board"'))
    assert not alike_inputs(*of_both(visits))
    assert not [name for name in shared_inputs(*of_both(visits)) if name.startswith("emissivity")]


def test_weather_is_alike_only_where_it_is_known_to_be(visits):
    site, old = of_both(visits)
    assert not is_weather_alike(site, old, "bedroom")
    assert is_weather_alike(site, site, "bedroom")
    assert not is_weather_alike(site, site, None)


@pytest.fixture
def invented(monkeypatch, visits):
    """An investigation of one quantity on two visits, given as draws."""

    def compared_as(then, now, **more):
        site = read_site(visits)
        draws = {site.folder: now, site.earlier.folder: then}

        def compared(case):
            found = draws[case.site.folder]
            if found is not None:
                yield Compared(place="here", term=FACTOR, draws=np.asarray(found, float), **more)

        module = SimpleNamespace(STEPS=(), compared=compared)
        for place in (run, change):
            monkeypatch.setattr(place, "investigation", lambda kind: module)
        monkeypatch.setattr("thermalkit.diagnosis.earlier.investigation", lambda kind: module)
        case = Case(site=site)
        earlier = earlier_visit("any", case)
        return changes("any", case, earlier), earlier

    return compared_as


SPREAD = np.linspace(-0.05, 0.05, 10_000)


@pytest.mark.parametrize(
    ("by", "higher_is", "outcome"),
    [
        (0.10, "better", "better"),
        (0.10, "worse", "worse"),
        (-0.10, "better", "worse"),
        (-0.10, "worse", "better"),
        (0.10, None, "higher"),
        (-0.10, None, "lower"),
        (0.02, "better", "none"),
        (-0.02, None, "none"),
    ],
)
def test_a_change_is_claimed_only_where_its_interval_leaves_out_zero(invented, by, higher_is, outcome):
    [found], _ = invented(np.full(10_000, 0.6), 0.6 + by + SPREAD, higher_is=higher_is)
    assert found.outcome == outcome
    assert found.change.measured.value == pytest.approx(by, abs=0.001)
    assert found.change.measured.high - found.change.measured.low == pytest.approx(0.095, abs=0.001)
    assert found.change.term.id == f"change-of-{FACTOR}"


def test_a_fall_is_told_without_a_minus_sign(invented):
    """And its interval turned round with it."""
    [found], earlier = invented(np.full(10_000, 0.6), 0.5 + SPREAD, higher_is="better")
    told = render(changed(found, earlier), "en")
    assert told == (
        "here: the temperature factor fell by 0.10 (0.05 to 0.15) since 21 January 2026, "
        "from 0.60 (0.60 to 0.60) to 0.50 (0.45 to 0.55). That is worse."
    )
    assert "schlechter" in render(changed(found, earlier), "de")


def test_where_the_interval_holds_zero_it_is_said_that_nothing_can_be_claimed(invented):
    [found], earlier = invented(np.full(10_000, 0.6), 0.61 + SPREAD, higher_is="better")
    assert "no change of the temperature factor" in render(changed(found, earlier), "en")


def test_a_place_of_one_visit_is_new_or_gone(invented):
    """Of a new one is said what can still be said; of one left out nothing is claimed."""
    [new], earlier = invented(None, 0.6 + SPREAD)
    assert (new.outcome, new.before, new.change) == ("new", None, None)
    [finding] = change_findings("any", [new], earlier)
    assert finding.verdict is None
    assert "nothing was measured here on 21 January 2026" in render(finding.statement, "en")
    assert len(finding.next_steps) == 2
    with pytest.raises(ValueError, match="not measured on both"):
        changed(new, earlier)
    [gone], earlier = invented(0.6 + SPREAD, None)
    assert (gone.outcome, gone.after) == ("gone", None)
    assert list(change_findings("any", [gone], earlier)) == []


def test_degrees_are_compared_in_alike_weather_only(invented, visits):
    """A warmer day is no cure."""
    found, _ = invented(0.6 + SPREAD, 0.8 + SPREAD, needs_alike_weather=True, room="bedroom")
    assert found == ()
    weather = visits / "earlier" / "site.toml"
    rewrite(
        weather,
        ("air_temperature_degc = -1.8", "air_temperature_degc = 4.2"),
        ("mean_24h_air_temperature_degc = -1.7", "mean_24h_air_temperature_degc = 4.2"),
        ("air_temperature_degc = 18.5", "air_temperature_degc = 19.9"),
        ('sky = "overcast"', 'sky = "broken"'),
    )
    [item], earlier = invented(0.6 + SPREAD, 0.8 + SPREAD, needs_alike_weather=True, room="bedroom")
    assert item.alike_weather
    [finding] = change_findings("any", [item], earlier)
    assert "alike on both days" in render(finding.reasons[0], "en")


def test_the_unit_of_a_change_of_degrees_is_kelvin():
    assert change_term(TERMS["surface-temperature"]).unit == "K"
    assert render(change_term(TERMS[FACTOR]).name, "en") == "change of the temperature factor"
    assert render(change_term(TERMS[FACTOR]).definition, "en")


def concluded(folder):
    site, record = read_site(folder), read_record(folder, "damp")
    return run.run("damp", site, replay(record), recall(record))


def lead(findings, mark="corner") -> Change:
    return next(item for item in findings.changes if item.mark == mark)


def test_the_repaired_corner_is_better_and_its_truth_within_the_interval(visits):
    """Its truth file says by how much; factors at 0.25 m2K/W of the coldest spot."""
    import tomllib

    truth = [
        next(
            m for m in tomllib.loads((f / "truth.toml").read_text("utf-8"))["marks"] if m["frame"] == "corner"
        )
        for f in (visits / "earlier", visits)
    ]
    found = lead(concluded(visits))
    assert found.outcome == "better"
    assert found.confirmed
    assert found.change.measured.low <= truth[1]["factor"] - truth[0]["factor"] <= found.change.measured.high


def test_what_nobody_decided_then_is_not_confirmed_now(visits):
    """Its proposals stand in; a decision made stale since is kept, but counts as nobody's."""
    rewrite(visits / "earlier" / "site.toml", ("wind_speed_m_s = 1.1", "wind_speed_m_s = 1.2"))
    stale = lead(concluded(visits))
    assert stale.mark == "corner"
    assert stale.change is not None
    assert not stale.confirmed
    shutil.rmtree(visits / "earlier" / "record")
    assert not any(item.confirmed for item in concluded(visits).changes if item.change is not None)


def test_both_visits_are_held_against_the_limit_of_this_one(visits):
    """Else a change of the limit would look like one of the wall."""
    site = read_site(visits)
    case = Case(site=site)
    walk("damp", case, accept)
    case.values["limit"] = case.decided["limit"] = "DE-dwelling"
    assert earlier_visit("damp", case).case.decided["limit"] == "DE-dwelling"
    assert earlier_visit("damp", case).decisions["limit"] == "GB-dwelling"


def test_a_mark_of_this_visit_only_is_found_on_the_earlier_picture(visits):
    """By five fixed points, and how surely is said."""
    record = visits / "earlier" / "record" / "damp.json"
    rewrite(record, ('"id": "corner"', '"id": "old name"'))
    findings = concluded(visits)
    found = lead(findings)
    assert found.before is not None
    assert 0.0 < found.mapped_px < 3.0
    told = next(f for f in findings.findings if f.code == "damp.change" and f.mark == "corner")
    assert any("laying one over the other" in render(reason, "en") for reason in told.reasons)


@pytest.mark.parametrize(("role", "by"), [("fixed-point", "points"), ("scale", "edges")])
def test_without_fixed_points_edges_are_followed_and_count_as_confirmed_by_nobody(visits, role, by):
    """Whatever was decided on both visits."""
    rewrite(visits / "earlier" / "record" / "damp.json", ('"id": "corner"', '"id": "old name"'))
    rewrite(visits / "earlier" / "site.toml", ('role = "fixed-point"', f'role = "{role}"'))
    site, record = read_site(visits), read_record(visits, "damp")

    def decided(answer):
        return lambda *asked: replace(answer(*asked), state="decided")

    found = lead(run.run("damp", site, decided(replay(record)), decided(recall(record))))
    assert found.mapped_by == by
    assert found.before is not None
    assert found.confirmed == (by == "points")


@pytest.mark.parametrize("pairs", [4, 3])
def test_fixed_points_that_contradict_or_are_too_few_lay_nothing_over(visits, pairs):
    """Edges are not asked once a person has begun to say where it lies."""
    rewrite(visits / "earlier" / "record" / "damp.json", ('"id": "corner"', '"id": "old name"'))
    earlier = visits / "earlier" / "site.toml"
    rewrite(earlier, ('id = "corner-foot"', 'id = "elsewhere"'))
    if pairs == 4:
        rewrite(
            earlier,
            ('id = "lamp"', 'id = "hook "'),
            ('id = "hook"', 'id = "lamp"'),
            ('id = "hook "', 'id = "hook"'),
        )
    else:
        rewrite(earlier, ('id = "lamp"', 'id = "shade"'))
    assert lead(concluded(visits)).outcome == "new"
