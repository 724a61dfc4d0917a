"""What a kind of question needs before anybody goes out: weather, preparation, things to carry.

An investigation states it in a module or folder `needs` of its own, as `NEEDS`; being there is enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec

from thermalkit.diagnosis.run import kinds, package_of
from thermalkit.language import Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherNeed:
    """Outdoors, in the hour itself and before it.

    Attributes
    ----------
    difference_k : float
        Between indoors and outdoors, now and on the mean of a day before.
    steady_k : float
        How far any hour of the day before may lie from now.
    wind_m_s : float
        At most.
    dry_h, no_sun_h : float
        Hours without rain, and without sun on the surface.
    """

    difference_k: float
    steady_k: float
    wind_m_s: float
    dry_h: float
    no_sun_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One kind of question, what has to be so for it, and what to carry."""

    title: Sentence
    lines: tuple[Sentence, ...]
    carry: tuple[Sentence, ...] = ()
    weather: WeatherNeed | None = None


def needs() -> dict[str, tuple[Need, ...]]:
    """Needs by kind of investigation, of those that state some."""
    names = {kind: f"{package_of(kind)}.needs" for kind in kinds()}
    return {kind: import_module(name).NEEDS for kind, name in names.items() if find_spec(name) is not None}
