"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.imaging.mark import Mark
from thermalkit.physics.conduction import Body, graded_edges_m, steady
from thermalkit.physics.conduction.transient import march
from thermalkit.physics.details.shutter_box import ShutterBox
from thermalkit.scenes import Climate, FlatWall, Options, Scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.heat import true_extra_w_k
from thermalkit.scenes.junctions import Junction
from thermalkit.scenes.logger_files import GERMAN, Dialect, logger_bytes, read_by
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Band, Film

WINTER_TIME = timezone(timedelta(hours=1))
DAYS = 14
BLOCK = (
    layer("plaster", 0.015, 0.57, 1.1),
    layer("block", 0.300, 0.56, 1.4),
    layer("render", 0.020, 0.87, 1.6),
)
MORNING = Climate(
    indoor_degc=20.6,
    stratification_k_m=0.3,
    indoor_humidity=0.46,
    outdoor_mean_degc=-1.5,
    outdoor_swing_k=2.0,
    warmest_hour=14.5,
    hour=7.5,
    sky="overcast",
)
CAMERA = Camera(
    rows=120,
    columns=160,
    field_of_view_deg=(45.0, 34.5),
    noise_k=0.05,
    offset_k=0.9,
    vignetting_k=-0.1,
    drift_k=0.05,
    dead_pixels=1,
)
FREE = Film(open_m2k_w=0.14, sheltered_m2k_w=0.14)
BOX = Scene(
    wall=Junction(
        detail=ShutterBox(
            masonry_mm=300.0, masonry_w_mk=0.56, box_height_mm=250.0, cover_mm=20.0, cover_w_mk=0.15
        ),
        name="empty roller shutter box",
        film=Film(open_m2k_w=0.14, sheltered_m2k_w=0.16, reach_m=0.3),
        sheltered_at_m=0.9,
    ),
    climate=MORNING,
    camera=CAMERA,
    errors=Errors(air_k=0.1, humidity=-0.01, outdoor_k=0.2, contact_k=0.1),
    distance_m=2.2,
    origin=0.72,
    emissivity=0.94,
    reflected_degc=20.3,
    things=(Thing(name="window", box=(94, 120, 0, 160), share=0.3),),
)
BEAM = replace(
    BOX,
    wall=FlatWall(
        layers=BLOCK,
        film=replace(FREE, sheltered_m2k_w=0.17),
        sheltered_at_m=0.25,
        band=Band(name="concrete ring beam", material=CONCRETE, width_m=0.24, first=1, last=1),
        is_level=True,
    ),
    camera=replace(CAMERA, offset_k=0.7),
    distance_m=2.6,
    origin=0.3,
    things=(),
)
PLAIN = replace(
    BOX,
    wall=FlatWall(layers=BLOCK, film=FREE, sheltered_at_m=0.0),
    camera=replace(CAMERA, offset_k=0.8),
    distance_m=2.4,
    origin=0.5,
    things=(),
)
LEAK = (40, 58, 70, 110)  # rows and columns of a gap beside the joist, where a fan draws air in
ATTIC = replace(
    PLAIN,
    wall=replace(BEAM.wall, band=Band(name="timber plate", material=CONCRETE, width_m=0.12, first=1, last=1)),
    origin=0.4,
)
BOX_MARK = Mark(
    frame="rollladen", id="Rollladenkasten", shape="patch", points=((64, 20), (64, 140), (86, 140), (86, 20))
)
BEAM_MARK = Mark(
    frame="ringbalken", id="Ringbalken", shape="patch", points=((27, 20), (27, 140), (45, 140), (45, 20))
)
ABOUT = {
    "site": {
        "name": "Wohnhaus Musterweg 7",
        "reference": "INV-2026-031",
        "surveyed_at": datetime(2026, 1, 15, 7, 10, tzinfo=WINTER_TIME),
        "country": "DE",
        "question": "Wo verliert das Haus Wärme, was droht feucht zu werden, was bringt eine Sanierung? "
        "Gefragt von den Eigentümern vor dem Fenstertausch.",
        "climate_mode": "heating",
    },
    "surveyor": {
        "name": "Kim Beispiel",
        "qualification": "Bausachverständige, Thermografie Stufe 2 (erfunden)",
        "certificate": "INV-TH2-0107",
        "certificate_expires_on": date(2028, 3, 31),
    },
    "report": {"language": "de", "private": False},
    "limits": {"set": "DE-dwelling"},
    "climate": {
        "monthly_air_temperature_degc": [0.6, 1.3, 4.9, 9.2, 13.6, 16.9, 18.7, 18.2, 14.2, 9.5, 4.8, 1.7],
        "monthly_relative_humidity_percent": [85, 81, 76, 70, 70, 71, 71, 73, 78, 82, 86, 87],
        "source": "erfunden, von der Größe eines mitteleuropäischen Klimas",
    },
    "weather": {
        "relative_humidity_percent": 84.0,
        "wind_speed_m_s": 1.2,
        "hours_since_sun": 60.0,
        "hours_since_rain": 40.0,
        "hours_steady": 48.0,
    },
    "instruments": {
        "cam": {"serial": "INV-CAM-9", "calibrated_on": date(2025, 5, 12), "uniformity_k": 0.2},
        "hygro": {"serial": "INV-HYG-31", "calibrated_on": date(2025, 10, 1)},
        "outdoor": {"serial": "INV-HYG-32", "calibrated_on": date(2025, 10, 1), "accuracy_percent_rh": 3.0},
        "probe": {"serial": "INV-TMP-12", "calibrated_on": date(2025, 4, 2)},
        "druck": {"kind": "manometer", "serial": "INV-MAN-2", "calibrated_on": date(2025, 6, 1)},
        "platte": {"kind": "heat_flux_plate", "serial": "INV-HFP-1", "calibrated_on": date(2025, 8, 20)},
        "log": {"kind": "logger", "serial": "INV-LOG-21", "accuracy_k": 0.2},
    },
    "rooms": [
        {
            "id": "wohnen",
            "name": "Wohnzimmer",
            "use": "Wohnraum",
            "floor_area_m2": 24.0,
            "open_flued_appliance": "yes",
        },
        {
            "id": "schlafen",
            "name": "Schlafzimmer",
            "floor_area_m2": 15.0,
            "air_temperature_degc": 20.6,
            "relative_humidity_percent": 46.0,
            "instrument": "hygro",
            "open_flued_appliance": "no",
        },
        {
            "id": "kind",
            "name": "Kinderzimmer",
            "floor_area_m2": 12.0,
            "air_temperature_degc": 20.6,
            "relative_humidity_percent": 46.0,
            "instrument": "hygro",
            "open_flued_appliance": "no",
        },
        {
            "id": "dach",
            "name": "Dachzimmer",
            "floor_area_m2": 18.0,
            "air_temperature_degc": 20.6,
            "relative_humidity_percent": 46.0,
            "instrument": "hygro",
            "open_flued_appliance": "no",
        },
    ],
    "frames": [
        {"room": "wohnen", "orientation": "N", "subject": "opening"},
        {"room": "schlafen", "orientation": "N"},
        {"room": "kind", "orientation": "E"},
        {"room": "dach", "orientation": "N"},
        {"room": "dach", "orientation": "N", "taken_at": datetime(2026, 1, 15, 7, 58, tzinfo=WINTER_TIME)},
    ],
    "pressure": [
        {
            "frame": "dach-unterdruck",
            "same_view_as": "dach",
            "pressure_difference_pa": -48.0,
            "instrument": "druck",
        }
    ],
    "junctions": [
        {
            "frame": "rollladen",
            "mark": "Rollladenkasten",
            "detail": "shutter-box",
            "family": "hollow block 1945 to 1978",
            "known": "masonry_mm = 300, box_height_mm = 250, plaster_mm = 15, cover_mm = 20",
            "unknown": "lining_mm",
            "length_m": 1.6,
            "remarks": "Deckel abgenommen und gemessen; ob innen eine Dämmung klebt, war nicht zu sehen",
        }
    ],
    "heat_flux": [
        {
            "id": "nordwand",
            "room": "kind",
            "place": "Außenwand neben der Tür, 1,2 m hoch",
            "plate": "platte",
            "indoor": "innenluft",
            "outdoor": "aussenluft",
            "plate_accuracy_percent": 4.0,
            "layers": [
                {"material": "gypsum plaster 1300", "thickness_mm": 15.0},
                {"material": "brick inner leaf", "thickness_mm": 300.0},
                {"material": "cement-sand render", "thickness_mm": 20.0},
            ],
        }
    ],
    "loggers": [
        {
            "id": "platte",
            "file": "loggers/platte.csv",
            "place": "surface",
            "room": "kind",
            "instrument": "platte",
            "clock": "+01:00",
        },
        {
            "id": "innenluft",
            "file": "loggers/innen.csv",
            "place": "room",
            "room": "kind",
            "instrument": "log",
            "clock": "+01:00",
        },
        {
            "id": "aussenluft",
            "file": "loggers/aussen.csv",
            "place": "outdoor",
            "instrument": "log",
            "clock": "+01:00",
        },
    ],
    "looked_at": [
        {"room": "wohnen", "element": "Rollladenkasten und Sturz", "looked": "yes"},
        {"room": "dach", "element": "Fußpfette, ohne und mit Gebläse", "looked": "yes"},
        {
            "room": "dach",
            "element": "Kehlbalkenlage",
            "looked": "not possible",
            "why": "verbaut, kein Zugang",
        },
        {"element": "Keller", "looked": "no", "why": "nicht beauftragt"},
    ],
    "costs": {"heat_price_per_kwh": 0.12, "currency": "EUR", "source": "erfunden"},
}
README = """\
# Shutter box

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frames were
calculated from conduction models of the walls and a model of a camera; the photos are drawings. The report is
in German.

## What it is

A house of hollow blocks, about 1960, before its windows are exchanged. Four rooms: an empty roller shutter
box, a concrete ring beam, a sound wall with a heat flux plate on it for a fortnight, and the foot of the roof
with a gap, seen without and with a fan drawing air out of the house.

## What it teaches

- The plate gave its flux with the wrong sign, and the U-value comes out right all the same.
- Measured and calculated agree for a box without lining; the picture alone says that none is in there.
- A fan tells a gap from a plate that conducts: only the gap gets colder.
- What could not be looked at is said, and so is the room in which nothing was found.
- A stove stands in the living room: nothing is sealed, and no fan runs, before that is thought of.

## True answer

| place | temperature factor at 0.25 m²K/W | extra heat flow of the place |
|---|---|---|
| shutter box, coldest spot | {box.factor:.2f} | {box_w_k:.2f} W/K |
| ring beam, coldest spot | {beam.factor:.2f} | {beam_w_k:.2f} W/K |
| wall of the third room, U-value | | {u:.2f} W/(m²K) |

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""
PLATE = Dialect(
    headings={"moment": "Datum/Uhrzeit", "flux": "Wärmestromdichte [W/m²]"},
    moment="%d.%m.%Y %H:%M:%S",
    delimiter=";",
    decimal=",",
    encoding="cp1252",
    line_end="\r\n",
    digits=2,
)


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260115)
    box = replace(seen(BOX, rng, Options(), frame="rollladen"), suspect=BOX_MARK)
    beam = replace(seen(BEAM, rng, Options(), frame="ringbalken"), suspect=BEAM_MARK)
    plain = seen(PLAIN, rng, Options(), frame="kinderzimmer")
    attic = seen(ATTIC, rng, Options(), frame="dach")
    gap = Thing(name="gap", box=LEAK, excess_k=-2.6)
    drawn = seen(replace(ATTIC, things=(gap,)), rng, Options(contact=False), frame="dach-unterdruck")
    readme = README.format(
        box=truth_at(box, box.suspect),
        beam=truth_at(beam, beam.suspect),
        box_w_k=true_extra_w_k(box),
        beam_w_k=true_extra_w_k(beam),
        u=true_u(),
    )
    truth = {
        "transmittance_w_m2k": round(true_u(), 4),
        "leak": {"frame": "dach-unterdruck", "box": LEAK},
        "extra_heat_flow_w_k": {p.suspect.id: round(true_extra_w_k(p), 4) for p in (box, beam)},
    }
    write_site(
        folder,
        [box, beam, plain, attic, drawn],
        about=ABOUT,
        marks=(),
        files=_logged(rng),
        readme=readme,
        truth=truth,
        midnight=datetime(2026, 1, 15, tzinfo=WINTER_TIME),
    )


def true_u() -> float:
    """Resistances of the sound wall in series, with the films really there."""
    return 1.0 / (0.14 + sum(item.resistance_m2k_w for item in BLOCK) + 0.04)


def _logged(rng: np.random.Generator) -> dict[str, bytes]:
    """A fortnight of flux, room and outdoors, the plate glued on the wrong way round."""
    hours = np.arange(24 * DAYS)
    slow = np.cumsum(rng.normal(0.0, 0.12, hours.size))
    outdoor = 0.5 + 2.5 * np.cos(2.0 * np.pi * (hours - 14) / 24.0) + slow - slow.mean()
    indoor = 20.5 + 0.3 * np.cos(2.0 * np.pi * (hours - 19) / 24.0)
    flux = _flux_w_m2(indoor, outdoor)
    start = datetime(2026, 1, 1)
    air = replace(GERMAN, headings={"moment": "Datum/Uhrzeit", "temperature": "Temperatur [°C]"}, digits=2)
    return {
        "loggers/platte.csv": logger_bytes(start, 1.0, {"flux": -read_by(flux, rng, noise=0.4)}, PLATE),
        "loggers/innen.csv": logger_bytes(
            start, 1.0, {"temperature": read_by(indoor, rng, noise=0.03, error=0.05)}, air
        ),
        "loggers/aussen.csv": logger_bytes(
            start, 1.0, {"temperature": read_by(outdoor, rng, noise=0.03, error=-0.1)}, air
        ),
    }


def _flux_w_m2(indoor: np.ndarray, outdoor: np.ndarray) -> np.ndarray:
    """Flux into the inner face of the sound wall, hour by hour."""
    ends = np.concatenate([[0.0], np.cumsum([item.thickness_m for item in BLOCK])])
    body = Body(graded_edges_m(ends, 0.01, 1.3))
    for item, low, high in zip(BLOCK, ends, ends[1:], strict=False):
        body.paint([(low, high)], item.material)
    body.expose(0, "low", "inside")
    body.expose(0, "high", "outside")
    films = {"inside": 0.14, "outside": 0.04}
    start = steady(body, films).at({"inside": float(indoor[0]), "outside": float(outdoor[0])})
    fields = march(start, 3600.0 * np.arange(indoor.size), {"inside": indoor, "outside": outdoor})
    surface = [float(field.surface("inside").temperature_degc.mean()) for field in fields]
    return (indoor - np.array(surface)) / films["inside"]


if __name__ == "__main__":
    make(Path(__file__).parent)
