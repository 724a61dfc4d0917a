"""The invented surveyor of several sample sites, what is in the bag, and a climate."""

from __future__ import annotations

from datetime import date
from typing import Any

_CHECKED = date(2025, 9, 15)

SURVEYOR = {
    "name": "Sam Sample",
    "qualification": "Building surveyor, thermography level 2 (invented)",
    "certificate": "INV-TH2-0042",
    "certificate_expires_on": date(2028, 5, 31),
}
LOWLAND_ENGLAND = {
    "design_winter_temperature_degc": -3.0,
    "monthly_air_temperature_degc": [4.2, 4.3, 6.2, 8.5, 11.6, 14.6, 16.5, 16.3, 13.9, 10.5, 7.0, 4.8],
    "monthly_relative_humidity_percent": [86, 83, 80, 77, 75, 75, 76, 77, 80, 84, 86, 87],
    "source": "invented, of the order of lowland England",
}
HEAT_PRICE = {"heat_price_per_kwh": 0.09, "currency": "GBP", "source": "invented"}
_BAG: dict[str, dict[str, Any]] = {
    "cam": {"serial": "INV-CAM-1", "calibrated_on": date(2025, 6, 2), "uniformity_k": 0.2},
    "hygro": {"serial": "INV-HYG-7", "calibrated_on": _CHECKED},
    "outdoor": {"serial": "INV-HYG-8", "calibrated_on": _CHECKED, "accuracy_percent_rh": 3.0},
    "probe": {"serial": "INV-TMP-3", "calibrated_on": date(2025, 4, 10)},
    "meter": {
        "kind": "moisture_meter",
        "serial": "INV-MOI-2",
        "calibrated_on": _CHECKED,
        "accuracy_percent": 10.0,
    },
    "log-room": {
        "kind": "logger",
        "serial": "INV-LOG-1",
        "calibrated_on": _CHECKED,
        "accuracy_k": 0.3,
        "accuracy_percent_rh": 3.0,
    },
    "log-wall": {"kind": "logger", "serial": "INV-LOG-2", "calibrated_on": _CHECKED, "accuracy_k": 0.3},
}


def carried(*further: str) -> dict[str, dict[str, Any]]:
    """Instruments of a visit by name: camera, hygrometers, contact thermometer, and what else was taken."""
    return {name: dict(_BAG[name]) for name in ("cam", "hygro", "outdoor", "probe", *further)}
