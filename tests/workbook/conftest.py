"""An invented wall with a cold corner, small enough to be worked in every test."""

from pathlib import Path

import numpy as np
import pytest

SITE_TOML = """\
format = 1

[site]
name = "Invented <b>wall</b>"
reference = "W-1"
surveyed_at = 2026-01-21T08:30:00+00:00
country = "GB"

[weather]
air_temperature_degc = 1.5
relative_humidity_percent = 86.0
hours_since_sun = 14.0
hours_steady = 24.0
instrument = "hygro"

[instruments.cam]
kind = "thermal_camera"
columns = 48
rows = 32
accuracy_k = 2.0
noise_k = 0.05

[instruments.hygro]
kind = "thermohygrometer"
accuracy_k = 0.5
accuracy_percent_rh = 3.0

[[rooms]]
id = "room"
air_temperature_degc = 20.0
relative_humidity_percent = 60.0
instrument = "hygro"

[[frames]]
id = "corner"
file = "thermal/corner.npy"
instrument = "cam"
room = "room"
subject = "wall"
values = "apparent"
taken_at = 2026-01-21T08:41:00+00:00
emissivity = 0.93
reflected_temperature_degc = 20.0
"""


@pytest.fixture(autouse=True)
def _own_user_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is not kept yet is set aside in the folder of a user of the test's own."""
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path / "user"))


@pytest.fixture
def site_folder(tmp_path: Path) -> Path:
    folder = tmp_path / "invented"
    (folder / "thermal").mkdir(parents=True)
    (folder / "site.toml").write_text(SITE_TOML, encoding="utf-8")
    rows, columns = np.mgrid[:32, :48]
    cold = 6.0 * np.exp(-((rows - 24.0) ** 2 + (columns - 8.0) ** 2) / 40.0)
    noise = 0.05 * np.random.default_rng(1).standard_normal((32, 48))
    np.save(folder / "thermal" / "corner.npy", 17.5 - cold + noise)
    return folder
