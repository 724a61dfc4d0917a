"""What numbers of a site answer, and what they leave open."""

from __future__ import annotations

from datetime import date

import pytest

from thermalkit.diagnosis.damp.causes import table
from thermalkit.diagnosis.damp.causes.evidence import (
    afternoon_answers,
    dry_wall_answers,
    house_answers,
    sample_answers,
    verdict_answers,
)
from thermalkit.measured import Measured
from thermalkit.site.folder import read_site
from thermalkit.site.sections.samples import SampleKeys


def sample(id, **values):
    return SampleKeys(id=id, **values)


def drillings(*rows, **salts):
    """Samples from (height in mm, moisture, hygroscopic moisture)."""
    return [
        sample(f"s{i}", height_mm=h, moisture_percent=m, hygroscopic_moisture_percent=w, **salts)
        for i, (h, m, w) in enumerate(rows)
    ]


def test_verdicts_answer_for_the_frame():
    assert verdict_answers("not indicated", "indicated") == {
        "frame-humidity": "not-indicated",
        "temperature-factor": "indicated",
    }
    assert verdict_answers("inconclusive", None) == {"frame-humidity": "inconclusive"}


@pytest.mark.parametrize(
    ("low", "high", "outcome"),
    [(55, 69, "below-70"), (71, 79, "between"), (81, 95, "above-80"), (65, 75, None), (75, 85, None)],
)
def test_an_afternoon_answers_where_its_interval_does(low, high, outcome):
    answers = afternoon_answers(Measured(value=(low + high) / 2, low=low, high=high, unit="%"))
    assert answers == ({} if outcome is None else {"afternoon-humidity": outcome})


RISING = drillings((100, 9.0, 1.0), (500, 5.0, 1.2), (900, 2.0, 1.8), (1300, 1.0, 0.8))


@pytest.mark.parametrize(
    ("samples", "expected"),
    [
        (RISING, {"free": "free", "profile": "falls"}),
        (
            drillings((100, 4.0, 3.6), (500, 5.0, 4.5), (900, 4.2, 3.8)),
            {"free": "hygroscopic", "profile": "even"},
        ),
        (
            drillings((100, 0.4, 0.3), (500, 0.5, 0.4), (900, 0.3, 0.3)),
            {"free": "neither", "profile": "even"},
        ),
        (
            drillings((300, 1.0, 0.9), (900, 7.0, 1.0), (1500, 6.0, 1.0)),
            {"free": "free", "profile": "patchy"},
        ),
        (drillings((100, 9.0, 1.0), (500, 2.0, 1.0), (900, 6.0, 1.0)), {"free": "free", "profile": "patchy"}),
        (drillings((100, 9.0, 1.0), (500, 7.0, 1.0), (900, 5.0, 1.0)), {"free": "free"}),
        (drillings((300, 1.0, 0.9), (900, 7.0, 1.0)), {"free": "free"}),
        ([sample("a", moisture_percent=7.0)], {}),
        ([], {}),
    ],
)
def test_samples_answer_for_moisture_and_its_profile(samples, expected):
    """By hand: what is found less what the material takes from air, one percent left in doubt."""
    assert sample_answers(samples) == expected


@pytest.mark.parametrize(
    ("face", "inside", "outcome"),
    [(2.0, 6.0, "deeper"), (6.0, 2.0, "surface"), (5.0, 5.5, "even"), (0.3, 0.5, None)],
)
def test_two_depths_answer_surface_or_depth(face, inside, outcome):
    pair = [
        sample("face", height_mm=300, depth_mm=10, moisture_percent=face),
        sample("inside", height_mm=300, depth_mm=80, moisture_percent=inside),
    ]
    assert sample_answers(pair) == ({} if outcome is None else {"depth": outcome})


def test_two_depths_lie_apart():
    close = [sample(f"d{d}", height_mm=300, depth_mm=d, moisture_percent=float(d)) for d in (10, 20)]
    assert sample_answers(close) == {}


@pytest.mark.parametrize(
    ("grades", "outcome"),
    [
        (["low", "low", "high"], "edge"),
        ([0.05, 0.2, 0.6], "edge"),
        (["high", "high", "high"], "high"),
        ([0.01, 0.02, 0.05], "low"),
        (["medium", "medium", "medium"], None),
    ],
)
def test_salts_are_graded_by_height(grades, outcome):
    samples = [sample(f"s{i}", height_mm=100 + 400 * i, nitrate=grade) for i, grade in enumerate(grades)]
    assert sample_answers(samples) == ({} if outcome is None else {"salts": outcome})


def test_the_house_answers_from_its_file(sample_site):
    """Mode of the room before that of the building; completion before the year of the oldest element."""
    folder = sample_site("cold-corner")
    text = (folder / "site.toml").read_text(encoding="utf-8")
    site = read_site(folder)
    assert house_answers(site, site.keys.rooms[0].id)["cooled"] == "not-cooled"
    year = site.keys.site.surveyed_at.year
    for written, age in (
        (f"[moisture]\nnew_building_completed_on = {date(year - 1, 6, 1)}\n", "under-2"),
        (f'[[elements]]\nid = "w9"\nkind = "wall"\nbuilt_in = {year - 5}\n', "2-to-10"),
        ('[[elements]]\nid = "w9"\nkind = "wall"\nbuilt_in = 1890\n', "older"),
    ):
        (folder / "site.toml").write_text(f"{_without_sections(text)}\n{written}", encoding="utf-8")
        assert house_answers(read_site(folder), None)["age"] == age
    cooled = text.replace('climate_mode = "heating"', 'climate_mode = "cooling"', 1)
    assert cooled != text
    (folder / "site.toml").write_text(cooled, encoding="utf-8")
    assert house_answers(read_site(folder), None)["cooled"] == "cooled"


def _without_sections(text):
    """The site file up to its first section of elements or moisture."""
    for heading in ("[moisture]", "[[elements]]"):
        text = text.split(heading)[0]
    return text


def test_every_derived_answer_is_an_outcome():
    """What evidence says stands in the form."""
    asked = table().questions
    given = [
        verdict_answers("indicated", "not indicated"),
        sample_answers(RISING),
    ]
    for answers in given:
        assert all(outcome in asked[question].outcomes for question, outcome in answers.items())


@pytest.mark.parametrize(("high", "told"), [(-2.5, {"colder-than-dry": "yes"}), (-1.5, {}), (1.0, {})])
def test_only_well_below_both_airs_is_colder_than_dry(high, told):
    """Two kelvins are left to air that is colder near the floor (own choice)."""
    assert dry_wall_answers(Measured(value=high - 0.5, low=high - 1.0, high=high, unit="K")) == told
