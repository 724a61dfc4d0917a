"""Warm lines: invented sinusoids and lines whose place is known, and invented floors."""

import numpy as np
import pytest

from thermalkit.imaging.plan import Rectified
from thermalkit.imaging.ridges import distance_mm, ridges

PITCH_MM, NOISE_K = 8.0, 0.05


def rectified(values):
    return Rectified(values=values, x_mm=0.0, y_mm=0.0, mm_per_pixel=PITCH_MM, y_step_mm=PITCH_MM)


def found(values, rng, **more):
    noisy = values + rng.normal(0.0, NOISE_K, values.shape)
    quiet = np.random.default_rng(99).normal(0.0, NOISE_K, values.shape)
    return ridges(rectified(noisy), rectified(quiet), **more)


def grid(shape=(160, 200)):
    rows, columns = np.mgrid[: shape[0], : shape[1]] * PITCH_MM
    return columns, rows


@pytest.mark.parametrize("spacing_mm", [110.0, 150.0, 230.0, 300.0])
def test_lines_of_a_sinusoid_lie_on_its_crests(spacing_mm):
    """A cosine of 1 K on a slope: crests at whole spacings, found within 3 mm."""
    x, y = grid()
    values = 0.5 * np.cos(2.0 * np.pi * x / spacing_mm) + 0.002 * y
    out = found(values, np.random.default_rng(1))
    middles = [float(np.median(line.line_mm[:, 0])) for line in out.lines if line.length_mm > 900.0]
    inner = np.array([m for m in middles if 60.0 < m < 1472.0])
    numbers = np.rint(inner / spacing_mm)
    assert inner == pytest.approx(numbers * spacing_mm, abs=3.0)
    assert set(numbers) >= set(range(1, int(1472.0 / spacing_mm)))
    assert out.spacing_mm == pytest.approx(spacing_mm, rel=0.06)


def test_a_circle_keeps_its_radius():
    """A bend is not drawn inward: a warm ring of 150 mm comes out within 8 mm."""
    x, y = grid()
    away = np.hypot(x - 800.0, y - 640.0) - 150.0
    out = found(2.0 * np.exp(-((away / 40.0) ** 2)), np.random.default_rng(2))
    points = np.concatenate([line.line_mm for line in out.lines])
    radius = np.hypot(points[:, 0] - 800.0, points[:, 1] - 640.0)
    assert np.median(radius) == pytest.approx(150.0, abs=8.0)


def test_noise_alone_shows_no_line():
    """Twenty pictures of nothing."""
    for seed in range(20):
        assert not found(np.zeros((120, 160)), np.random.default_rng(seed)).lines


def test_what_is_hidden_is_not_looked_through():
    """A warm line behind a box of other temperature ends at the box, and its edges are no lines."""
    x, y = grid()
    values = 1.5 * np.exp(-(((x - 800.0) / 45.0) ** 2))
    box = (np.abs(x - 800.0) < 250.0) & (np.abs(y - 640.0) < 200.0)
    values[box] = -3.0
    out = found(values, np.random.default_rng(3), hidden=box)
    assert len(out.lines) == 2
    for line in out.lines:
        assert np.all(np.abs(line.line_mm[:, 1] - 640.0) > 195.0)
        assert np.median(line.line_mm[:, 0]) == pytest.approx(800.0, abs=4.0)


def test_a_gap_is_bridged_only_where_the_ridge_goes_on():
    """A line that fades for 120 mm is one line, marked there; one that stops for 400 mm is two."""
    x, y = grid()
    line = np.exp(-(((x - 800.0) / 45.0) ** 2))
    fading = np.where(np.abs(y - 640.0) < 60.0, 0.10, 1.0)
    stopping = np.where(np.abs(y - 640.0) < 200.0, 0.0, 1.0)
    assert len(found(line * fading, np.random.default_rng(4)).lines) == 1
    assert len(found(line * stopping, np.random.default_rng(4)).lines) == 2


def test_boards_are_not_pipes():
    """Boards of 120 mm that differ by 0.05 K are told from lines once their texture is stated."""
    _, y = grid()
    each = np.random.default_rng(5).normal(0.0, 0.05, 20)
    boards = each[(y / 120.0).astype(int)]
    assert found(boards, np.random.default_rng(6)).lines
    assert not found(boards, np.random.default_rng(6), texture_k=0.05).lines


def test_distance_from_lines():
    """Midway between crests 200 mm apart it is 100 mm; without lines there is none."""
    x, _ = grid()
    picture = rectified(np.zeros_like(x))
    out = found(0.5 * np.cos(2.0 * np.pi * x / 200.0), np.random.default_rng(7))
    away = distance_mm(out, picture)
    assert np.max(away[40:120, 30:170]) == pytest.approx(100.0, abs=12.0)
    nothing = found(np.zeros_like(x), np.random.default_rng(8))
    assert np.isinf(distance_mm(nothing, picture)).all()


def test_noise_of_another_shape_is_refused():
    """Both pictures must be the same."""
    with pytest.raises(ValueError, match="noise of shape"):
        ridges(rectified(np.zeros((9, 9))), rectified(np.zeros((8, 9))))
