"""Classes and dates after the user's own table, beside the findings they follow from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from thermalkit.annex.place import Place
from thermalkit.annex.wording import Rows, Wording
from thermalkit.diagnosis.finding import Finding
from thermalkit.site import Site
from thermalkit.site.hazard_classes import hazard_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """What the table says of one finding."""

    hazard_class: str
    source: str
    act_by: date | None = None


def hazard(finding: Finding, site: Site) -> Hazard | None:
    """Class and last day after the table of the site; None where it does not speak of the finding."""
    row = hazard_of(site.hazard_classes, finding.code, finding.verdict)
    if row is None:
        return None
    days = row.act_within_days
    start = site.keys.site.surveyed_at.date()
    return Hazard(
        hazard_class=row.hazard_class,
        source=row.source,
        act_by=None if days is None else start + timedelta(days=days),
    )


def soonest(place: Place, site: Site) -> Hazard | None:
    """The class at a place that is to be acted on first."""
    found = [item for finding in place.findings if (item := hazard(finding, site)) is not None]
    return min(found, key=_by, default=None)


def _by(item: Hazard) -> date:
    return item.act_by or date.max


def rows(found: tuple[Place, ...], site: Site, words: Wording) -> Rows:
    """Every finding that the table speaks of, what is due first in front."""
    listed = [
        (item, place, finding)
        for place in found
        for finding in place.findings
        if (item := hazard(finding, site)) is not None
    ]
    return [
        [
            f"{place.number}. {place.name}",
            words.after_place(finding.statement, place.name),
            item.hazard_class,
            words.day(item.act_by) if item.act_by is not None else "–",
            item.source,
        ]
        for item, place, finding in sorted(listed, key=lambda each: _by(each[0]))
    ]
