"""Rows in the order in which somebody has to act on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from thermalkit.portfolio.rows import Row
from thermalkit.portfolio.share import Dwelling, Share, estimated_share
from thermalkit.portfolio.stock import type_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Something that would narrow open verdicts: its sentence, how many sites lack it, by how much in %."""

    sentence: str
    sites: int
    share_percent: float


def by_harm(rows: Sequence[Row]) -> list[Row]:
    """Judged sites, the one that lies most surely past its limit first."""
    judged = [row for row in rows if row.harm is not None]
    return sorted(judged, key=lambda row: (-(row.harm or 0.0), row.site))


def likely_past(rows: Sequence[Row]) -> list[Row]:
    """Of these, the ones more likely past their limit than not."""
    return [row for row in by_harm(rows) if (row.harm or 0.0) > 0.0]


def by_loss(rows: Sequence[Row]) -> list[Row]:
    """Sites with a heat flow, the largest first."""
    judged = [row for row in rows if row.loss_w_k is not None]
    return sorted(judged, key=lambda row: (-(row.loss_w_k or 0.0), row.site))


def to_visit(rows: Sequence[Row]) -> list[Row]:
    """Sites whose worst place is open, the one most likely past its limit first; unusable surveys last."""
    undecided = [row for row in rows if row.verdict == "inconclusive"]
    return sorted(undecided, key=lambda row: (not row.usable, -(row.probability or 0.0), row.site))


def unreadable(rows: Sequence[Row]) -> list[Row]:
    """Sites that could not be read or judged."""
    return [row for row in rows if row.state != "done"]


def missing_most(rows: Sequence[Row]) -> list[Missing]:
    """What is missing at most of the sites with open verdicts, counting at each what would narrow it most."""
    first: Counter[str] = Counter()
    shares: dict[str, list[float]] = {}
    for row in rows:
        if row.missing:
            share, name = max((share, name) for name, share in row.missing.items())
            first[name] += 1
            shares.setdefault(name, []).append(share)
    return [
        Missing(sentence=name, sites=count, share_percent=median(shares[name]))
        for name, count in sorted(first.items(), key=lambda item: (-item[1], item[0]))
    ]


def share_of(rows: Sequence[Row], stock: Mapping[str, int]) -> Share | None:
    """The share of the stock whose worst place lies past the limit.

    Only sites that were judged by the quantity that stands for the investigation, in a usable survey,
    count; None where there is none.
    """
    visited = [
        Dwelling(type=type_of(row.construction, row.built), margin=row.margin, deviation=row.deviation)
        for row in rows
        if row.judged_by and row.usable and row.margin is not None and row.deviation is not None
    ]
    return estimated_share(visited, stock) if visited else None
