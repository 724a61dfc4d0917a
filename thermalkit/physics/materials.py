"""Design values of building materials, with the range that a real piece may lie in.

A table value is a guess at the wall in front of you: damp, age and make move it within the range.

Source
------
ISO 10456 and CIBSE Guide A, row by row in `materials.csv`; most from memory. Ranges are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from thermalkit.physics.tables import row_named, table_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material; the vapour resistance factor μ is the dry one, infinite where no vapour passes."""

    name: str
    conductivity_w_mk: float
    low_w_mk: float
    high_w_mk: float
    density_kg_m3: float
    heat_capacity_j_kgk: float
    vapour_resistance_factor: float
    source: str
    confidence: str


@cache
def materials() -> dict[str, Material]:
    """Materials of the shipped table, by name."""
    return {row["name"]: _material(row) for row in table_rows("materials.csv")}


def _material(row: dict[str, str]) -> Material:
    return Material(
        name=row["name"],
        conductivity_w_mk=float(row["conductivity_w_mk"]),
        low_w_mk=float(row["low_w_mk"]),
        high_w_mk=float(row["high_w_mk"]),
        density_kg_m3=float(row["density_kg_m3"]),
        heat_capacity_j_kgk=float(row["heat_capacity_j_kgk"]),
        vapour_resistance_factor=float(row["vapour_resistance_factor"]),
        source=row["source"],
        confidence=row["confidence"],
    )


def material(name: str) -> Material:
    """The material of exactly that name.

    Raises
    ------
    UnknownName
        There is no such material; the message names the nearest ones.

    Examples
    --------
    >>> material("brick outer leaf").conductivity_w_mk
    0.77
    """
    return row_named("material", name, materials())
