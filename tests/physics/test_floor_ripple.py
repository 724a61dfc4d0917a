"""Ripple of settled floors against conduction on a grid, and back to the cover that makes it."""

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.conduction import Body, Material, graded_edges_m, steady
from thermalkit.physics.floor_ripple import DEEPEST_M, SHALLOWEST_M, Build, cover_of_share_m, ripple_share

SPACING_M = 0.15
BUILD = Build(axis_height_m=0.022)
SHEET_M, SHEET_W_MK = 0.012, 0.15


def on_a_grid(sheet_m=0.0):
    """First wave over mean of the surface of half a spacing, solved by finite volumes; 65 mm of screed."""
    top = 0.065 + sheet_m
    across = graded_edges_m([0.0, 0.002, SPACING_M / 2.0], 0.001, 1.1)
    up = graded_edges_m([0.0, 0.020, 0.024, 0.065, *([top] if sheet_m else [])], 0.001, 1.1)
    body = Body(across, up)
    body.paint([None, None], Material(name="screed", conductivity_w_mk=1.2))
    if sheet_m:
        body.paint([None, (0.065, top)], Material(name="sheet", conductivity_w_mk=SHEET_W_MK))
    body.heat([(0.0, 0.002), (0.020, 0.024)], 10.0 / (0.002 * 0.004))
    body.expose(1, "low", "below")
    body.expose(1, "high", "room")
    solved = steady(body, {"room": 1.0 / 10.8, "below": 1.0 / 0.75})
    surface = solved.at({"room": 0.0, "below": 0.0}).surface("room")
    order = np.argsort(surface.centres_m[:, 0])
    place, excess = surface.centres_m[order, 0], surface.temperature_degc[order]
    width = np.diff(across)
    wave = np.cos(2.0 * np.pi * place / SPACING_M)
    return 2.0 * np.sum(width * wave * excess) / np.sum(width * excess)


def test_the_ripple_is_that_of_our_own_conduction():
    """Axis at 22 mm of 65 mm: 35 mm of screed over a pipe of 16 mm."""
    assert ripple_share(SPACING_M, 0.035, BUILD) == pytest.approx(on_a_grid(), rel=0.02)


def test_a_sheet_on_top_evens_out_the_ripple_as_our_own_conduction_has_it():
    """12 mm of wood as a layer of the grid; a covering that passes nothing sideways leaves clearly more."""
    about = {"axis_height_m": 0.022, "covering_m2k_w": SHEET_M / SHEET_W_MK, "covering_w_mk": SHEET_W_MK}
    solved = on_a_grid(SHEET_M)
    assert ripple_share(SPACING_M, 0.035, Build(**about, evens_out=1.0)) == pytest.approx(solved, rel=0.05)
    assert ripple_share(SPACING_M, 0.035, Build(**about)) > 1.05 * solved


def test_the_cover_comes_back_from_a_ripple_solved_on_a_grid():
    """35 mm within half a millimetre."""
    assert 1000.0 * cover_of_share_m(on_a_grid(), SPACING_M, BUILD) == pytest.approx(35.0, abs=0.6)


def test_cover_undoes_ripple():
    """At several spacings at once."""
    spacing, cover = np.meshgrid([0.1, 0.15, 0.25], [0.02, 0.05, 0.08])
    share = ripple_share(spacing, cover, BUILD)
    assert cover_of_share_m(share, spacing, BUILD) == pytest.approx(cover, abs=1e-6)


def test_what_no_cover_makes_ends_at_the_range():
    """No ripple, and more than any pipe in screed gives."""
    ends = cover_of_share_m([0.0, 5.0], SPACING_M, BUILD)
    assert ends == pytest.approx([DEEPEST_M, SHALLOWEST_M], abs=1e-6)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: ripple_share(3.0, 0.04, BUILD),
        lambda: ripple_share(0.15, -0.01, BUILD),
        lambda: cover_of_share_m(-0.1, 0.15, BUILD),
        lambda: Build(axis_height_m=0.3),
        lambda: Build(axis_height_m=0.02, evens_out=1.2),
    ],
)
def test_what_no_floor_has_is_refused(wrong):
    """Each argument has its range."""
    with pytest.raises(OutOfDomain):
        wrong()
