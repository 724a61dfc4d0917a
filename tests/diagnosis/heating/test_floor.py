"""A heated floor from its pictures to findings: the sample site, and what is refused when less is known."""

import re
from dataclasses import replace

import numpy as np
import pytest

from thermalkit.diagnosis.heating.floor.fixings import CAUTIONS
from thermalkit.diagnosis.run import accept, run
from thermalkit.imaging.camera import Camera
from thermalkit.language import render
from thermalkit.physics.floor_heating import Slab
from thermalkit.scenes.floor_paths import meander
from thermalkit.scenes.floor_sites import Fixing, write_floor
from thermalkit.scenes.floors import FloorScene, Pipe, later, looking, seen_floor
from thermalkit.site.folder import read_site

CAMERA = Camera(rows=150, columns=200, field_of_view_deg=(60.0, 47.0), noise_k=0.05, vignetting_k=-0.1)
SCENE = FloorScene(
    room_mm=(3000.0, 2800.0),
    spacing_mm=220.0,
    slab=Slab(thickness_m=0.06, pipe_height_m=0.018, covering_m2k_w=0.012),
    is_tiled=True,
    pipes=(Pipe(line_mm=meander((150.0, 150.0, 2850.0, 2650.0), 220.0)),),
    flow_excess_k=17.0,
    drop_k=6.0,
    minutes=40.0,
    room_degc=20.0,
    camera=CAMERA,
    to_frame=looking(CAMERA, np.array([1500.0, 1400.0]), 2000.0, 15.0, 90.0),
    distance_m=2.07,
)
# Rows lie 220 mm apart from 150 mm: one of them at 1250, the next at 1470.
BETWEEN = Fixing(id="between", x_mm=1500.0, y_mm=1360.0, diameter_mm=6.0, depth_mm=30.0)
ON = Fixing(id="on", x_mm=1500.0, y_mm=1252.0, diameter_mm=6.0)
OUT = Fixing(id="next-room", x_mm=4950.0, y_mm=2750.0, diameter_mm=6.0)


@pytest.fixture(scope="module")
def series():
    rng = np.random.default_rng(8)
    first = seen_floor(later(SCENE, 10.0), rng)
    rest = [seen_floor(later(SCENE, minutes), rng) for minutes in (25.0, 40.0, 80.0)]
    return [first, *(replace(seen, points=first.points) for seen in rest)]


@pytest.fixture
def found(series, tmp_path):
    """Findings of a site that is written as told."""

    def findings(pictures=series, about=None, points=9, without=None):
        pictures = [replace(seen, points=seen.points[:points]) for seen in pictures]
        write_floor(tmp_path, pictures, fixings=(BETWEEN, ON, OUT), about=about)
        text = (tmp_path / "site.toml").read_text("utf-8")
        parts = [part for part in re.split(r"(?m)^(?=\[)", text) if not part.startswith(f"[[{without}]]")]
        (tmp_path / "site.toml").write_text("".join(parts), "utf-8")
        return run("heating", read_site(tmp_path), accept).findings

    return findings


def said(findings, id):
    return next(f for f in findings if f.code == "heating.fixing" and f.mark == id).statement.id


def test_three_holes_three_answers(found):
    """Midway between rows, on a row; the sentence for the client never says that it is clear."""
    findings = found()
    assert said(findings, "between") == "heating.fixing.not-seen"
    assert said(findings, "on") == "heating.fixing.likely"
    assert said(findings, None).startswith("heating.fixing.none")
    for finding in findings:
        if finding.code == "heating.fixing":
            assert len(finding.cautions) == len(CAUTIONS)
            assert "clear" not in render(finding.statement, "en")
            assert finding.verdict == ("indicated" if finding.mark == "on" else None)
    (between,) = [f for f in findings if f.mark == "between"]
    distance, bound = (q.measured for q in between.quantities)
    assert distance.low <= 110.0 <= distance.high
    assert bound.value <= 110.0 - 8.0 - 3.0


@pytest.mark.parametrize(
    ("keys", "why"),
    [
        ({"every_loop_warm": "unknown"}, "not-every-loop"),
        ({"every_loop_warm": "no"}, "not-every-loop"),
        ({"passing_pipes": "unknown"}, "passing"),
        ({"passing_pipes": "some cold"}, "passing"),
        ({"heated_by": "electric mat"}, "not-water"),
    ],
)
def test_what_nobody_looked_at_gives_no_answer(found, series, keys, why):
    """One missing answer at the manifold is enough."""
    findings = found(series[2:3], about={"floor_loops": [keys]})
    assert said(findings, "between") == f"heating.fixing.none.{why}"


def test_four_points_give_no_answer(found, series):
    """And without field of view nothing else can agree."""
    no_view = {"instruments": {"cam": {"field_of_view_deg": None}}}
    findings = found(series[2:3], about=no_view, points=4)
    assert said(findings, "between") == "heating.fixing.none.unchecked"
    assert said(findings, "on") == "heating.fixing.likely"


def test_the_series_tells_how_it_warms_up(found):
    """Mean, highest below 29 degC, spacing near 220 mm, warming in time."""
    findings = {f.code: f for f in found()}
    assert findings["heating.floor"].verdict == "not indicated"
    spacing = next(q for q in findings["heating.floor-loops"].quantities if q.term.id == "pipe-spacing")
    assert spacing.measured.low <= 220.0 <= spacing.measured.high
    assert findings["heating.floor-warming"].statement.id == "heating.floor.even"


def test_a_picture_without_points_still_has_temperatures(found, series):
    """No plan: no pipes in mm, and every hole is told that it gets no answer."""
    findings = found(series[2:3], without="plans")
    assert "heating.floor" in [f.code for f in findings]
    sentences = [f.statement.id for f in findings if f.code == "heating.fixing"]
    assert sentences == ["heating.fixing.none.no-plan"] * 3
