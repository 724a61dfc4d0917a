"""The findings as tables that open in any spreadsheet program."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from io import StringIO
from itertools import zip_longest
from typing import Any

from thermalkit.annex.hazards import Hazard
from thermalkit.annex.jobs import weight
from thermalkit.annex.wording import VERDICTS, Wording, visible
from thermalkit.diagnosis.finding import Findings, Verdict

FINDINGS_COLUMNS = (
    *("code", "place", "frame", "mark", "quantity", "symbol", "value", "low", "high", "unit"),
    *("verdict", "sense", "limit", "limit_source", "confirmed", "statement"),
)
ACTIONS_COLUMNS = (
    *("place", "job", "by", "urgency", "quantity", "precondition", "finding", "verdict", "confirmed"),
    *("hazard_class", "act_by", "hazard_source"),
)
# Some programs take the wide forms of East Asian scripts for the same.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def findings_csv(findings: Findings, language: str) -> bytes:
    """One row per quantity; a finding without quantities has one row all the same.

    The limit stands in the row of the quantity that is held against it. UTF-8 with a byte-order mark,
    which spreadsheet programs need to read it as such; decimal points, commas between.
    """
    rows: list[Mapping[str, Any]] = []
    for finding in findings.as_json(language)["findings"]:
        limit = finding["limit"] or {}
        for item in finding["quantities"] or [{"name": "", "symbol": None}]:
            held = limit if item["symbol"] == limit.get("quantity", "") else {}
            rows.append(
                {
                    **{
                        key: finding[key]
                        for key in ("code", "place", "frame", "mark", "statement", "verdict")
                    },
                    **{key: item.get(key) for key in ("symbol", "value", "low", "high", "unit")},
                    "quantity": item["name"],
                    "sense": held.get("sense"),
                    "limit": held.get("value"),
                    "limit_source": held.get("source"),
                    "confirmed": "yes" if finding["confirmed"] else "no",
                }
            )
    return _csv(FINDINGS_COLUMNS, rows)


def actions_csv(findings: Findings, language: str, hazards: Sequence[Hazard | None] = ()) -> bytes:
    """One row per thing to do at a place: what cannot wait first, then place by place, the worst first.

    `hazards` holds for each finding what the user's own table says of it; of several that ask for the
    same, the one to be acted on first.

    What several findings of a place ask for stands once, under the most urgent of them. The quantity
    is left to whoever takes it off on site.
    """
    words = Wording(language)
    rows: dict[tuple[str, str, str], dict[str, Any]] = {}
    for asked, finding, step, hazard in sorted(
        _asked(findings, language, hazards), key=lambda item: VERDICTS.index(item[0])
    ):
        row = rows.setdefault(
            (step["by"], finding["place"], step["step"]),
            {
                "at_once": False,
                "place": finding["place"],
                "job": step["step"],
                "by": step["by"],
                "urgency": words.urgency(asked, step["at_once"]),
                "precondition": " ".join(finding["cautions"]),
                "finding": finding["code"],
                "verdict": finding["verdict"],
                "confirmed": "yes" if finding["confirmed"] else "no",
            },
        )
        if step["at_once"]:
            row |= {"at_once": True, "urgency": words.urgency(asked, True)}
        if hazard is not None and _day(hazard) < row.get("act_by", "\uffff"):
            row |= {
                "hazard_class": hazard.hazard_class,
                "act_by": _day(hazard),
                "hazard_source": hazard.source,
            }
    places = list(dict.fromkeys(row["place"] for row in rows.values()))
    order = sorted(rows.values(), key=lambda row: (not row["at_once"], places.index(row["place"])))
    return _csv(ACTIONS_COLUMNS, order)


def _asked(
    findings: Findings, language: str, hazards: Sequence[Hazard | None]
) -> Iterator[tuple[Verdict | None, dict[str, Any], dict[str, Any], Hazard | None]]:
    """Every next step with how strongly it is asked for, its finding and the user's class of that."""
    listed = zip_longest(findings.findings, findings.as_json(language)["findings"], hazards)
    for found, finding, hazard in listed:
        for next_step, step in zip(found.next_steps, finding["next_steps"], strict=True):
            yield weight(found, next_step), finding, step, hazard


def _day(hazard: Hazard) -> str:
    return hazard.act_by.isoformat() if hazard.act_by is not None else "–"


def _csv(columns: tuple[str, ...], rows: Iterable[Mapping[str, Any]]) -> bytes:
    stream = StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([table_cell(row.get(column)) for column in columns] for row in rows)
    return b"\xef\xbb\xbf" + stream.getvalue().encode("utf-8", "replace")


def table_cell(value: Any) -> Any:
    """Text without hidden characters, an apostrophe in front of what looks like a formula; numbers stay."""
    if isinstance(value, str):
        text = visible(value)
        return "'" + text if text.startswith(_FORMULA) else text
    return "" if value is None else value
