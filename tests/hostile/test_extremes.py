"""Sites at the edge of what a door lets in: an annex, or one sentence that names file and place."""

from __future__ import annotations

import json

import numpy as np
import pytest

from thermalkit.diagnosis.run import Answer, run
from thermalkit.errors import ThermalkitError
from thermalkit.site import read_site
from thermalkit.workbook import open_session
from thermalkit.workbook.halt import Halt


def sound():
    rows, columns = np.mgrid[:32, :48]
    return 15.5 - 6.0 * np.exp(-((rows - 24.0) ** 2 + (columns - 8.0) ** 2) / 40.0)


def with_values(values, *places):
    frame = sound()
    for place in places or (np.s_[:],):
        frame[place] = values
    return frame


def one_pixel():
    frame = np.full((32, 48), np.nan)
    frame[5, 5] = 12.0
    return frame


@pytest.mark.parametrize(
    "frame",
    [
        with_values(15.0),
        one_pixel(),
        with_values(190.0, np.s_[5, 5]),
        with_values(190.0, np.s_[5:25, 5:25]),
        with_values(np.nan, np.s_[:31]),
        sound() + 25.0,
        sound() - 40.0,
        with_values(-60.0, np.s_[:16]),
    ],
    ids=["constant", "one-pixel", "hot-pixel", "hot-patch", "last-row", "warm", "cold", "half-60"],
)
def test_strange_frames_have_an_annex(command, folder, frame):
    np.save(folder.path / "thermal" / "corner.npy", frame)
    done = command("annex", "damp", folder.path, "--unattended")
    assert (done.code, done.err) == (0, "")


@pytest.mark.parametrize(
    "frame",
    [with_values(222.0), with_values(-60.0), with_values(1999.0, np.s_[:3])],
    ids=["222", "-60", "1999"],
)
def test_a_frame_beyond_the_formulas_is_named(command, folder, frame):
    """A number that no formula takes is given with the file and the frame it comes from."""
    np.save(folder.path / "thermal" / "corner.npy", frame)
    done = command("annex", "damp", folder.path, "--unattended")
    assert done.code == 1
    assert 'thermal/corner.npy, frame "corner"' in done.err
    assert "is outside" in done.err
    with pytest.raises(Halt, match='frame "corner"'):
        open_session("damp", folder.path, unattended=True).concluded()
    assert not (folder.path / "annex").exists()


AIR, OUTDOORS, HUMIDITY = (
    f"{name} = {value}"
    for name, value in (
        ("air_temperature_degc", 18.5), ("air_temperature_degc", 1.5), ("relative_humidity_percent", 68.0),
    )
)  # fmt: skip
EMISSIVITY, ACCURACY, DAY = "emissivity = 0.93", "accuracy_k = 2.0", "2026-01-21T08:30:00+00:00"
CORRECTED = 'values = "camera-corrected"\ncamera_emissivity = 0.01\ncamera_reflected_temperature_degc = 200'
EXTREMES = [
    *((AIR, f"air_temperature_degc = {value}") for value in (-60, -40, 0, 59.9, 60)),
    *((OUTDOORS, f"air_temperature_degc = {value}") for value in (-60, -40, 18.5, 60)),
    *((HUMIDITY, f"relative_humidity_percent = {value}") for value in (1, 100)),
    *((EMISSIVITY, f"emissivity = {value}") for value in (0.01, 0.3, 1.0)),
    *((EMISSIVITY, f"{EMISSIVITY}\nreflected_temperature_degc = {value}") for value in (-60, 200)),
    *((ACCURACY, f"accuracy_k = {value}\nnoise_k = {value / 5}") for value in (0, 50)),
    *((ACCURACY, f"{ACCURACY}\nband_um = {value}") for value in ("[1.5, 1.51]", "[29.9, 30.0]")),
    *((DAY, day) for day in ("1970-01-01T00:00:00+14:00", "2199-12-31T23:59:59-12:00")),
    ('values = "apparent"', CORRECTED),
    ('country = "GB"', 'country = "AQ"\nclimate_mode = "cooling"'),
]


@pytest.mark.parametrize(("old", "new"), EXTREMES, ids=[new for _, new in EXTREMES])
def test_readings_at_their_bounds(command, folder, old, new):
    """What the door allows ends in an annex or in one line that names the frame."""
    folder.replace(old, new)
    done = command("annex", "damp", folder.path, "--unattended")
    assert done.code in (0, 1)
    assert done.code == 0 or ("site.toml" in done.err and done.err.count("\n") == 1), done.err


def suspects(site, *marks):
    """Findings with these marks as the decision."""

    def answer(step, propose, inputs):
        return Answer(value=list(marks) if step.name == "suspect" else propose(), state="decided")

    return run("damp", site, answer)


def mark(points, shape="patch"):
    return {"frame": "corner", "id": "a", "shape": shape, "points": points, "role": "suspect"}


@pytest.mark.parametrize(
    "drawn",
    [
        mark([[2, 2], [20, 20], [2, 20], [20, 2]]),
        mark([[2, 2], [2, 2], [2, 2]]),
        mark([[-0.5, -0.5]], "pin"),
        mark(np.random.default_rng(1).uniform(0, 31, (2000, 2)).tolist()),
        mark(np.random.default_rng(1).uniform(0, 31, (2000, 2)).tolist(), "trace"),
    ],
    ids=["crossing", "no-area", "corner", "2000-points", "2000-steps"],
)
def test_strange_marks_give_finite_findings(folder, drawn):
    found = suspects(read_site(folder.path), drawn)
    assert not any(step.step == "suspect" for step in found.open_steps)
    json.dumps(found.as_json("en"), allow_nan=False)


@pytest.mark.parametrize("drawn", [mark([[0, 0]], "pin"), mark([[0, 0], [0, 2], [2, 2]])])
def test_a_mark_on_masked_pixels_is_no_answer(folder, drawn):
    """Drawn where the frame has no temperature, it is open again in a record and refused in a site file."""
    frame = sound()
    frame[:4, :4] = np.nan
    np.save(folder.path / "thermal" / "corner.npy", frame)
    found = suspects(read_site(folder.path), drawn)
    assert [step.state for step in found.open_steps if step.step == "suspect"] == ["stale"]
    folder.append(
        f'[[marks]]\nframe = "corner"\nid = "a"\nshape = "{drawn["shape"]}"\npoints = {drawn["points"]}'
    )
    with pytest.raises(ThermalkitError, match=r"mark 'a' lies where thermal/corner\.npy has no temperature"):
        suspects(read_site(folder.path), drawn)


def test_two_frames_of_one_name_and_too_many(command, folder):
    again = '[[frames]]\nid = "{}"\nfile = "thermal/corner.npy"\nsubject = "wall"\nvalues = "apparent"\n'
    folder.append(again.format("corner"))
    done = command("check", folder.path)
    assert (done.code, "Already used by frames[0]" in done.err) == (1, True)
    folder.append("".join(again.format(f"f{n}") for n in range(500)))
    done = command("check", folder.path)
    assert (done.code, "at most 500" in done.err) == (1, True)


def test_a_site_without_frames_has_an_annex(command, folder):
    path = folder.path / "site.toml"
    path.write_text(path.read_text("utf-8").split("[[frames]]")[0], "utf-8")
    assert command("annex", "damp", folder.path, "--unattended").code == 0
