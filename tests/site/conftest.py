"""An invented site: one cellar, one frame, nobody's home."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

SITE_TOML = """\
format = 1

[site]
name = "Invented cellar"
surveyed_at = 2026-01-21T08:30:00+00:00
country = "GB"

[weather]
air_temperature_degc = 1.5
relative_humidity_percent = 86.0
instrument = "hygro"

[instruments.cam]
kind = "thermal_camera"
columns = 24
rows = 16
accuracy_k = 2.0

[instruments.hygro]
kind = "thermohygrometer"
accuracy_k = 0.5

[instruments.probe]
kind = "contact_thermometer"

[[rooms]]
id = "cellar"
air_temperature_degc = 12.5
relative_humidity_percent = 78.0
instrument = "hygro"

[[frames]]
id = "corner"
file = "thermal/corner.npy"
instrument = "cam"
room = "cellar"
subject = "wall"
values = "apparent"
taken_at = 2026-01-21T08:41:00+00:00
emissivity = 0.93
photo = "photos/corner.png"

[[references]]
frame = "corner"
mark = "sound"
kind = "contact"
temperature_degc = 13.9
instrument = "probe"

[[looked_at]]
room = "cellar"
element = "floor"
looked = "not possible"
why = "stored goods"

[[marks]]
frame = "corner"
id = "sound"
shape = "patch"
points = [[2, 2], [2, 9], [9, 9], [9, 2]]
role = "sound"

[costs]
heat_price_per_kwh = 0.11
currency = "GBP"
"""

READINGS = """\
place,taken_at,quantity,value,unit,instrument,depth_mm,height_mm
cellar,2026-01-21T08:45:00+00:00,relative humidity,78.5,%,hygro,,
cellar,,surface temperature,13.9,degC,probe,,1200
"""


class SiteFolder:
    """A site folder that a test may spoil."""

    def __init__(self, path: Path) -> None:
        self.path = path
        for name in ("thermal", "photos", "loggers", "record"):
            (path / name).mkdir(parents=True)
        self.toml(SITE_TOML)
        self.readings(READINGS)
        self.frame(np.linspace(10.0, 14.0, 16 * 24).reshape(16, 24))
        Image.new("RGB", (40, 30)).save(path / "photos" / "corner.png")

    def toml(self, text: str) -> None:
        (self.path / "site.toml").write_text(text, encoding="utf-8")

    def replace(self, old: str, new: str) -> None:
        text = (self.path / "site.toml").read_text(encoding="utf-8")
        assert old in text
        self.toml(text.replace(old, new, 1))

    def append(self, text: str) -> None:
        self.toml((self.path / "site.toml").read_text(encoding="utf-8") + "\n" + text)

    def readings(self, text: str) -> None:
        (self.path / "readings.csv").write_text(text, encoding="utf-8")

    def frame(self, values: np.ndarray) -> None:
        np.save(self.path / "thermal" / "corner.npy", values)


@pytest.fixture
def folder(tmp_path: Path) -> SiteFolder:
    return SiteFolder(tmp_path / "invented")
