"""The average method of ISO 9869-1 on walls of known transmittance, marched in time by the conduction code.

The U-value that is to be found again is 1/(R_si + Σ d/λ + R_se) of the layers, by hand; the conduction code
is itself checked against published values in tests/physics/conduction.
"""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.conduction import Body, Material, graded_edges_m, steady
from thermalkit.physics.conduction.transient import march
from thermalkit.physics.heat_flux import Storage, average_method, storage_of_layers

BRICK = Material(name="brick", conductivity_w_mk=0.77, heat_capacity_j_m3k=1.4e6)
INSULATION = Material(name="insulation", conductivity_w_mk=0.035, heat_capacity_j_m3k=0.05e6)
SOLID = ((BRICK, 0.33),)
INSULATED = ((BRICK, 0.24), (INSULATION, 0.12))
FILMS = {"inside": 0.13, "outside": 0.04}


def true_u(layers):
    """Resistances in series, by hand."""
    return 1.0 / (0.13 + sum(d / m.conductivity_w_mk for m, d in layers) + 0.04)


def measured(layers, inner, outer, seed=0):
    """Hourly flux at the inner face and both air temperatures, with the noise of a plate."""
    ends = np.concatenate([[0.0], np.cumsum([d for _, d in layers])])
    body = Body(graded_edges_m(ends, 0.01, 1.3))
    for (material, _), low, high in zip(layers, ends, ends[1:], strict=False):
        body.paint([(low, high)], material)
    body.expose(0, "low", "inside")
    body.expose(0, "high", "outside")
    start = steady(body, FILMS).at({"inside": float(inner[0]), "outside": float(outer[0])})
    times = 3600.0 * np.arange(inner.size)
    courses = {"inside": inner, "outside": outer}
    flux = [
        float(
            (
                field.environments_degc[list(field.network.environments).index("inside")]
                - field.surface("inside").temperature_degc.mean()
            )
            / FILMS["inside"]
        )
        for field in march(start, times, courses)
    ]
    return np.array(flux) + np.random.default_rng(seed).normal(0.0, 0.5, inner.size)


def weather(days, drift_k=0.0, swing_k=4.0, mean=3.0, seed=1):
    """Outdoor air with a daily swing, slow weather, and a drift over the whole time."""
    hours = np.arange(24 * days)
    slow = np.cumsum(np.random.default_rng(seed).normal(0.0, 0.15, hours.size))
    return (
        mean
        + swing_k * np.cos(2.0 * np.pi * (hours - 15) / 24)
        + slow
        - slow.mean()
        + drift_k * hours / hours[-1]
    )


def storage_of(layers):
    resistances = [d / m.conductivity_w_mk for m, d in layers]
    return storage_of_layers(resistances, [d * m.heat_capacity_j_m3k for m, d in layers], inner_m2k_w=0.13)


@pytest.mark.parametrize("layers", [SOLID, INSULATED], ids=["solid", "insulated"])
def test_the_known_transmittance_is_found_again(layers):
    """Within 3 % after a fortnight of ordinary weather; the standard allows 5 % for what has not settled."""
    outer = weather(14)
    inner = np.full(outer.size, 20.0)
    found = average_method(measured(layers, inner, outer), inner, outer, storage=storage_of(layers))
    assert found.failures == ()
    assert found.conductance_w_m2k == pytest.approx(true_u(layers), rel=0.03)
    assert not found.reversed_plate


def test_a_reversed_plate_is_turned_round_and_said_so():
    outer = weather(10)
    inner = np.full(outer.size, 20.0)
    flux = measured(SOLID, inner, outer)
    plain, turned = average_method(flux, inner, outer), average_method(-flux, inner, outer)
    assert turned.reversed_plate
    assert turned.conductance_w_m2k == pytest.approx(plain.conductance_w_m2k, rel=1e-12)


def test_storage_of_a_warming_wall_is_allowed_for():
    """Outdoors and the room warm up for a week: with the layers known the result is nearer the truth."""
    outer = weather(7, drift_k=6.0, swing_k=1.0)
    inner = 18.0 + 4.0 * np.arange(outer.size) / outer.size
    flux = measured(SOLID, inner, outer)
    storage = storage_of(SOLID)
    plain, corrected = average_method(flux, inner, outer), average_method(flux, inner, outer, storage=storage)
    errors = [abs(f.conductance_w_m2k / true_u(SOLID) - 1.0) for f in (plain, corrected)]
    assert errors[1] < 0.5 * errors[0]
    assert errors[1] < 0.03
    assert corrected.storage_w_m2 > 0.0


def test_a_wall_that_was_heated_up_last_night_is_refused():
    """The room went from 12 to 20 °C as the plate was fixed; three days do not settle a heavy wall."""
    outer = weather(4, swing_k=1.0)
    inner = np.concatenate([np.full(1, 12.0), np.full(outer.size - 1, 20.0)])
    found = average_method(measured(((BRICK, 0.50),), inner, outer), inner, outer)
    assert found.conductance_w_m2k is None
    assert "day-before" in found.failures or "thirds" in found.failures


@pytest.mark.parametrize(
    ("hours", "inner", "failure"),
    [(60, 20.0, "too-short"), (96, 3.0, "difference")],
    ids=["two and a half days", "hardly a difference"],
)
def test_what_cannot_be_told_is_refused(hours, inner, failure):
    found = average_method(np.full(hours, 10.0), np.full(hours, inner), np.zeros(hours))
    assert found.conductance_w_m2k is None
    assert found.failures == (failure,)


def test_gaps_are_refused_and_a_few_hours_are_not():
    flux = np.full(96, 10.0)
    flux[:3] = np.nan
    assert average_method(flux, np.full(96, 20.0), np.zeros(96)).conductance_w_m2k == pytest.approx(0.5)
    flux[:12] = np.nan
    assert average_method(flux, np.full(96, 20.0), np.zeros(96)).failures == ("gaps",)
    nothing = average_method(np.full(96, np.nan), np.full(96, 20.0), np.zeros(96))
    assert nothing.failures == ("too-short",)


def test_only_whole_days_count():
    """The fifth, broken day is left out."""
    flux = np.concatenate([np.full(96, 10.0), np.full(11, 90.0)])
    found = average_method(flux, np.full(107, 20.0), np.zeros(107))
    assert found.hours == 96
    assert found.conductance_w_m2k == pytest.approx(0.5)


def test_a_flux_that_changes_its_mind_is_refused():
    """Two days one way, two days the other: no sign fits both ends."""
    flux = np.repeat([10.0, 10.0, -9.0, -10.0], 24)
    found = average_method(flux, np.full(96, 20.0), np.zeros(96))
    assert found.conductance_w_m2k is None
    assert found.thirds > 0.05


def test_no_flux_at_all_is_refused():
    found = average_method(np.zeros(96), np.full(96, 20.0), np.zeros(96))
    assert "sign" in found.failures


def test_storage_of_a_homogeneous_wall_by_hand():
    """∫(1-x)² = 1/3 and ∫(1-x)x = 1/6 of its capacity; behind a film less of it counts for the room's air."""
    assert storage_of_layers([0.5], [6.0]) == Storage(
        inner_j_m2k=pytest.approx(2.0), outer_j_m2k=pytest.approx(1.0)
    )
    split = storage_of_layers([0.2, 0.3], [2.4, 3.6])
    assert (split.inner_j_m2k, split.outer_j_m2k) == (pytest.approx(2.0), pytest.approx(1.0))
    assert storage_of_layers([0.5], [6.0], inner_m2k_w=0.13).inner_j_m2k < 2.0


@pytest.mark.parametrize("given", [([], []), ([0.5], [1.0, 2.0]), ([0.0], [1.0])])
def test_layers_that_do_not_fit_are_refused(given):
    with pytest.raises(OutOfDomain, match="each layer"):
        storage_of_layers(*given)


def test_series_of_different_length_are_refused():
    with pytest.raises(OutOfDomain, match="same hours"):
        average_method(np.zeros(96), np.zeros(96), np.zeros(95))
