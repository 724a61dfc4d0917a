"""One site as one row of plain data."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from thermalkit import __version__
from thermalkit.errors import ThermalkitError, printable
from thermalkit.record.fingerprint import fingerprint
from thermalkit.site.files import LARGEST_FRAME, files_below

if TYPE_CHECKING:
    from thermalkit.diagnosis.finding import Finding, Findings
    from thermalkit.site import Site

SCHEMA = 1
NORMAL_HALF_WIDTH = 1.959964  # standard deviations to either side of a central 95 % interval
_VERDICTS = {"indicated": "indicated", "inconclusive": "inconclusive", "not_indicated": "not indicated"}
_MADE = ("annex", "__pycache__")
_LONGEST_REASON = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What one site says, plain data; None and empty where there is nothing to say.

    `harm` is how far the worst place lies past its limit in standard deviations, `probability` the chance
    that it does, `margin` what it keeps from the limit (negative: past it) with its standard `deviation`.
    `judged_by` is the code of the finding that stands for the investigation, empty where another one had
    to do. `missing` names what would narrow open verdicts by the id of its sentence, in % of the interval.
    """

    site: str
    fingerprint: str = ""
    state: Literal["done", "unreadable"] = "unreadable"
    reason: str = ""
    name: str = ""
    reference: str = ""
    surveyed_on: str = ""
    construction: str = ""
    built: int | None = None
    usable: bool = False
    confirmed: bool = False
    indicated: int = 0
    inconclusive: int = 0
    not_indicated: int = 0
    judged_by: str = ""
    harm: float | None = None
    probability: float | None = None
    margin: float | None = None
    deviation: float | None = None
    place: str = ""
    code: str = ""
    verdict: str | None = None
    loss_w_k: float | None = None
    loss_low_w_k: float | None = None
    loss_high_w_k: float | None = None
    missing: dict[str, float] = field(default_factory=dict)
    has_annex: bool = False


def fingerprint_of(folder: Path, kind: str) -> str:
    """SHA-256 over every file a site may be judged from, its decisions among them, and over our version.

    Links are named, not followed; of a file that is too large to be read for a finding only the size counts;
    the folder `annex` is what we write ourselves.
    """
    parts: dict[str, str] = {}
    for path in sorted(files_below(folder, lambda name: name not in _MADE)):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            parts[name] = "link"
            continue
        size = path.stat().st_size
        if size > LARGEST_FRAME:
            parts[name] = f"{size} bytes"
            continue
        with path.open("rb") as stream:
            parts[name] = hashlib.file_digest(stream, "sha256").hexdigest()
    return fingerprint({"files": parts, "kind": kind, "thermalkit": __version__, "schema": SCHEMA})


def row_of(folder: Path, site: str, kind: str) -> Row:
    """What one site says, judged unattended: decisions replay, open ones take the proposal.

    Parameters
    ----------
    folder : Path
        The site folder.
    site : str
        Its name in the portfolio.
    kind : str
        The investigation.

    Returns
    -------
    Row
        A site that cannot be read or judged has the state "unreadable" and a reason.
    """
    row = Row(site=site)
    try:
        row = replace(row, fingerprint=fingerprint_of(folder, kind))
        return replace(row, state="done", **_judged(folder, kind))
    except (ThermalkitError, OSError) as error:
        return replace(row, reason=_one_line(str(error)))
    except Exception as error:  # one site that breaks us is one row, not the end of four thousand
        return replace(row, reason=_one_line(f"internal error, {type(error).__name__}: {error}"))


def _one_line(text: str) -> str:
    return printable(" ".join(text.split()))[:_LONGEST_REASON]


def _judged(folder: Path, kind: str) -> dict[str, Any]:
    from thermalkit.diagnosis.run import investigation, run
    from thermalkit.record.store import read_record, recall, replay
    from thermalkit.site.folder import read_site

    site = read_site(folder)
    record = read_record(folder, kind)
    findings = run(kind, site, replay(record), recall(record))
    judged = [finding for finding in findings.findings if finding.limit and finding.quantities]
    harm_by = getattr(investigation(kind), "HARM_BY", "")
    own = [finding for finding in judged if finding.code == harm_by]
    private = site.keys.report.private
    return {
        **_about(site, private),
        "usable": findings.survey.usable,
        "confirmed": not findings.open_steps,
        **{name: _count(judged, verdict) for name, verdict in _VERDICTS.items()},
        "judged_by": harm_by if own else "",
        **_worst(own or judged, private),
        **_loss(findings),
        "missing": _missing(judged),
        "has_annex": (folder / "annex" / f"{kind}.html").is_file(),
    }


def _about(site: Site, private: bool) -> dict[str, Any]:
    from thermalkit.site.sections.building import BuildingKeys

    building = site.section(BuildingKeys) or BuildingKeys()
    keys = site.keys.site
    return {
        "name": "" if private else keys.name,
        "reference": keys.reference or "",
        "surveyed_on": keys.surveyed_at.date().isoformat(),
        "construction": building.construction or "",
        "built": building.built_in,
    }


def _count(judged: list[Finding], verdict: str) -> int:
    return sum(finding.verdict == verdict for finding in judged)


def _worst(judged: list[Finding], private: bool) -> dict[str, Any]:
    """The finding that lies furthest past its limit, in standard deviations of its interval."""
    if not judged:
        return {}
    worst = max(judged, key=lambda finding: (_past(finding), finding.code, finding.place))
    past, (margin, deviation) = _past(worst), _margin(worst)
    return {
        "harm": round(past, 4),
        "probability": round(0.5 * math.erfc(-past / math.sqrt(2.0)), 6),
        "margin": round(margin, 6),
        "deviation": round(deviation, 6),
        "place": "" if private else worst.place,
        "code": worst.code,
        "verdict": worst.verdict,
    }


def _margin(finding: Finding) -> tuple[float, float]:
    """How far the first quantity keeps from its limit (negative: past it), and its standard deviation."""
    measured, limit = finding.quantities[0].measured, finding.limit
    sign = 1.0 if limit is not None and limit.sense == "at_least" else -1.0
    margin = sign * (measured.value - limit.value) if limit is not None else 0.0
    deviation = (measured.high - measured.low) / (2.0 * NORMAL_HALF_WIDTH)
    return margin, max(deviation, 1e-9)


def _past(finding: Finding) -> float:
    margin, deviation = _margin(finding)
    return max(-40.0, min(40.0, -margin / deviation))


def _loss(findings: Findings) -> dict[str, Any]:
    """Extra heat flow of all marked places of a site together; their errors are taken as shared."""
    flows = [
        item.measured
        for finding in findings.findings
        for item in finding.quantities
        if finding.mark is not None and item.term.id == "extra-heat-flow"
    ]
    if not flows:
        return {}
    value, low, high = (
        round(sum(getattr(flow, part) for flow in flows), 3) for part in ("value", "low", "high")
    )
    return {"loss_w_k": value, "loss_low_w_k": low, "loss_high_w_k": high}


def _missing(judged: list[Finding]) -> dict[str, float]:
    """What would narrow the open verdicts of a site, with the largest share in % of an interval."""
    found: dict[str, float] = {}
    for finding in judged:
        for step in finding.next_steps if finding.verdict == "inconclusive" else ():
            share = getattr(step.step.values.get("share"), "value", None)
            if share is not None:
                found[step.step.id] = max(round(float(share), 1), found.get(step.step.id, 0.0))
    return dict(sorted(found.items()))
