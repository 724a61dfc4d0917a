"""U-values in place: from loggers to a finding, or to the reason why there is none."""

from dataclasses import replace

import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.in_place import in_place, in_place_charts, in_place_findings
from thermalkit.language import render
from thermalkit.site.sections.heat_flux import HeatFluxKeys
from thermalkit.site.survey import Site


@pytest.fixture
def changed(worked):
    """The renovation with other keys of its measurement, or less of its loggers."""
    plain = worked("shutter-box").site

    def case(hours=None, logger=None, **keys) -> Case:
        (entry,) = plain.sections(HeatFluxKeys)
        entry = entry.model_copy(update=keys)
        loggers = {
            id: replace(series, table=series.table.iloc[:hours] if logger in (None, id) else series.table)
            for id, series in plain.loggers.items()
        }
        site: Site = replace(
            plain, keys=plain.keys.model_copy(update={"heat_flux": (entry,)}), loggers=loggers
        )
        return Case(site=site)

    return case


def only(case):
    """What is said first of the only measurement."""
    return next(in_place_findings(case))


def how(case):
    """What was done with sign, storage and films."""
    _, said = in_place_findings(case)
    return render(said.statement, "en")


def test_the_true_value_lies_within_the_interval(changed):
    """The maker's wall: films 0.14 and 0.04, 15 mm plaster 0.57, 300 mm block 0.56, 20 mm render 0.87."""
    true = 1.0 / (0.14 + 0.015 / 0.57 + 0.300 / 0.56 + 0.020 / 0.87 + 0.04)
    finding = only(changed())
    found = finding.quantities[0].measured
    assert found.low < true < found.high
    assert found.value == pytest.approx(true, rel=0.05)
    assert (found.high - found.low) / found.value < 0.3
    assert "turned round" in how(changed())


def test_a_surface_temperature_gets_its_film_added(changed):
    """The same series taken as surface temperatures: both films of ISO 6946 lower the value."""
    case = changed(outdoor_is_surface=True)
    (air,), (surface,) = in_place(changed()), in_place(case)
    assert (air.films_m2k_w, surface.films_m2k_w) == (0.0, pytest.approx(0.04))
    assert surface.transmittance_w_m2k.mean() < air.transmittance_w_m2k.mean()
    assert "0.04" in how(case)


def test_a_better_plate_narrows_the_result(changed):
    def width(percent):
        m = only(changed(plate_accuracy_percent=percent)).quantities[0].measured
        return m.high - m.low

    assert width(1.0) < width(None) < width(20.0)


def test_layers_that_no_table_knows_are_said(changed):
    assert "could not be allowed for" in how(changed(layers=()))


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"hours": 60}, "shorter than"),
        ({"hours": 200, "logger": "platte"}, None),
        ({"plate": "innenluft"}, "not logged at the same time"),
        ({"outdoor": "innenluft"}, "difference"),
    ],
)
def test_what_fails_is_refused_with_its_reason(changed, change, why):
    """No value, and what to do about it; a shorter plate alone only shortens the measurement."""
    finding = only(changed(**change))
    if why is None:
        assert finding.code == "envelope.in-place.transmittance"
        return
    assert finding.code == "envelope.in-place.refused"
    assert finding.quantities == ()
    assert why in render(finding.statement, "en")
    assert finding.next_steps


def test_the_chart_ends_at_the_value(changed):
    """The mean of all hours so far; without storage it is the plain average method."""
    case = changed(layers=())
    (chart,) = in_place_charts(case)
    (item,) = in_place(case)
    assert chart.series[0].y[-1] == pytest.approx(item.found.conductance_w_m2k, abs=1e-3)
    assert chart.series[0].x[0] > 24.0
    assert list(in_place_charts(changed(plate="innenluft"))) == []
