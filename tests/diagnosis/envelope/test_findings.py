"""What is said of a place: limits, damp, loss, cost, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.diagnosis.envelope import charts, findings, pictures, quantities_at
from thermalkit.diagnosis.envelope.costs import losses
from thermalkit.diagnosis.envelope.examined import examined
from thermalkit.diagnosis.needs import needs
from thermalkit.diagnosis.run import accept, run
from thermalkit.diagnosis.surface import view
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.language import render
from thermalkit.scenes import Climate, FlatWall, Scene, seen
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.heat import true_extra_w_k
from thermalkit.scenes.scene import Errors, random_camera
from thermalkit.scenes.walls import Band, Film
from thermalkit.site.folder import read_site

BRICK = (layer("plaster", 0.015, 0.57, 1.1), layer("brick", 0.300, 0.60, 1.4))
FREE = Film(open_m2k_w=0.15, sheltered_m2k_w=0.15)
WINTER = Climate(indoor_degc=20.0, indoor_humidity=0.5, outdoor_mean_degc=0.0, outdoor_swing_k=1.0, hour=7.0)


@pytest.fixture
def picture(rng):
    """A beam of concrete in a brick wall on an even day."""
    band = Band(name="beam", material=CONCRETE, width_m=0.25, first=1, last=1)
    wall = FlatWall(layers=BRICK, film=FREE, sheltered_at_m=0.0, band=band, is_level=True)
    camera = replace(random_camera(rng), rows=120, columns=160, field_of_view_deg=(40.0, 31.0), offset_k=0.5)
    scene = Scene(wall=wall, climate=WINTER, camera=camera, errors=Errors(), distance_m=2.0, things=())
    return seen(scene, rng)


PLAIN = {"junction": {"wall/suspect: junction": "plain"}}
CLIMATE = {"monthly_air_temperature_degc": [0.0, 1, 5, 9, 16, 17, 19, 18, 16, 9, 5, 2]}


def by_code(case):
    return {f.code: f for f in findings(case) if f.mark in (None, "suspect")}


def test_a_heated_place_is_judged_and_priced(case_of, picture):
    """Factor, damp, conditions, flow, year; the true flow lies within its interval."""
    about = {"climate": CLIMATE, "costs": {"heat_price_per_kwh": 0.10, "currency": "EUR"}}
    found = by_code(case_of([picture], about, PLAIN))
    assert {
        "envelope.temperature-factor",
        "envelope.turns-damp",
        "envelope.at-conditions",
        "envelope.loss.extra",
        "envelope.loss.year-loss",
    } <= found.keys()
    flow = found["envelope.loss.extra"].quantities[0].measured
    assert flow.low < true_extra_w_k(picture) < flow.high
    year = render(found["envelope.loss.year-loss"].statement, "en")
    assert "indicative" in year
    assert "EUR" in year


def test_a_year_by_hand(case_of, picture):
    """Degree hours of the seven months below 15 °C at 20 °C times the flow; kWh are whole ones."""
    found = by_code(case_of([picture], {"climate": CLIMATE}, PLAIN))
    flow = found["envelope.loss.extra"].quantities[0].measured.value
    hours = 24.0 * (20 * 31 + 19 * 28.25 + 15 * 31 + 11 * 30 + 11 * 31 + 15 * 30 + 18 * 31)
    energy = found["envelope.loss.year-loss"].quantities[0].measured
    assert energy.value == pytest.approx(flow * hours / 1000.0, abs=0.6)


def test_without_a_climate_the_assumption_is_shown(case_of, picture):
    """Its interval, and that it is one."""
    case = case_of([picture], answers=PLAIN)
    statement = render(by_code(case)["envelope.loss.year-loss"].statement, "en")
    assert "no climate was written down" in statement
    assert "50 to 99" in statement or "51 to 99" in statement
    assert "degree-hours" in {row.name for row in case.assumptions_used()}


def without_distance(case):
    frames = {
        id: replace(frame, keys=frame.keys.model_copy(update={"distance_m": None}))
        for id, frame in case.site.frames.items()
    }
    return replace(case, site=replace(case.site, frames=frames))


def refusal(case, mark):
    (finding,) = losses(case, examined(case, mark))
    return finding


@pytest.mark.parametrize("missing", ["size", "sound", "area", "difference"])
def test_a_flow_that_cannot_be_known_is_refused(case_of, picture, missing):
    """No number, the reason, and what would help."""
    case = case_of([picture], answers=PLAIN)
    mark = case.decided["suspect"][0]
    if missing == "size":
        case = without_distance(case)
    elif missing == "sound":
        case.decided["sound"] = ()
    elif missing == "area":
        mark = Mark(frame="wall", id="suspect", shape="pin", points=((60.0, 80.0),), role="suspect")
    else:
        weather = case.site.keys.weather.model_copy(
            update={"air_temperature_degc": 19.5, "mean_24h_air_temperature_degc": 19.5}
        )
        keys = case.site.keys.model_copy(update={"weather": weather})
        case = replace(case, site=replace(case.site, keys=keys))
    finding = refusal(case, mark)
    assert finding.code == "envelope.loss.refused"
    assert finding.statement.id == f"envelope.loss.refused.{missing}"
    assert finding.quantities == ()
    assert finding.next_steps


def test_an_inner_wall_is_no_part_of_the_envelope(case_of, picture):
    """Not proposed; where somebody takes it all the same, neither factor nor flow is given."""
    about = {"frames": [{"far_side": "heated"}]}
    assert case_of([picture], about).decided["frames"] == ()
    case = case_of([picture], about, {"frames": ["wall"]})
    mark = Mark(frame="wall", id="suspect", shape="patch", points=picture.suspect.points, role="suspect")
    case.decided["suspect"] = (mark,)
    found = by_code(case)
    assert found["envelope.no-factor"].statement.id == "envelope.no-factor-inside"
    assert found["envelope.loss.refused"].statement.id == "envelope.loss.refused.inner"


def test_a_place_not_known_to_be_open_wall_stays_wide(case_of, picture):
    def width(answer):
        case = case_of([picture], answers={"junction": {"wall/suspect: junction": answer}})
        m = by_code(case)["envelope.loss.extra"].quantities[0].measured
        return m.high - m.low

    assert width("unknown") > 1.1 * width("plain")


def test_the_area_by_hand(case_of, picture):
    """Pixels of the mark times (2 d tan(FOV/2)/N)²; the distance written down is 2.0 m."""
    case = case_of([picture], answers=PLAIN)
    camera = picture.scene.camera
    side_m = 2.0 * 2.0 * np.tan(np.radians(camera.field_of_view_deg[0]) / 2.0) / camera.columns
    pixels = np.count_nonzero(mark_mask(picture.suspect, picture.scene.shape))
    area = by_code(case)["envelope.loss.extra"].quantities[2].measured
    assert area.value == pytest.approx(pixels * side_m**2, rel=0.02)
    assert area.low < area.value < area.high


def test_a_corner_has_both_its_walls(case_of, picture):
    """Seen along the middle, a square metre of the picture is 1.41 of wall."""

    def area(answer):
        case = case_of([picture], answers={"junction": {"wall/suspect: junction": answer}})
        return by_code(case)["envelope.loss.extra"].quantities[2].measured.value

    assert area("outer-corner") == pytest.approx(np.sqrt(2.0) * area("plain"), rel=0.03)


def test_while_drawing_the_same_factor_is_shown(case_of, picture):
    """The number beside the pen is that of the finding."""
    case = case_of([picture], answers=PLAIN)
    mark = case.decided["suspect"][0]
    item = examined(case, mark)
    (shown,) = quantities_at(case, view(case, "wall"), mark, item.place.surface_degc)
    finding = by_code(case)["envelope.temperature-factor"]
    assert shown == finding.quantities[0]


def test_pictures_carry_marks_and_the_damp_line(case_of, picture):
    (shown,) = pictures(case_of([picture]))
    assert {mark.role for mark in shown.marks} == {"suspect", "sound"}
    assert len(shown.lines) == 1


@pytest.mark.parametrize(
    "name", ["cannot-answer", "cold-corner", "cooled-bedroom", "old-stain", "rain-gable", "sound-wall"]
)
def test_any_site_can_be_asked(name):
    """A site made for another question leads to findings in both languages, never to an error."""
    from pathlib import Path

    site = read_site(Path(__file__).parents[3] / "sample_sites" / name)
    found = run("envelope", site, accept)
    for language in ("en", "de"):
        assert found.as_json(language)["findings"]


def test_what_to_carry_is_known_before_the_visit():
    """Pictures, leaks and plates each say what they need; the fan warns of flues."""
    shown = needs()["envelope"]
    assert [need.title.id for need in shown] == [
        "envelope.needs.pictures",
        "envelope.needs.leaks",
        "envelope.needs.plate",
    ]
    assert any("flue" in render(line, "en") for line in shown[1].lines)


def test_a_frame_without_places_is_a_finding_too(case_of, picture):
    case = case_of([picture], answers={"suspect": []})
    codes = [f.code for f in findings(case)]
    assert "envelope.room.nothing-found" in codes
    assert list(charts(case)) == []
