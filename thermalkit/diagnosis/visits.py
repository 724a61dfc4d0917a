"""What two visits to one building have in common, and what they have not.

Only what is the same on both days is drawn once and so cancels in a change:

- the error of a thermometer or hygrometer: the same serial number, not calibrated in between;
- the emissivity of a surface: the same frame with the same value written down, the inner face not renewed;
- the limit, which is that of the later visit.

Nearly the same, drawn with a correlation of 0.8, is the surface film at a place: the same frame, nothing
moved away before it on either day, the inner face not renewed. Its larger part (how sheltered the place is,
what it radiates to) stays; the air's movement follows the temperature difference of the day, which moves the
whole film by some 15 % (h_c goes with the cube root of the difference; the correlation is an own estimate).

Everything else is drawn anew for each visit. That includes the camera: its stated accuracy covers both what
stays (calibration) and what changes from day to day (drift with the temperature of its body, every
correction by its shutter), no data sheet says how much is which, and a share that was claimed without proof
would make a change look surer than it is. A reading by contact is drawn anew too: its stated accuracy
covers how the probe was pressed on. So are reflected temperature, daily swing, sun, and how a wall passes
the swing on, which a cure may have changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from thermalkit.site.sections.elements import ElementKeys

if TYPE_CHECKING:
    from thermalkit.site.survey import Site, SurveyFrame

_OF_AN_INSTRUMENT = ("air-temperature-accuracy", "relative-humidity-accuracy", "outdoor-air-accuracy")
_READ_AIR = ("thermohygrometer", "logger")
ALIKE_K = 2.0  # own choice: what two visits may differ in air temperature and still compare by degrees


def shared_inputs(new: Site, old: Site) -> tuple[str, ...]:
    """Names of the random inputs, or their first words, that are the same on both visits."""
    surfaces = (
        f"emissivity {name}" for name, now, then in _same_surfaces(new, old) if _finish(now) == _finish(then)
    )
    return (*_instruments(new, old), *surfaces)


def alike_inputs(new: Site, old: Site) -> tuple[str, ...]:
    """Names of those that are nearly the same."""
    return tuple(
        f"film {name}"
        for name, now, then in _same_surfaces(new, old)
        if now.keys.uncovered_at is None and then.keys.uncovered_at is None
    )


def _instruments(new: Site, old: Site) -> Iterator[str]:
    for name, keys in new.keys.instruments.items():
        then = old.keys.instruments.get(name)
        if then is None or keys.kind not in _READ_AIR or keys.serial is None or keys.serial != then.serial:
            continue
        if keys.calibrated_on == then.calibrated_on:
            yield from (f"{group} {name}" for group in _OF_AN_INSTRUMENT)


def _same_surfaces(new: Site, old: Site) -> Iterator[tuple[str, SurveyFrame, SurveyFrame]]:
    """Frames of that name on both visits whose surface is still the same."""
    for name, now in new.frames.items():
        then = old.frames.get(name)
        if then is not None and not is_renewed(new, old, now.keys.room):
            yield name, now, then


def _finish(frame: SurveyFrame) -> tuple[object, ...]:
    return frame.keys.room, frame.keys.values == "surface", frame.keys.emissivity


def is_renewed(new: Site, old: Site, room: str | None) -> bool:
    """Whether the inner face of a room's elements was written down differently on the two visits.

    That is their first layer, or the words for their construction where no layers are known.
    """
    now, then = (
        {element.id: element for element in site.sections(ElementKeys) if element.room == room}
        for site in (new, old)
    )
    return any(_face(now[id]) != _face(then[id]) for id in now.keys() & then.keys())


def _face(element: ElementKeys) -> object:
    return element.layers[0] if element.layers else element.construction


def is_weather_alike(new: Site, old: Site, room: str | None) -> bool:
    """Whether degrees may be compared: outdoor and room air within 2 K, the same sky, no sun just before.

    What was not written down on either visit is not alike.
    """
    now, then = new.keys.weather, old.keys.weather
    pairs = [
        (now.air_temperature_degc, then.air_temperature_degc),
        (_room_degc(new, room), _room_degc(old, room)),
    ]
    if now.mean_24h_air_temperature_degc is not None or then.mean_24h_air_temperature_degc is not None:
        pairs.append((now.mean_24h_air_temperature_degc, then.mean_24h_air_temperature_degc))
    is_near = all(a is not None and b is not None and abs(a - b) <= ALIKE_K for a, b in pairs)
    in_shade = all(w.hours_since_sun is None or w.hours_since_sun >= _SUN_GONE_H for w in (now, then))
    return is_near and in_shade and now.sky is not None and now.sky == then.sky


_SUN_GONE_H = 12.0  # EN 13187, from memory


def _room_degc(site: Site, room: str | None) -> float | None:
    return next((item.air_temperature_degc for item in site.keys.rooms if item.id == room), None)
