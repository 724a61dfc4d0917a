"""Cabinets drawn at random, each healthy or with one fault."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes.cabinet_pictures import Cabinet, Glow
from thermalkit.scenes.cabinets import Air, Pole
from thermalkit.scenes.scene import CAMERA_ACCURACY_K

FAULTS = ("connection", "overload", "unbalance", "neutral", "device", "neighbour", "reflection")
CLAMP_SHARE = 0.025  # accuracy of the clamp meter
_DETECTORS = ((240, 320), (320, 240), (160, 120), (120, 160))


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A usual conductor with the device before it: rating, width, heat of one pole at its rating."""

    area_mm2: float
    rated_a: float
    pitch_m: float
    pole_w: float


SIZES = (
    Size(area_mm2=2.5, rated_a=16.0, pitch_m=0.0175, pole_w=2.0),
    Size(area_mm2=6.0, rated_a=32.0, pitch_m=0.0175, pole_w=3.0),
    Size(area_mm2=10.0, rated_a=50.0, pitch_m=0.0175, pole_w=3.8),
    Size(area_mm2=16.0, rated_a=63.0, pitch_m=0.0175, pole_w=4.6),
    Size(area_mm2=35.0, rated_a=125.0, pitch_m=0.027, pole_w=9.0),
    Size(area_mm2=95.0, rated_a=250.0, pitch_m=0.035, pole_w=18.0),
)


def random_cabinet(
    rng: np.random.Generator,
    fault: str | None = None,
    *,
    camera: Camera | None = None,
    size: Size | None = None,
) -> Cabinet:
    """A cabinet with a fault, or a healthy one: "none" or "warm" (fully loaded in warm air).

    A third of those drawn without a fault given are healthy, and two in five of these are warm.
    """
    if fault is None:
        healthy = "warm" if rng.random() < 0.4 else "none"
        fault = healthy if rng.random() < 1.0 / 3.0 else str(rng.choice(FAULTS))
    drawn = SIZES[rng.integers(len(SIZES))]
    size = size or drawn
    per_group = 4 if fault == "neutral" else 3
    count = 8 if fault == "neutral" else 6
    load = rng.uniform(0.85, 0.94) if fault in ("warm", "overload") else rng.uniform(0.5, 0.9)
    joining = float(np.exp(rng.uniform(np.log(0.25), np.log(4.0))))
    poles = tuple(
        _healthy(rng, size, i, load * rng.uniform(0.94, 1.06), per_group, joining) for i in range(count)
    )
    air = Air(
        temperature_degc=rng.uniform(32.0, 38.0) if fault == "warm" else rng.uniform(22.0, 35.0),
        stratification_k_m=rng.uniform(2.0, 10.0),
        fan_w_m2k=rng.uniform(3.0, 8.0) if rng.random() < 0.25 else 0.0,
    )
    room = air.temperature_degc - rng.uniform(2.0, 8.0)
    cabinet = Cabinet(
        poles=poles,
        air=air,
        camera=camera or _camera(rng),
        fault=fault,
        pitch_m=size.pitch_m,
        device_m=0.045 if size.pitch_m < 0.02 else 0.07,
        between_w_k=rng.uniform(0.008, 0.02) * size.pole_w / 2.0,
        emissivity=rng.uniform(0.91, 0.95),
        room_degc=room,
        reflected_degc=room + rng.uniform(0.0, 2.0),
        fan=air.fan_w_m2k > 0.0,
    )
    return _at_distance(rng, _with_fault(rng, cabinet, size, per_group), size)


def _healthy(
    rng: np.random.Generator, size: Size, i: int, load: float, per_group: int, joining: float
) -> Pole:
    """One sound pole: joint of a few millivolts, device within a tenth of its usual loss."""
    names = ("L1", "L2", "L3", "N")
    phase = names[i % per_group]
    share = rng.uniform(0.1, 0.3) if phase == "N" else load
    return Pole(
        id=f"F{i // per_group + 1}.{i % per_group + 1}",
        current_a=float(share * size.rated_a),
        rated_a=size.rated_a,
        area_mm2=size.area_mm2,
        device_ohm=size.pole_w / size.rated_a**2 * rng.uniform(0.93, 1.07),
        joint_ohm=1e-3 * rng.uniform(0.5, 2.5) / size.rated_a,
        to_body_w_k=joining * size.pole_w / 40.0 * rng.uniform(0.9, 1.1),
        body_w_k=size.pole_w / rng.uniform(30.0, 34.0),
        phase=phase,
        group=f"F{i // per_group + 1}",
        bundled=rng.uniform(0.93, 1.0),
    )


def _camera(rng: np.random.Generator) -> Camera:
    rows, columns = _DETECTORS[rng.choice(len(_DETECTORS), p=(0.45, 0.25, 0.2, 0.1))]
    across = rng.uniform(24.0, 45.0)
    return Camera(
        rows=rows,
        columns=columns,
        field_of_view_deg=(across, across * rows / columns),
        noise_k=rng.uniform(0.03, 0.08),
        offset_k=rng.uniform(-CAMERA_ACCURACY_K, CAMERA_ACCURACY_K),
        vignetting_k=rng.uniform(-0.2, 0.1),
        drift_k=rng.uniform(-0.15, 0.15),
        blur_px=rng.uniform(0.5, 0.9),
        dead_pixels=int(rng.integers(3)),
    )


def _at_distance(rng: np.random.Generator, cabinet: Cabinet, size: Size) -> Cabinet:
    """Near enough that a conductor is some pixels wide, far enough that the row fits."""
    outer_m = cabinet.poles[0].wire.outer_diameter_m
    columns = cabinet.camera.columns
    side_m = outer_m / rng.uniform(3.2, 6.0)
    row_m = len(cabinet.poles) * cabinet.pitch_m + 0.024
    side_m = min(max(side_m, row_m / columns, 0.16 / cabinet.camera.rows), outer_m / 3.0)
    angle = np.radians(cabinet.camera.field_of_view_deg[0])
    distance_m = float(columns * side_m / (2.0 * np.tan(angle / 2.0)))
    left_m = max((columns * side_m - row_m) * rng.uniform(0.3, 0.7), 0.0) + 0.012
    return replace(cabinet, distance_m=max(distance_m, 0.1), left_m=float(left_m))


def _with_fault(rng: np.random.Generator, cabinet: Cabinet, size: Size, per_group: int) -> Cabinet:
    fault = cabinet.fault
    if fault in ("none", "warm"):
        return cabinet
    suspect = int(rng.integers(1, per_group)) if fault != "neutral" else per_group - 1
    poles = list(cabinet.poles)
    pole = poles[suspect]
    if fault == "connection":
        flow_w_k = _admittance_w_k(cabinet, suspect)
        poles[suspect] = replace(
            pole, joint_ohm=pole.joint_ohm + rng.uniform(8.0, 45.0) * flow_w_k / pole.current_a**2
        )
    elif fault == "overload" and rng.random() < 0.5:
        above = rng.uniform(1.2, 1.5)
        for i in range(per_group):
            poles[i] = replace(poles[i], current_a=poles[i].current_a * above)
    elif fault == "overload":
        for i in range(suspect, min(suspect + 2, len(poles))):
            poles[i] = replace(poles[i], bundled=rng.uniform(0.28, 0.4))
    elif fault == "unbalance":
        low = rng.uniform(0.30, 0.45) * pole.rated_a
        for i in range(per_group):
            poles[i] = replace(poles[i], current_a=low * rng.uniform(0.95, 1.05))
        poles[suspect] = replace(pole, current_a=pole.rated_a * rng.uniform(0.8, 1.0))
    elif fault == "neutral":
        for i in range(per_group - 1):
            poles[i] = replace(poles[i], current_a=pole.rated_a * rng.uniform(0.55, 0.65))
        poles[suspect] = replace(pole, current_a=pole.rated_a * rng.uniform(0.8, 1.05))
    elif fault == "device":
        poles[suspect] = _hot_inside(rng, cabinet, pole)
    elif fault == "neighbour":
        heater = replace(
            pole,
            id="K1",
            current_a=0.05 * pole.rated_a,
            foreign_w=rng.uniform(45.0, 70.0) * 2.0 * pole.body_w_k,
            group="K1",
        )
        closely = rng.uniform(0.5, 0.9) * pole.body_w_k / cabinet.between_w_k
        cabinet = replace(cabinet, apart=closely)
        poles = [*poles[: suspect + 1], heater, *poles[suspect + 1 : -1]]
    elif fault == "reflection":
        places = (float(suspect), float(suspect + rng.choice([-1.0, 1.0]) * rng.uniform(3.0, 4.0)))
        excess_k = rng.uniform(8.0, 13.0)
        cabinet = replace(
            cabinet, bright=True, glows=tuple(Glow(at_pole=at, excess_k=excess_k) for at in places)
        )
    return replace(cabinet, poles=tuple(poles), suspect=suspect)


def _hot_inside(rng: np.random.Generator, cabinet: Cabinet, pole: Pole) -> Pole:
    extra_w = rng.uniform(14.0, 45.0) * (pole.body_w_k + 2.0 * cabinet.between_w_k)
    return replace(pole, device_ohm=pole.device_ohm + extra_w / pole.current_a**2)


def _admittance_w_k(cabinet: Cabinet, suspect: int) -> float:
    """Heat that a joint has to bring for each kelvin at its terminal."""
    poles = list(cabinet.poles)
    before = cabinet.warmth(poles)
    poles[suspect] = replace(
        poles[suspect], joint_ohm=poles[suspect].joint_ohm + 1.0 / poles[suspect].current_a ** 2
    )
    after = cabinet.warmth(poles)
    return 1.0 / float(after.terminal_degc[suspect] - before.terminal_degc[suspect])
