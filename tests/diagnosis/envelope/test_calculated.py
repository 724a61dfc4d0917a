"""A junction as described beside the picture: right guesses agree, wrong ones show."""

from dataclasses import fields, replace

import pytest

from thermalkit.diagnosis.envelope.calculated import calculated_charts, calculated_findings
from thermalkit.diagnosis.envelope.calculated.inside import is_inside, outcome, years_inside
from thermalkit.diagnosis.envelope.calculated.variants import ENDS, variants_at
from thermalkit.diagnosis.envelope.examined import examined
from thermalkit.language import render
from thermalkit.physics.buildup_families import families
from thermalkit.physics.detail_result import detail_result
from thermalkit.physics.details import details
from thermalkit.physics.details.inside_insulation import InsideInsulation
from thermalkit.physics.details.stud_wall import StudWall
from thermalkit.physics.thermal_bridge import NotProven


def with_junction(case, **keys):
    """The renovation with its junction described otherwise."""
    (entry,) = case.site.keys.junctions
    entry = entry.model_copy(update=keys)
    site = replace(case.site, keys=case.site.keys.model_copy(update={"junctions": (entry,)}))
    return replace(case, site=site)


def found(case):
    item = examined(case, case.decided["suspect"][0])
    return {f.code: f for f in calculated_findings(case, item)}


def test_the_true_wall_agrees_and_has_no_lining(worked):
    """The maker's box is empty; the fit finds next to nothing in it."""
    shown = found(worked("shutter-box"))
    assert shown["envelope.detail.compared"].statement.id == "envelope.detail.compared.agrees"
    fit = shown["envelope.detail.fit"].statement
    assert fit.id == "envelope.detail.fit.given"
    assert fit.values["value"].high < 6.0


def test_a_wrong_guess_shows(worked):
    """Described as well insulated, the wall is colder than that; opening it up comes before planning."""
    case = with_junction(
        worked("shutter-box"),
        family="masonry insulated outside after 1978",
        known="lining_mm = 40, insulation_mm = 200",
        unknown="insulation_mm",
    )
    shown = found(case)
    assert shown["envelope.detail.compared"].statement.id == "envelope.detail.compared.colder"
    assert shown["envelope.detail.compared"].next_steps
    assert shown["envelope.detail.fit"].statement.id == "envelope.detail.fit.unexplained"


def test_a_dimension_that_does_not_show_stays_open(worked):
    """The depth of the apron outside the box leaves no trace on the inner face."""
    assert found(with_junction(worked("shutter-box"), unknown="apron_mm"))[
        "envelope.detail.fit"
    ].statement.id in ("envelope.detail.fit.open", "envelope.detail.fit.unexplained")


def test_cures_say_factor_psi_place_and_saving(worked):
    """The numbers of the calculation of ISO 10211 that the details are checked for, before and after."""
    case = worked("shutter-box")
    shown = found(case)
    variants = variants_at(case, case.decided["suspect"][0])
    lined = shown["envelope.detail.cure-box-lining"].statement
    after = detail_result(variants.typical.cures()["box-lining"])
    assert lined.values["after"].value == pytest.approx(after.factor)
    assert lined.values["before"].value < lined.values["after"].value
    assert lined.values["psi_after"].value < lined.values["psi_before"].value
    assert "1.6" in render(lined, "en")
    metre = found(with_junction(case, length_m=None))["envelope.detail.cure-box-lining"].statement
    assert "each metre" in render(metre, "en")


def test_the_line_and_its_calculation_share_a_chart(worked):
    case = worked("shutter-box")
    (chart,) = calculated_charts(case, examined(case, case.decided["suspect"][0]))
    assert len(chart.series) == 1 + len(ENDS)
    measured, cold, _, warm = chart.series
    assert all(a <= b for a, b in zip(cold.y, warm.y, strict=True))
    assert len(measured.low) == len(measured.y)


def test_dimensions_that_make_no_drawing_are_said(worked, monkeypatch):
    """Not an error for the surveyor, but a finding."""
    from thermalkit.physics.conduction.errors import IllPosed

    def refuse(_self):
        raise IllPosed("a box side runs through cells")

    monkeypatch.setattr("thermalkit.diagnosis.envelope.calculated.variants.Variants.results", refuse)
    assert list(found(worked("shutter-box"))) == ["envelope.detail.not-proven"]


@pytest.mark.parametrize(
    "points", [((86.0, 25.0), (86.0, 25.0)), ((86.0, 25.0), (84.0, 25.0))], ids=["a point", "2 cm"]
)
def test_a_line_too_short_is_not_compared(worked, points):
    """Cures are still calculated; there is no chart and no comparison."""
    case = worked("shutter-box")
    (trace,) = case.decided["trace"]
    case.decided["trace"] = (replace(trace, points=points),)
    shown = found(case)
    assert "envelope.detail.compared" not in shown
    assert "envelope.detail.cure-box-lining" in shown
    assert list(calculated_charts(case, examined(case, case.decided["suspect"][0]))) == []


def test_a_junction_that_nobody_described_is_not_calculated(worked):
    """The drawing's own dimensions are nobody's wall; what to write down is said."""
    case = with_junction(worked("shutter-box"), family=None, known=None)
    (finding,) = found(case).values()
    assert finding.code == "envelope.detail.not-described"
    assert finding.next_steps
    assert list(calculated_charts(case, examined(case, case.decided["suspect"][0]))) == []


def test_a_place_without_a_junction_calculates_nothing(worked):
    case = worked("shutter-box")
    beam = examined(case, case.decided["suspect"][1])
    assert list(calculated_findings(case, beam)) == []
    assert list(calculated_charts(case, beam)) == []


def test_a_calculation_that_is_not_proven_is_not_quoted(worked, monkeypatch):
    def refuse(_self):
        raise NotProven("not to be quoted")

    monkeypatch.setattr("thermalkit.diagnosis.envelope.calculated.variants.Variants.results", refuse)
    case = worked("shutter-box")
    assert list(found(case)) == ["envelope.detail.not-proven"]
    assert list(calculated_charts(case, examined(case, case.decided["suspect"][0]))) == []


@pytest.mark.parametrize("name", sorted(families()))
@pytest.mark.parametrize("detail", ["outer-corner", "stud-wall"])
def test_every_family_fills_a_drawing(worked, name, detail):
    """Within the drawing's plausible range, and never warmer at its cold end."""
    case = with_junction(worked("shutter-box"), family=name, known=None)
    mark = case.decided["suspect"][0]
    case.decided["junction"] = {**case.decided["junction"], "rollladen/Rollladenkasten: junction": detail}
    variants = variants_at(case, mark)
    for end in ENDS:
        drawing = getattr(variants, end)
        for item in fields(drawing):
            assert item.metadata["low"] <= getattr(drawing, item.name) <= item.metadata["high"]
    if detail == "outer-corner":
        cold, usual, warm = (resistance(getattr(variants, end)) for end in ENDS)
        assert cold < usual < warm


def resistance(wall):
    """Of its layers, by hand."""
    return sum(mm / 1000.0 / w_mk for mm, w_mk in wall.layers)


def test_inside_insulation_never_goes_without_its_check(worked):
    """Whatever a cure puts inside comes with a look at water in the wall, or is not advised."""
    case = worked("shutter-box")
    case.decided["junction"] = {
        **case.decided["junction"],
        "rollladen/Rollladenkasten: junction": "inside-insulation",
    }
    for climate in (case.site.keys.climate, None):
        keys = case.site.keys.model_copy(update={"climate": climate})
        shown = found(replace(case, site=replace(case.site, keys=keys)))
        cures = [code.removeprefix("envelope.detail.cure-") for code in shown if ".cure-" in code]
        assert cures
        for cure in cures:
            check = shown[f"envelope.detail.inside-{cure}"]
            assert check.next_steps
            assert check.cautions
            if climate is None:
                assert check.statement.id == "envelope.detail.inside.unchecked"
                assert "not advised" in render(check.statement, "en")


def test_which_cures_go_inside():
    """By name, or where the wall has insulation inside already; insulation outside is none."""
    found = {
        (name, cure)
        for name, kind in details().items()
        for cure, after in kind().cures().items()
        if is_inside(cure, after)
    }
    assert found == {
        ("inside-insulation", "flank-insulation"),
        ("stud-wall", "inside-insulation"),
        ("window-reveal", "inner-lining"),
    }


def test_a_drier_home_holds_less_water_in_its_wall(worked):
    """Humidity class 2 against class 3, and what the wetter of both leads to."""
    case = worked("shutter-box")
    drier, wetter = years_inside(case, InsideInsulation(inside_insulation_mm=80.0, masonry_mm=300.0))
    assert drier.most_held_g_m2 < wetter.most_held_g_m2
    assert outcome((drier, wetter)) == outcome((wetter,)) in ("dries", "accumulates")
    assert outcome(None) == "unchecked"
    assert years_inside(case, StudWall(inside_insulation_mm=40.0)) is not None


def test_a_tight_lining_on_a_dry_warm_wall_stays_free(worked):
    """Insulated outside as well, no layer gets cold enough."""
    wall = InsideInsulation(inside_insulation_mm=10.0, insulation_mm=200.0, masonry_mm=300.0)
    assert outcome(years_inside(worked("shutter-box"), wall)) == "free"
