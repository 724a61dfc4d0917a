"""The quantities of the field, with the symbols of the standards.

Names and definitions in the reader's language stand in `locale/` under `term.<id>` and
`definition.<id>`; names follow ISO 7345, ISO 9346 and ISO 13788.
"""

from __future__ import annotations

from dataclasses import dataclass

from thermalkit.language import Sentence, say


@dataclass(frozen=True, slots=True)
class Term:
    """A quantity: its id, symbol, unit, decimals kept in findings and decimals shown in text."""

    id: str
    symbol: str
    unit: str
    kept: int
    shown: int

    @property
    def name(self) -> Sentence:
        """The term in the reader's language."""
        return say(f"term.{self.id}")

    @property
    def definition(self) -> Sentence:
        """What the term means, for the glossary of an annex."""
        return say(f"definition.{self.id}")


TERMS = {
    term.id: term
    for term in (
        Term("surface-temperature", "θ_si", "degC", 2, 1),
        Term("apparent-temperature", "θ_app", "degC", 2, 1),
        Term("reflected-temperature", "θ_refl", "degC", 2, 1),
        Term("temperature-difference", "Δθ", "K", 2, 1),
        Term("temperature-factor", "f_Rsi", "", 3, 2),
        Term("surface-humidity", "φ_si", "%", 1, 0),
        Term("surface-humidity-at-conditions", "φ_si,0", "%", 1, 0),
        Term("air-temperature", "θ_i", "degC", 2, 1),
        Term("relative-humidity", "φ_i", "%", 1, 0),
        Term("dew-point", "θ_d", "degC", 2, 1),
        Term("critical-surface-temperature", "θ_si,cr", "degC", 2, 1),
        Term("surface-humidity-over-time", "φ_si,m", "%", 1, 0),
        Term("time-damp", "t_φ", "%", 1, 0),
        Term("time-condensing", "t_100", "%", 1, 0),
        Term("longest-damp-spell", "t_max", "h", 0, 0),
        Term("mould-index", "M", "", 2, 1),
        Term("moisture-excess", "Δp", "Pa", 0, 0),
        Term("moisture-excess-concentration", "Δv", "g/m³", 2, 1),
        Term("moisture-carried-off", "G", "kg/d", 1, 1),
        Term("time-below-outdoor-dew-point", "t_d,e", "h", 0, 0),
        Term("outdoor-dew-point-margin", "θ_si − θ_d,e", "K", 2, 1),
        Term("surface-humidity-in-weather", "φ_si,w", "%", 1, 0),
        Term("highest-room-humidity", "φ_i,max", "%", 1, 0),
        Term("ventilation-ratio", "n/n_0", "", 2, 1),
        Term("extra-warmth", "Δθ_i", "K", 2, 1),
        Term("added-resistance", "ΔR", "m2K/W", 2, 1),
        Term("months-above", "N_80", "", 0, 0),
        Term("season-heat", "Q", "kWh", 0, 0),
        Term("drying-time", "t_dry", "d", 0, 0),
        Term("water-in-wall", "M_a", "g/m2", 0, 0),
        Term("outdoor-dew-point", "θ_d,e", "degC", 2, 1),
        Term("spread", "Δθ_max", "K", 2, 1),
        Term("marked-area", "A", "m2", 4, 2),
    )
}
