"""An invented site to spoil, and the command run upon it."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from thermalkit import cli

SITE_TOML = """\
format = 1

[site]
name = "Invented cellar"
surveyed_at = 2026-01-21T08:30:00+00:00
country = "GB"

[weather]
air_temperature_degc = 1.5
relative_humidity_percent = 86.0

[instruments.cam]
kind = "thermal_camera"
accuracy_k = 2.0

[instruments.hygro]
kind = "thermohygrometer"
accuracy_k = 0.5

[[rooms]]
id = "cellar"
air_temperature_degc = 18.5
relative_humidity_percent = 68.0
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

[[loggers]]
id = "cellar"
file = "loggers/cellar.csv"
place = "room"
room = "cellar"
clock = "UTC"
"""
READINGS = """\
place,taken_at,quantity,value,unit,instrument,depth_mm,height_mm
cellar,2026-01-21T08:45:00+00:00,relative humidity,67.5,%,hygro,,
"""
LOGGER = "Date/Time,Temperature (°C),RH (%)\n" + "".join(
    f"2026-01-{20 + hour // 24:02d} {hour % 24:02d}:00,{18 + hour % 7 / 10:.1f},{66 + hour % 5}.0\n"
    for hour in range(48)
)
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


class Folder:
    """A site folder that a test may spoil."""

    def __init__(self, path: Path) -> None:
        self.path = path
        for name in ("thermal", "photos", "loggers", "record"):
            (path / name).mkdir(parents=True)
        rows, columns = np.mgrid[:32, :48]
        cold = 6.0 * np.exp(-((rows - 24.0) ** 2 + (columns - 8.0) ** 2) / 40.0)
        np.save(path / "thermal" / "corner.npy", 15.5 - cold)
        Image.new("RGB", (40, 30), "grey").save(path / "photos" / "corner.png")
        (path / "site.toml").write_text(SITE_TOML, encoding="utf-8")
        (path / "readings.csv").write_text(READINGS, encoding="utf-8")
        (path / "loggers" / "cellar.csv").write_text(LOGGER, encoding="utf-8")

    def replace(self, old: str, new: str) -> None:
        text = (self.path / "site.toml").read_text(encoding="utf-8")
        assert old in text
        (self.path / "site.toml").write_text(text.replace(old, new), encoding="utf-8")

    def append(self, text: str) -> None:
        with (self.path / "site.toml").open("a", encoding="utf-8") as stream:
            stream.write("\n" + text)

    def listing(self) -> list[str]:
        return sorted(str(path.relative_to(self.path)) for path in self.path.rglob("*"))


@dataclass(frozen=True)
class Done:
    """How a command ended."""

    code: int
    out: str
    err: str


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path / "site")


@pytest.fixture
def command(monkeypatch, capsys):
    """Run the command in this process; it never sends a control character, nor a traceback."""

    def run(*arguments: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["thermalkit", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        shown = capsys.readouterr()
        for text in (shown.out, shown.err):
            assert not _CONTROL.search(text)
            assert "Traceback" not in text
        return Done(code=ended.value.code, out=shown.out, err=shown.err)

    return run
