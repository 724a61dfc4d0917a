"""A junction as it may be built: what is known, for the rest the coldest, usual and warmest of a family."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.examined import junction_at
from thermalkit.imaging.mark import Mark
from thermalkit.physics.buildup_families import Family, FamilyLayer, family
from thermalkit.physics.detail import Detail
from thermalkit.physics.detail_result import DetailResult, detail_result
from thermalkit.physics.details import detail_named
from thermalkit.physics.layers import air_layer_resistance_m2k_w
from thermalkit.site.sections.junctions import JunctionKeys, dimensions

if TYPE_CHECKING:
    from collections.abc import Mapping

End = Literal["cold", "typical", "warm"]
ENDS: tuple[End, ...] = ("cold", "typical", "warm")
_INSULATION = "insulation"
_DECIMALS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Variants:
    """One junction in its three variants; `keys` is what the surveyor wrote down, None where nothing."""

    name: str
    keys: JunctionKeys | None
    cold: Detail
    typical: Detail
    warm: Detail

    @property
    def is_described(self) -> bool:
        """Whether anything of this wall was written down; the drawing's own dimensions are nobody's wall."""
        return self.keys is not None and bool(self.keys.known or self.keys.family)

    def results(self) -> dict[End, DetailResult]:
        """Calculated, by variant; `NotProven` where one may not be quoted."""
        return {end: detail_result(getattr(self, end)) for end in ENDS}


def variants_at(case: Case, mark: Mark) -> Variants | None:
    """The junction at a place; None where none was picked."""
    name = junction_at(case, mark)
    if name is None:
        return None
    written = (k for k in case.site.sections(JunctionKeys) if (k.frame, k.mark) == (mark.frame, mark.id))
    keys = next(written, None)
    kind = detail_named(name)
    known = _fitting(kind, dimensions(keys.known) if keys is not None and keys.known else {})
    filling = family(keys.family) if keys is not None and keys.family else None

    def built(end: End) -> Detail:
        filled = {} if filling is None else _fitting(kind, dict(_of_family(kind, filling, end)))
        return kind(**{**filled, **known})

    return Variants(name=name, keys=keys, cold=built("cold"), typical=built("typical"), warm=built("warm"))


def drawable(value: float) -> float:
    """A dimension rounded so that edges of boxes meet in the drawing."""
    return round(value, _DECIMALS)


def _fitting(kind: type[Detail], values: Mapping[str, float]) -> dict[str, float]:
    """Dimensions that the drawing has, moved to the nearest plausible value."""
    limits = {item.name: item.metadata for item in fields(kind)}
    return {
        name: drawable(min(max(value, limits[name]["low"]), limits[name]["high"]))
        for name, value in values.items()
        if name in limits
    }


def _of_family(kind: type[Detail], filling: Family, end: End) -> Iterator[tuple[str, float]]:
    """Dimensions of a family's wall: its first layer, its insulation, and all else as one."""
    first, *others = filling.layers
    names = {item.name for item in fields(kind)}
    lining, core = ("plaster", "masonry") if "masonry_mm" in names else ("board", "sheathing")
    yield from _layer(lining, [first], end)
    insulating = [layer for layer in others if _INSULATION in layer.name]
    yield from _layer(core, [layer for layer in others if layer not in insulating], end)
    if insulating:
        thickness, conductivity = _together(insulating, end)
        yield "insulation_mm", thickness
        yield "stud_depth_mm", thickness
        yield "insulation_w_mk", conductivity


def _layer(name: str, layers: list[FamilyLayer], end: End) -> Iterator[tuple[str, float]]:
    if layers:
        thickness, conductivity = _together(layers, end)
        yield f"{name}_mm", thickness
        yield f"{name}_w_mk", conductivity


def _together(layers: list[FamilyLayer], end: End) -> tuple[float, float]:
    """Thickness in mm and the conductivity of a solid of the same resistance."""
    thick, leading = {"cold": ("low", "high"), "typical": ("typical",) * 2, "warm": ("high", "low")}[end]
    thickness_mm = resistance = 0.0
    for layer in layers:
        here_mm = getattr(layer.thickness_mm, thick)
        thickness_mm += here_mm
        if layer.conductivity_w_mk is None:
            resistance += float(air_layer_resistance_m2k_w(here_mm))
        else:
            resistance += here_mm / 1000.0 / getattr(layer.conductivity_w_mk, leading)
    return thickness_mm, thickness_mm / 1000.0 / resistance
