"""An invented dwelling with two cold corners, as a site folder; nobody's home."""

import json
from datetime import UTC, datetime

import numpy as np
from PIL import Image

SITE = """\
format = 1
[site]
name = "Invented terrace 4"
reference = "X-26-007"
surveyed_at = 2026-01-21T08:30:00+00:00
country = "GB"
question = "Asked by the invented owner: where does the musty smell come from?"
[surveyor]
name = "Robin Invented"
qualification = "building surveyor"
certificate = "level 2, no. L2-5417"
certificate_expires_on = 2027-05-31
[report]
language = "en"
[weather]
air_temperature_degc = 1.5
mean_24h_air_temperature_degc = 2.1
relative_humidity_percent = 86.0
wind_speed_m_s = 1.2
sky = "overcast"
hours_since_sun = 14.0
hours_since_rain = 20.0
hours_steady = 12.0
instrument = "hygro"
[instruments.cam]
kind = "thermal_camera"
serial = "CAM-0001"
calibrated_on = 2025-06-01
columns = 320
rows = 240
accuracy_k = 2.0
accuracy_percent = 2.0
noise_k = 0.05
[instruments.hygro]
kind = "thermohygrometer"
serial = "HY-22"
accuracy_k = 0.5
accuracy_percent_rh = 3.0
[instruments.probe]
kind = "contact_thermometer"
accuracy_k = 0.3
[[rooms]]
id = "bedroom"
name = "Rear bedroom"
air_temperature_degc = 18.5
relative_humidity_percent = 62.0
instrument = "hygro"
[[rooms]]
id = "cellar"
name = "Cellar store"
air_temperature_degc = 12.5
relative_humidity_percent = 74.0
instrument = "hygro"
open_flued_appliance = "no"
[[frames]]
id = "bedroom-corner"
file = "thermal/bedroom.npy"
instrument = "cam"
room = "bedroom"
subject = "wall"
values = "apparent"
taken_at = 2026-01-21T08:41:00+00:00
emissivity = 0.93
reflected_temperature_degc = 18.0
photo = "photos/bedroom.jpg"
[[frames]]
id = "cellar-wall"
file = "thermal/cellar.npy"
instrument = "cam"
room = "cellar"
subject = "wall"
values = "apparent"
taken_at = 2026-01-21T08:55:00+00:00
photo = "photos/cellar.jpg"
[[references]]
frame = "bedroom-corner"
mark = "sound"
kind = "contact"
temperature_degc = 16.4
instrument = "probe"
[[looked_at]]
room = "bedroom"
element = "outer wall behind the wardrobe"
looked = "yes"
[[looked_at]]
element = "eaves"
looked = "not possible"
why = "stored goods"
[[marks]]
frame = "bedroom-corner"
id = "corner"
shape = "patch"
points = [[150, 20], [225, 20], [225, 80], [150, 80]]
[[marks]]
frame = "bedroom-corner"
id = "window reveal"
shape = "trace"
points = [[40, 250], [120, 252]]
[[marks]]
frame = "bedroom-corner"
id = "sound"
shape = "patch"
points = [[60, 120], [120, 120], [120, 200], [60, 200]]
role = "sound"
"""


def write_site(folder):
    """Write the site folder; frames of 320 x 240 and photos of 1600 x 1200 with position and owner."""
    for name in ("thermal", "photos", "record"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    for i, (name, warm, cold) in enumerate((("bedroom", 16.6, 9.5), ("cellar", 11.6, 7.4))):
        np.save(folder / "thermal" / f"{name}.npy", _wall(warm, cold, i))
        _photo(folder / "photos" / f"{name}.jpg", i)
    return folder


def _wall(warm, cold, seed):
    row, column = np.mgrid[0:240, 0:320]
    corner = np.exp(-((row - 230) ** 2 + (column - 15) ** 2) / (2 * 70.0**2))
    reveal = 0.5 * np.exp(-((column - 251) ** 2) / (2 * 8.0**2)) * (row < 130)
    noise = np.random.default_rng(seed).normal(0.0, 0.05, row.shape)
    return (warm - (warm - cold) * np.clip(corner + reveal, 0, 1) + noise).astype(np.float32)


def _photo(path, seed):
    rng = np.random.default_rng(seed)
    small = rng.integers(120, 210, (12, 16, 3), dtype=np.uint8)
    photo = Image.fromarray(small).resize((1600, 1200), Image.Resampling.BICUBIC)
    exif = Image.Exif()
    exif[0x013B] = "Owner Invented"
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    photo.save(path, exif=exif, comment=b"serial 4711")


def entries(kind, site, *, steps=None, by="Robin Invented"):
    """A record in which every proposal was kept, the first one after a change of mind."""
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.diagnosis.run import Answer, walk
    from thermalkit.record.store import read_record, with_decision

    record = read_record(site.folder, kind)

    def answer(step, propose, inputs):
        nonlocal record
        proposal = propose()
        if steps is not None and step.name not in steps:
            return Answer(value=proposal, state="missing")
        at = datetime(2026, 1, 22, 10, len(record.entries), tzinfo=UTC)
        if not record.entries:
            first = json.loads(json.dumps(proposal))[:1]
            record = with_decision(
                record, step, first, proposed=proposal, inputs=inputs, by=by, at=at, reason="only this one"
            )
        record = with_decision(record, step, proposal, proposed=proposal, inputs=inputs, by=by, at=at)
        return Answer(value=proposal, state="decided")

    walk(kind, Case(site=site), answer)
    return record
