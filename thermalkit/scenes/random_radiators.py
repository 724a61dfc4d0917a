"""Radiators drawn at random: faults, pipes, finishes, views, furniture and cameras vary."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes.panel_water import Connection, Deposit, Panel
from thermalkit.scenes.radiators import CONNECTIONS, Fault, Finish, Quad, RadiatorScene, other_side
from thermalkit.scenes.scene import CAMERA_ACCURACY_K

FAULTS: tuple[Fault, ...] = ("air", "deposit", "starved", "shut", "satisfied", "swapped")
# Output per m² of front at 75/65/20 and exponent: usual steel panels.
_TYPES = {"11": (1600.0, 1.30), "21": (2200.0, 1.32), "22": (2850.0, 1.33), "33": (4000.0, 1.34)}


def random_radiator(rng: np.random.Generator, fault: Fault | None = None) -> RadiatorScene:
    """A plausible radiator; without a fault given, a third are healthy, half of those throttled or cool.

    Fault sizes, pipes, finishes, views, furniture and cameras vary.
    """
    if fault is None:
        fault = "none" if rng.random() < 1.0 / 3.0 else FAULTS[rng.integers(len(FAULTS))]
    is_special = fault == "none" and rng.random() < 0.5
    is_low = (is_special and rng.random() < 0.5) or (fault != "none" and rng.random() < 0.2)
    connection = _random_connection(rng, fault)
    room = rng.uniform(17.0, 22.5)
    camera = _random_camera(rng)
    height, length = rng.choice([0.3, 0.4, 0.5, 0.6, 0.6, 0.9]), rng.uniform(0.5, 1.8)
    type = str(rng.choice(list(_TYPES)))
    per_m2, exponent = _TYPES[type]
    panel = Panel(
        length_m=length,
        height_m=height,
        rated_w=per_m2 * rng.uniform(0.88, 1.12) * length * height,
        exponent=exponent + rng.uniform(-0.03, 0.03),
        connection=_mirrored_or_not(CONNECTIONS[connection], rng),
        channel_pa=rng.uniform(8.0, 30.0),
        header_pa=rng.uniform(3.0, 12.0),
    )
    scene = RadiatorScene(
        panel=panel,
        type=type,
        connection=connection,
        fault=fault,
        flow_degc=rng.uniform(35.0, 45.0) if is_low else rng.uniform(48.0, 72.0),
        room_degc=room,
        design_drop_k=rng.uniform(3.0, 6.0) if is_low else rng.uniform(6.0, 15.0),
        flow_share=rng.uniform(0.7, 1.6),
        camera=camera,
        corners=_random_corners(rng, camera, length / height),
        setpoint_degc=room + rng.uniform(0.7, 2.5),
        outdoor_degc=rng.uniform(-8.0, 9.0),
        finish=_random_finish(rng),
        reflected_degc=room + rng.uniform(-1.5, 1.0),
        mirrored_k=rng.uniform(3.0, 9.0) if rng.random() < 0.2 else 0.0,
        below_water=rng.uniform(0.01, 0.05),
        ripple=rng.uniform(0.0, 0.03),
        channels=round(length / 0.0333),
        window=bool(rng.random() < 0.4),
    )
    scene = _with_fault(scene, rng, is_throttled=is_special and not is_low)
    if rng.random() < 0.3:
        scene = replace(scene, furniture=_random_furniture(rng, scene))
    return scene


def _with_fault(scene: RadiatorScene, rng: np.random.Generator, *, is_throttled: bool) -> RadiatorScene:
    panel, fault = scene.panel, scene.fault
    if fault == "air":
        depth = rng.uniform(0.10, 0.35)
        panel = replace(panel, air_depth=depth, tilt=rng.uniform(-0.08, 0.08))
    elif fault == "deposit":
        heap = Deposit(
            middle=rng.uniform(0.38, 0.62), half_width=rng.uniform(0.18, 0.38), height=rng.uniform(0.14, 0.40)
        )
        panel = replace(panel, deposits=(heap,))
    elif fault == "swapped":
        panel = replace(panel, connection=(panel.connection[1], panel.connection[0]))
    elif fault == "starved":
        scene = replace(scene, flow_share=rng.uniform(0.06, 0.22))
    elif fault == "shut":
        scene = replace(scene, flow_share=rng.uniform(0.001, 0.006))
    elif fault == "satisfied":
        shut = rng.random() < 0.5
        share = rng.uniform(0.001, 0.006) if shut else rng.uniform(0.06, 0.25)
        scene = replace(scene, flow_share=share)
    if is_throttled:
        scene = replace(scene, flow_share=rng.uniform(0.12, 0.6), is_throttled=True)
    if is_throttled or fault == "satisfied":
        scene = replace(scene, setpoint_degc=scene.room_degc - rng.uniform(0.2, 2.0))
    return replace(scene, panel=panel)


def _random_connection(rng: np.random.Generator, fault: Fault) -> str:
    names = list(CONNECTIONS)
    shares = np.array([0.3, 0.3, 0.25, 0.15])
    if fault == "swapped":
        # From bottom to bottom it makes no visible difference.
        shares[2] = 0.0
    return str(rng.choice(names, p=shares / shares.sum()))


def _mirrored_or_not(connection: Connection, rng: np.random.Generator) -> Connection:
    return other_side(connection) if rng.random() < 0.5 else connection


def _random_camera(rng: np.random.Generator) -> Camera:
    rows, columns = (120, 160) if rng.random() < 0.7 else (240, 320)
    return Camera(
        rows=rows,
        columns=columns,
        field_of_view_deg=(48.0, 48.0 * rows / columns),
        noise_k=rng.uniform(0.04, 0.12),
        offset_k=rng.uniform(-CAMERA_ACCURACY_K, CAMERA_ACCURACY_K),
        vignetting_k=rng.uniform(-0.4, 0.1),
        drift_k=rng.uniform(-0.2, 0.2),
        blur_px=rng.uniform(0.5, 1.1),
        dead_pixels=int(rng.integers(3)),
    )


def _random_corners(rng: np.random.Generator, camera: Camera, ratio: float) -> Quad:
    """Fills half to nearly all of the frame, seen a little from the side; one in ten runs out of it."""
    rows, columns = camera.rows, camera.columns
    width = columns * rng.uniform(0.5, 0.92)
    height = width / ratio * rng.uniform(0.95, 1.05)
    if height > 0.85 * rows:
        width, height = width * 0.85 * rows / height, 0.85 * rows
    centre_row = rows / 2.0 + rng.uniform(-0.5, 0.5) * (0.9 * rows - height)
    centre_column = columns / 2.0 + rng.uniform(-0.5, 0.5) * (0.95 * columns - width)
    if rng.random() < 0.1:
        into = width * rng.uniform(0.25, 0.45)
        centre_column = into if rng.random() < 0.5 else columns - into
    lean, roll = rng.uniform(-0.12, 0.12), rng.uniform(-0.03, 0.03)
    corners = []
    for down, along in ((-0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.5, -0.5)):
        side = 1.0 + 2.0 * lean * along
        row = centre_row + down * height * side + along * width * roll
        corners.append((float(row), float(centre_column + along * width)))
    return tuple(corners)


def _random_finish(rng: np.random.Generator) -> Finish:
    if rng.random() < 0.06:
        return Finish(name="metallic-paint", emissivity=rng.uniform(0.45, 0.7))
    return Finish(name="paint", emissivity=rng.uniform(0.90, 0.96))


def _random_furniture(rng: np.random.Generator, scene: RadiatorScene) -> tuple[int, int, int, int]:
    """Something in front of a corner or of the lower edge, less than a third of the front."""
    corners = np.clip(np.asarray(scene.corners), 0, np.subtract(scene.shape, 1))
    top, left = corners.min(axis=0)
    below, right = corners.max(axis=0)
    share_down, share_across = rng.uniform(0.15, 0.4), rng.uniform(0.2, 0.6)
    first = left + (right - left) * rng.uniform(-0.1, 1.0 - share_across)
    return (
        int(below - (below - top) * share_down),
        scene.shape[0],
        int(max(first, 0)),
        int(min(first + (right - left) * share_across, scene.shape[1])),
    )
