"""What a picture and pipe readings say of one radiator, as draws."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.heating.radiators.front import Front, front
from thermalkit.diagnosis.heating.radiators.patterns import Pattern, pattern
from thermalkit.diagnosis.heating.radiators.subject import Radiator, types
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.surface import View, spot_apparent_degc, view
from thermalkit.diagnosis.surroundings import half_width, room_air
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray
from thermalkit.physics.emitters import excess_k, output_share, standard_ratio

LEVELS = 8
SETTLED_MINUTES = 45.0
LOWEST_EMISSIVITY = 0.5
PAINTED_FROM = 0.8
EVEN = ("even", "cold-bottom")
LEAST_DROP_K = 0.5
_MOST_DROP_K = 110.0
LEAST_EXCESS_K = 0.5
_TOP, _BOTTOM = (1.0 / 12.0, 0.25), (0.75, 11.0 / 12.0)
_WARMEST = 0.9
_MOST_SHARE = 1.2
_ENTERING = 0.98
_EVEN_MIDDLE, _HIDDEN_SPREAD = 0.8, 12.0
_LEAST_ROWS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """A front that can be read: the frame's settings, its cells as the camera showed them, its pattern."""

    seen: View
    front: Front
    apparent_degc: FloatArray
    pattern: Pattern
    room_degc: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Water:
    """Flow and return above the room and their drop, shape (draws,), and whether pipes were read."""

    flow_k: FloatArray
    return_k: FloatArray
    drop_k: FloatArray
    from_pipes: bool


def is_settled(item: Radiator) -> bool:
    """Whether the heating had run long enough unchanged, as far as it is known."""
    return item.keys.minutes_steady is None or item.keys.minutes_steady >= SETTLED_MINUTES


def is_mirror(case: Case, item: Radiator) -> bool:
    """Whether the front mostly mirrors the room: chrome, or a low emissivity written down."""
    emissivity = case.site.frames[item.mark.frame].emissivity if item.mark is not None else None
    return item.keys.finish == "chrome" or (emissivity is not None and emissivity < LOWEST_EMISSIVITY)


def is_metallic(case: Case, item: Radiator) -> bool:
    """Whether the finish widens every temperature: metallic paint."""
    emissivity = case.site.frames[item.mark.frame].emissivity if item.mark is not None else None
    return item.keys.finish == "metallic paint" or (emissivity is not None and emissivity < PAINTED_FROM)


def shown(case: Case, item: Radiator) -> Shown | None:
    """The front of a radiator; None where no picture, no room temperature or only a mirror shows it."""
    if item.mark is None or item.room is None or is_mirror(case, item):
        return None
    air = room_air(case, item.room)
    if air is None:
        return None
    mark, room = item.mark, air.temperature_degc
    key = ("front", mark, item.keys, tuple(case.decided.get("hidden", ())))
    return kept(case, key, lambda: _shown(case, item, mark, room))


def _shown(case: Case, item: Radiator, mark: Mark, room_degc: FloatArray) -> Shown:
    seen = view(case, mark.frame)
    keys = item.keys
    hidden = tuple(m for m in case.decided.get("hidden", ()) if m.frame == mark.frame)
    ratio = keys.length_mm / keys.height_mm if keys.length_mm and keys.height_mm else None
    noise = (seen.frame.camera.noise_k if seen.frame.camera else None) or case.assumed("camera-noise").high
    cells = front(seen.frame.apparent_degc, mark, hidden, noise_k=noise, length_over_height=ratio)
    surface = _nominal(seen).surface_degc(cells.excess_k.ravel()).reshape(cells.excess_k.shape)
    excess = replace(cells, excess_k=surface - float(np.median(room_degc)))
    room = float(np.median(room_degc))
    flow_k = keys.flow_degc - room if keys.flow_degc is not None else None
    found = _pattern_of(_Known(excess, flow_k, keys.connection == "bottom-opposite"))
    return Shown(seen=seen, front=excess, apparent_degc=cells.excess_k, pattern=found, room_degc=room_degc)


@dataclass(frozen=True, slots=True, eq=False)
class _Known:
    """What a pattern rests on, equal where its numbers are: visits are walked more than once."""

    front: Front
    flow_excess_k: float | None
    bottom_fed: bool

    @property
    def _numbers(self) -> tuple[object, ...]:
        front = self.front
        cells = (front.excess_k.tobytes(), front.pixels.tobytes(), front.along.tobytes())
        return (*cells, front.noise_k, self.flow_excess_k, self.bottom_fed)

    def __hash__(self) -> int:
        return hash(self._numbers)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Known) and self._numbers == other._numbers


@lru_cache(maxsize=256)
def _pattern_of(known: _Known) -> Pattern:
    return pattern(known.front, flow_excess_k=known.flow_excess_k, bottom_fed=known.bottom_fed)


def _nominal(seen: View) -> View:
    """The frame's settings at their middles."""

    def middle(draws: FloatArray) -> FloatArray:
        return np.array([np.median(draws)])

    return replace(
        seen,
        emissivity=middle(seen.emissivity),
        reflected_degc=middle(seen.reflected_degc),
        offset_k=middle(seen.offset_k),
    )


def water_excess_k(case: Case, item: Radiator, found: Shown) -> FloatArray:
    """Excess of the water behind parts of the front of equal size, coldest first, shape (LEVELS, draws)."""
    key = ("water", item.id, item.mark, item.keys, tuple(case.decided.get("hidden", ())))
    return kept(case, key, lambda: _water_excess_k(case, item, found))


def _water_excess_k(case: Case, item: Radiator, found: Shown) -> FloatArray:
    cells = found.apparent_degc[np.isfinite(found.apparent_degc)]
    levels = np.quantile(cells, (np.arange(LEVELS) + 0.5) / LEVELS)
    apparent = np.stack([spot_apparent_degc(case, found.seen, float(v), f"{item.id} front") for v in levels])
    surface = found.seen.surface_degc(apparent)
    below = _drawn(case, "water-above-surface", item.id)
    return np.asarray(np.maximum(surface - found.room_degc, 0.0) / (1.0 - below))


def rated_w(case: Case, item: Radiator) -> FloatArray | None:
    """Output at 75/65/20, shape (draws,): from the plate, or from type and front."""
    keys = item.keys
    if keys.rated_output_w is not None:
        return keys.rated_output_w * _drawn(case, "output-by-plate", item.id)
    if keys.area_m2 is None or keys.type not in types():
        return None
    return types()[keys.type].output_w_m2 * keys.area_m2 * _drawn(case, "output-by-type", item.id)


def exponent(case: Case, item: Radiator) -> FloatArray:
    """Exponent of the output, shape (draws,)."""
    if item.keys.exponent is not None:
        return np.full(case.draws.size, item.keys.exponent)
    middle = types()[item.keys.type if item.keys.type in types() else "other"].exponent
    return middle + _drawn(case, "exponent-by-type", item.id)


def output_w(case: Case, item: Radiator, found: Shown | None) -> FloatArray | None:
    """Output now, from every part of its front by its own excess, else from the water in its pipes."""
    rated = rated_w(case, item)
    if rated is None:
        return None
    n = exponent(case, item)
    if found is not None:
        return np.asarray(rated * output_share(water_excess_k(case, item, found), n).mean(axis=0))
    water = pipes(case, item)
    if water is None:
        return None
    return np.asarray(rated * standard_ratio(*_in_order(water), 0.0) ** n)


def water_mean_k(water: Water) -> FloatArray:
    """Excess temperature of the water by EN 442: arithmetic, logarithmic where c is below 0.7."""
    return excess_k(*_in_order(water), 0.0)


def _in_order(water: Water) -> tuple[FloatArray, FloatArray]:
    """Flow and return above the room, as far as reading errors let them stand in their order."""
    flow = np.maximum(water.flow_k, 0.2)
    return flow, np.clip(water.return_k, 0.1, flow)


def pipes(case: Case, item: Radiator) -> Water | None:
    """Water by clamp-on readings; None where one of them or the room's air is missing."""
    keys, air = item.keys, room_air(case, item.room)
    if keys.flow_degc is None or keys.return_degc is None or air is None:
        return None
    meter = case.site.keys.instruments[keys.instrument] if keys.instrument else None
    missed = _drawn(case, "pipe-under-reading", item.id)

    def above_room(read_degc: float, end: str) -> FloatArray:
        width = max(half_width(case, meter, "pipe-accuracy", read_degc), 0.0)
        error = case.draws.rectangular(f"pipe-accuracy {item.id} {end}", width)
        return np.asarray((read_degc + error - air.temperature_degc) / (1.0 - missed))

    flow, back = above_room(keys.flow_degc, "flow"), above_room(keys.return_degc, "return")
    return Water(
        flow_k=flow, return_k=back, drop_k=np.clip(flow - back, LEAST_DROP_K, _MOST_DROP_K), from_pipes=True
    )


def water(case: Case, item: Radiator, found: Shown | None) -> Water | None:
    """Water by its pipes, else by an even front: what enters at the top and leaves at the bottom."""
    read = pipes(case, item)
    if read is not None or found is None:
        return read
    left = found.pattern.left_share
    if found.pattern.outcome not in EVEN or left is None:
        return None
    flow = water_excess_k(case, item, found)[-1]
    drop = np.clip(
        flow * (1.0 - left) * _drawn(case, "drop-from-picture", item.id), LEAST_DROP_K, _MOST_DROP_K
    )
    return Water(flow_k=flow, return_k=np.maximum(flow - drop, 0.0), drop_k=drop, from_pipes=False)


def zone_ratios(case: Case, item: Radiator, found: Shown) -> dict[str, FloatArray]:
    """Excess of top and bottom over that of the warmest part, and the share of heat the whole front gives.

    What the whole picture shares mostly cancels: other flow and room temperatures do not change them. How
    well the outline was drawn counts where the front changes fast.
    """
    warmest = _warmest_k(case, item, found)
    ratios = {
        name: excess / warmest
        for name, rows in (("top", _TOP), ("bottom", _BOTTOM))
        if (excess := _zone_k(case, item, found, name, rows)) is not None
    }
    evened = np.minimum(water_excess_k(case, item, found) / _entering_k(case, item, found), _MOST_SHARE)
    unseen = _drawn(case, "front-for-all", item.id)
    return ratios | {"warm": np.asarray(unseen * (evened ** exponent(case, item)).mean(axis=0))}


def _entering_k(case: Case, item: Radiator, found: Shown) -> FloatArray:
    """Excess of the water that enters, shape (draws,): by its pipe, else above the warmest of the front.

    The faster the front cools, the smaller the corner in which entering water could be seen.
    """
    read = pipes(case, item)
    if read is not None:
        return np.maximum(read.flow_k, LEAST_EXCESS_K)
    levels = np.median(water_excess_k(case, item, found), axis=1)
    hidden = max(0.0, _EVEN_MIDDLE - float(levels[LEVELS // 2] / max(levels[-1], LEAST_EXCESS_K)))
    warm = float(np.nanquantile(found.apparent_degc, _ENTERING))
    apparent = spot_apparent_degc(case, found.seen, warm, f"{item.id} front")
    surface = found.seen.surface_degc(apparent) - found.room_degc
    below = _drawn(case, "water-above-surface", item.id)
    spread = 1.0 + _HIDDEN_SPREAD * hidden
    above = 1.0 + spread * _drawn(case, "entering-above-warmest", item.id)
    return np.asarray(np.maximum(surface, LEAST_EXCESS_K) / (1.0 - below) * above)


def _warmest_k(case: Case, item: Radiator, found: Shown) -> FloatArray:
    """Excess that a tenth of the front is above, shape (draws,)."""
    cells = found.apparent_degc
    warm = float(np.nanquantile(cells, _WARMEST))
    apparent = spot_apparent_degc(case, found.seen, warm, f"{item.id} warmest")
    return np.asarray(np.maximum(found.seen.surface_degc(apparent) - found.room_degc, LEAST_EXCESS_K))


def _zone_k(
    case: Case, item: Radiator, found: Shown, name: str, zone: tuple[float, float]
) -> FloatArray | None:
    """Excess of a band of the front, shape (draws,); None where too little of it is seen."""
    rows = np.flatnonzero(np.isfinite(found.apparent_degc).any(axis=1))
    level = np.array([np.nanmean(found.apparent_degc[row]) for row in rows])
    depth = found.front.down[rows]
    inside = (depth > zone[0]) & (depth < zone[1])
    if not inside.any() or rows.size < _LEAST_ROWS:
        return None
    slope = np.gradient(level, depth)
    middle = (zone[0] + zone[1]) / 2.0
    mean = level[inside].mean() + slope[inside].mean() * (middle - depth[inside].mean())
    off = _drawn(case, "outline-off", f"{item.id} {name}") * found.front.pixel_share
    apparent = spot_apparent_degc(case, found.seen, float(mean), f"{item.id} {name}")
    moved = apparent + slope[inside].mean() * off
    within = _drawn(case, "zone-within", f"{item.id} {name}") * float(np.ptp(level))
    mirrored = _drawn(case, "mirrored-unevenly", f"{item.id} {name}")
    return np.asarray(found.seen.surface_degc(moved + within + mirrored) - found.room_degc)


def _drawn(case: Case, name: str, detail: str) -> FloatArray:
    row = case.assumed(name)
    return case.draws.between(f"{name} {detail}", row.low, row.high)
