"""Makes this invented site anew: `python make.py`."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes.panel_water import Panel
from thermalkit.scenes.radiator_sites import write_radiators
from thermalkit.scenes.radiators import CONNECTIONS, Finish, RadiatorScene, radiator_seen

CAMERA = Camera(
    rows=120, columns=160, field_of_view_deg=(48.0, 36.0), noise_k=0.06, offset_k=-0.7, drift_k=0.1
)
VALVE = CONNECTIONS["bottom-valve"]
WIDE = ((40.0, 14.0), (38.0, 146.0), (86.0, 146.0), (88.0, 14.0))
LEAN = ((32.0, 24.0), (37.0, 136.0), (83.0, 136.0), (92.0, 24.0))
TALL = ((12.0, 52.0), (13.0, 104.0), (106.0, 104.0), (108.0, 52.0))
CLOCK = timezone(timedelta(hours=1))

# Raum: Name, Fläche, Länge und Höhe in m, Bauart, Wasser zur Auslegung, Raumluft, Ecken.
ROOMS = {
    "wohnen": ("Wohnzimmer", 28.0, 1.8, 0.5, "22", 1.0, 20.4, WIDE),
    "schlafen": ("Schlafzimmer", 15.0, 1.2, 0.6, "22", 0.1, 19.2, LEAN),
    "kind": ("Kinderzimmer", 13.0, 1.2, 0.6, "22", 0.003, 17.1, LEAN),
    "buero": ("Arbeitszimmer", 11.0, 1.0, 0.6, "33", 0.95, 20.1, LEAN),
    "bad": ("Bad", 7.0, 0.6, 1.2, "towel rail", 1.0, 21.8, TALL),
}
RATED_W_M2 = {"22": 2900.0, "33": 4050.0, "towel rail": 800.0}
LOSSES = [
    ("wohnen", "Außenwände", 32.0, 0.24, 1.0),
    ("wohnen", "Fenster", 7.5, 1.0, 1.0),
    ("wohnen", "Boden zum Keller", 28.0, 0.30, 0.5),
    ("schlafen", "Außenwände", 18.0, 0.24, 1.0),
    ("schlafen", "Fenster", 2.4, 1.0, 1.0),
    ("schlafen", "Decke zum Dachraum", 15.0, 0.18, 0.9),
    ("kind", "Außenwände", 17.0, 0.24, 1.0),
    ("kind", "Fenster", 2.2, 1.0, 1.0),
    ("kind", "Decke zum Dachraum", 13.0, 0.18, 0.9),
    ("buero", "Außenwände", 9.0, 0.24, 1.0),
    ("buero", "Fenster", 2.0, 1.0, 1.0),
    ("bad", "Außenwand", 6.0, 0.24, 1.0),
    ("bad", "Fenster", 1.1, 1.0, 1.0),
]
README = """\
# Haus mit Wärmepumpe

An **invented** case, in German: house, people, readings, serial numbers and frames do not exist. The frames
were calculated from a model of water in radiators and a model of a camera; the photos are drawings.

## What it is

Five radiators of a refurbished house in the first winter of a heat pump. The flow is 38 °C, so everything is
only lukewarm, and the owner thinks that hardly any of them works.

## What it teaches

- Lukewarm but even is not broken: at a low flow temperature a radiator that works looks dull.
- A bedroom radiator that is cool at the bottom because its head has throttled is no fault; a child's room
  radiator that stays cold in a cold room is one. The picture alone cannot tell them apart, head and room can.
- Chrome mirrors the room: the towel rail's picture says nothing, two clamp-on readings do.
- Whether the rooms are covered on the design day at 38 °C is a question of size, not of fault.

## True answer

| radiator | truth |
|---|---|
| wohnen | healthy at low temperature |
| schlafen | healthy, its head throttles |
| kind | valve stuck shut |
| buero | healthy at low temperature |
| bad | healthy, chrome |

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def scene(room: str) -> RadiatorScene:
    """One radiator of the house."""
    _, _, length, height, type, share, room_degc, corners = ROOMS[room]
    panel = Panel(
        length_m=length,
        height_m=height,
        rated_w=RATED_W_M2[type] * length * height,
        exponent=1.22 if type == "towel rail" else 1.33,
        connection=VALVE,
        header_pa=4.0,
    )
    fault = {"schlafen": "satisfied", "kind": "shut"}.get(room, "none")
    found = RadiatorScene(
        panel=panel,
        type=type,
        connection="bottom-valve",
        fault=fault,
        flow_degc=37.8,
        room_degc=room_degc,
        design_drop_k=5.0,
        flow_share=share,
        camera=CAMERA,
        corners=corners,
        setpoint_degc=room_degc - 0.8 if room == "schlafen" else room_degc + 1.5,
        outdoor_degc=-1.5,
        reflected_degc=room_degc - 0.3,
        channels=30,
        window=room in ("wohnen", "kind"),
    )
    if room == "bad":
        return replace(found, finish=Finish(name="chrome", emissivity=0.12), ripple=0.12)
    return found


def about(seen: list) -> dict:
    """What else was written down."""
    serials = {"cam": "ERF-KAM-2", "hygro": "ERF-HYG-5", "clamp": "ERF-ANL-1"}
    return {
        "site": {
            "name": "Wohnhaus, Musterweg 12",
            "reference": "ERF-2026-044",
            "surveyed_at": datetime(2026, 1, 28, 9, 30, tzinfo=CLOCK),
            "country": "DE",
            "question": "Die Heizkörper werden kaum warm, seit die Wärmepumpe läuft. Sind sie in Ordnung, "
            "und reichen sie? Gefragt von der Eigentümerin.",
        },
        "surveyor": {"name": "Kim Muster", "qualification": "Energieberatung (erfunden)"},
        "report": {"language": "de"},
        "climate": {"design_winter_temperature_degc": -10.0, "source": "erfunden"},
        "weather": {"air_temperature_degc": -1.5, "hours_steady": 24.0},
        "instruments": {
            name: {"serial": serial, "calibrated_on": date(2025, 10, 6)} for name, serial in serials.items()
        },
        "heating": {
            "source": "heat pump",
            "flow_degc": 38.0,
            "design_flow_degc": 45.0,
            "design_return_degc": 39.0,
            "planned_flow_degc": 38.0,
            "pipes": "two-pipe",
        },
        "rooms": [
            {
                "name": ROOMS[picture.frame][0],
                "floor_area_m2": ROOMS[picture.frame][1],
                "volume_m3": round(2.5 * ROOMS[picture.frame][1], 1),
                **({"relative_humidity_percent": 52.0} if picture.frame == "bad" else {}),
            }
            for picture in seen
        ],
        "radiators": [entry(picture) for picture in seen],
        "heat_losses": [
            {"room": room, "element": what, "area_m2": area, "transmittance_w_m2k": u, "share": share}
            for room, what, area, u, share in LOSSES
        ],
    }


def entry(picture) -> dict:
    """What was written down at a radiator; pipes were read where the picture tells little."""
    room = picture.frame
    throttles = room == "schlafen"
    written = {
        "head": "throttling" if throttles else "open",
        "warmer_than_set": "yes" if throttles else "no",
        "minutes_steady": 120.0,
        "connection": "bottom-valve",
        "on_outer_wall": "yes" if room in ("wohnen", "kind") else "no",
        "flow_degc": None,
        "return_degc": None,
        "instrument": None,
    }
    if room in ("bad", "kind", "buero"):
        flow = 36.9 if room != "kind" else 31.2
        written |= {
            "flow_degc": flow,
            "return_degc": round(picture.state.return_degc - 0.3, 1),
            "instrument": "clamp",
        }
    if room in ("wohnen", "kind"):
        written |= {"wall_transmittance_w_m2k": 0.24}
    return written


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260128)
    seen = [radiator_seen(scene(room), rng, frame=room, name=room) for room in ROOMS]
    midnight = datetime(2026, 1, 28, tzinfo=CLOCK)
    write_radiators(folder, seen, about=about(seen), readme=README, midnight=midnight, hour=9.7)


if __name__ == "__main__":
    make(Path(__file__).parent)
