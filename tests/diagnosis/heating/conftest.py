"""Invented radiators as checked sites, without a disk between."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.heating.radiators.patterns import Pattern
from thermalkit.diagnosis.heating.radiators.subject import radiators
from thermalkit.diagnosis.heating.radiators.weighed import named, proposed, weighed
from thermalkit.imaging.frame import mask_dead_pixels
from thermalkit.measured import Draws
from thermalkit.scenes.radiator_sites import radiator_tables
from thermalkit.scenes.radiators import Finish, RadiatorSeen, panel_places, radiator_seen, without_fault
from thermalkit.scenes.random_radiators import random_radiator
from thermalkit.scenes.write import MIDNIGHT
from thermalkit.site.sections import site_model
from thermalkit.site.survey import Site, SurveyFrame

LEAST_EFFECT, LEAST_EFFECT_K = 0.10, 2.0
LITTLE_LEFT = 0.38


def site_of(pictures, **more):
    """The site that `write_radiators` would write and the door would read."""
    tables = radiator_tables(pictures, True, MIDNIGHT) | more
    keys = site_model().model_validate(tables)
    frames = {
        frame.id: SurveyFrame(
            keys=frame,
            camera=keys.instruments["cam"],
            room=room,
            apparent_degc=mask_dead_pixels(picture.apparent_degc)[0],
            pixel_scale=1.0,
            path=frame.file,
            photo=None,
        )
        for frame, room, picture in zip(keys.frames, keys.rooms, pictures, strict=True)
    }
    empty = {"readings": (), "loggers": {}, "files": {}, "notes": ()}
    return Site(folder=Path("invented"), keys=keys, frames=frames, **empty)


def case_of(pictures, size=2000, **more):
    """A case whose outlines are drawn and whose questions are answered from pictures and notes."""
    case = Case(site=site_of(pictures, **more), draws=Draws(size))
    case.decided = {
        "frames": tuple(picture.frame for picture in pictures),
        "radiator": tuple(picture.outline for picture in pictures),
        "hidden": tuple(mark for picture in pictures for mark in picture.hidden),
    }
    case.decided["answers"] = proposed(case)
    return case


@dataclass(frozen=True)
class Told:
    """What a radiator was said to be, whether that could be told, and what it is."""

    seed: int
    picture: RadiatorSeen
    name: str
    separable: bool

    @property
    def fault(self):
        return self.picture.scene.fault

    @property
    def is_right(self):
        scene = self.picture.scene
        if scene.fault == "none":
            return self.name in (("nothing", "satisfied") if scene.is_throttled else ("nothing",))
        return self.name == scene.fault


def told(seed, fault=None):
    """A fresh radiator, judged."""
    rng = np.random.default_rng([20260125, seed])
    picture = radiator_seen(random_radiator(rng, fault), rng)
    case = case_of([picture], size=200)
    (item,) = radiators(case)
    return Told(seed=seed, picture=picture, name=named(weighed(case, item)), separable=is_separable(picture))


def is_separable(picture):
    """Whether somebody who knew everything of the picture and the notes could tell.

    The demand of the room must have been asked for where it decides; air, deposits and swapped pipes must
    change the visible front by more than the camera and small models miss; little water must cool far.
    """
    scene, notes = picture.scene, picture.notes
    if scene.finish.emissivity < 0.5:
        return False
    asked = notes.head != "unknown" or notes.warmer_than_set != "unknown"
    if scene.fault in ("starved", "satisfied") or scene.is_throttled:
        excess = picture.state.cells_degc - scene.room_degc
        left = (picture.state.return_degc - scene.room_degc) / (scene.flow_degc - scene.room_degc)
        is_clear = left < LITTLE_LEFT or scene.is_throttled
        return asked and (is_clear or excess.mean() < 2.5)
    if scene.fault == "shut":
        return asked
    if scene.fault == "none":
        return True
    if scene.fault == "swapped" and notes.connection == "unknown":
        return False
    return effect_k(picture) > max(LEAST_EFFECT * (scene.flow_degc - scene.room_degc), LEAST_EFFECT_K)


def effect_k(picture):
    """Root mean square by which a fault changes the visible front."""
    scene = picture.scene
    sound = replace(without_fault(scene), flow_share=scene.flow_share)
    other = radiator_seen(sound, np.random.default_rng(0))
    along, down = panel_places(scene)
    seen = (along > 0.03) & (along < 0.97) & (down > 0.05) & (down < 0.95)
    if scene.furniture is not None:
        top, below, left, right = scene.furniture
        seen[top:below, left:right] = False
    return float(np.sqrt(np.mean((other.true_surface_degc - picture.true_surface_degc)[seen] ** 2)))


@pytest.fixture(name="told")
def told_of():
    """Judge a fresh radiator by its seed."""
    return told


@pytest.fixture(name="case_of")
def case_of_pictures():
    """A case of pictures of radiators."""
    return case_of


@pytest.fixture
def plain():
    """A case of one ordinary radiator on white paint; keys of its entry and scene can be replaced."""

    def made(*, scene=None, size=4000, fault="none", seed=8, tables=None, **entry):
        rng = np.random.default_rng(seed)
        usual = {
            "flow_share": 1.0,
            "furniture": None,
            "flow_degc": 60.0,
            "room_degc": 20.0,
            "setpoint_degc": 22.0,
            "finish": Finish(),
            "is_throttled": False,
        }
        drawn = random_radiator(rng, fault)
        if fault != "none":
            usual["flow_share"] = drawn.flow_share
        drawn = replace(drawn, **(usual | (scene or {})))
        picture = radiator_seen(drawn, rng)
        written = radiator_tables([picture], True, MIDNIGHT)["radiators"][0]
        for key in ("flow_degc", "return_degc", "instrument"):
            written.pop(key, None)
        return case_of([picture], size, radiators=[written | entry], **(tables or {})), picture

    return made


@pytest.fixture
def without_patterns(monkeypatch):
    """The water's path is not looked at, which takes most of the time."""
    unseen = Pattern(outcome="unclear", fits={}, entering_k=40.0, left_share=None)
    monkeypatch.setattr("thermalkit.diagnosis.heating.radiators.reading._pattern_of", lambda _: unseen)
