"""Before the visit: one page to print, with what the question needs, when, what to carry, and a form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from markupsafe import Markup

from thermalkit.annex.html import environment, policy
from thermalkit.annex.plan.forecast import Day, read_forecast, usable_days
from thermalkit.annex.plan.general import GENERAL
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.needs import Need, needs
from thermalkit.errors import WritingError
from thermalkit.language import LANGUAGES, Number, catalogue, say
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import wet_bulb_degc
from thermalkit.record.whole import write_whole
from thermalkit.site.asking import Asked, AskedTable, asked_tables
from thermalkit.site.files import LARGEST_SITE_FILE, file_bytes
from thermalkit.site.loggers import LoggerSeries
from thermalkit.site.model import CaseKeys, ReportKeys, RoomKeys, SurveyorKeys
from thermalkit.site.new import SUBFOLDERS
from thermalkit.site.references import SITE_FILE, entries
from thermalkit.site.sections import asked_elsewhere, site_model
from thermalkit.site.toml_text import tables_in

_HERE = Path(__file__).parent
USUAL_INDOOR_DEGC = 20.0  # where no room's temperature is written down
# Tables that nobody fills in on the walk.
_AT_THE_DESK = ("report", "limits", "costs")
_ROWS = {"instruments": 5, "rooms": 5, "frames": 8, "references": 6, "readings": 10, "samples": 6}
_OTHER_ROWS = 4
_MOST_COLUMNS = 6  # of a sheet of A4
_HOW = ("reflected", "contact", "logger", "side-by-side")
_LETTER = ("heating", "airing", "furniture", "access", "appliances", "pictures")
_PERMISSIONS = ("entry", "photos", "loggers", "samples")


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What is known of a site before the visit; a file that is hardly filled in is enough."""

    name: str
    question: str
    surveyor: str
    language: str
    indoor_degc: float
    indoor_stated: bool


def planned(folder: Path) -> Planned:
    """What `site.toml` says so far.

    Raises
    ------
    ReadingError
        There is none, or it is no TOML.
    """
    tables = tables_in(file_bytes(folder, SITE_FILE, LARGEST_SITE_FILE))
    found = [entry.keys for entry in entries(site_model(), tables)]
    surveyor = next((keys for keys in found if isinstance(keys, SurveyorKeys)), SurveyorKeys())
    report = next((keys for keys in found if isinstance(keys, ReportKeys)), ReportKeys())
    rooms = [keys.air_temperature_degc for keys in found if isinstance(keys, RoomKeys)]
    warm = [value for value in rooms if value is not None]
    site = tables.get("site")
    case = site if isinstance(site, Mapping) else {}
    return Planned(
        name=_text(case, "name"),
        question=_text(case, "question"),
        surveyor=surveyor.name or "",
        language=report.language if report.language in LANGUAGES else LANGUAGES[0],
        indoor_degc=sum(warm) / len(warm) if warm else USUAL_INDOOR_DEGC,
        indoor_stated=bool(warm),
    )


def _text(case: Mapping[str, Any], key: str) -> str:
    value = case.get(key)
    return value if key in CaseKeys.model_fields and isinstance(value, str) else ""


def write_plan(
    folder: Path,
    out: Path | None = None,
    *,
    forecast: Path | None = None,
    clock: str = "UTC",
    kind: str | None = None,
) -> Path:
    """Write the plan of a visit as one HTML file.

    Parameters
    ----------
    folder : path
        The site folder.
    out : path, optional
        `annex/plan.html` in the folder otherwise.
    forecast : path, optional
        A table with time, temperature and, where there are, wind, rain, cloud cover or radiation.
    clock : str
        Zone of the forecast and of the hours told.
    kind : str, optional
        The investigation that is planned; all of them otherwise.

    Raises
    ------
    ReadingError
        The site file or the forecast cannot be read.
    WritingError
        The name does not end in .html, lies among the evidence, or cannot be written.
    """
    folder = Path(folder)
    path = out or folder / "annex" / "plan.html"
    if path.suffix.lower() not in (".html", ".htm"):
        raise WritingError(say("plan.not-html", path=str(path)))
    if path.resolve().parent in {(folder / name).resolve() for name in SUBFOLDERS}:
        raise WritingError(say("plan.over-evidence", path=str(path)))
    series = read_forecast(forecast, clock) if forecast is not None else None
    write_whole(path, plan_page(planned(folder), series, clock, kind))
    return path


def plan_page(
    site: Planned, forecast: LoggerSeries | None = None, clock: str = "UTC", kind: str | None = None
) -> bytes:
    """The plan in UTF-8; the same bytes for the same input."""
    words = Wording(site.language)
    style = "\n".join(path.read_text("utf-8") for path in (_HERE.parent / "style.css", _HERE / "plan.css"))
    needed = _needs(kind)
    left_out = {*_AT_THE_DESK, *(asked_elsewhere(kind) if kind else ())}
    page = environment(words, _HERE).get_template("plan.html")
    html = page.render(
        site=site,
        needs=needed,
        carry=_carry(needed, words),
        weather=_weather(needed, site, forecast, clock, words),
        clock=clock,
        assumed=forecast.assumed if forecast is not None else (),
        wet_bulb=_wet_bulb(site.indoor_degc, words),
        forms=[_Form(table, words) for table in asked_tables(site.language) if table.table not in left_out],
        how=_HOW,
        letter=_LETTER,
        permissions=_PERMISSIONS,
        style=Markup(style),
        policy=policy(style),
    )
    return str(html).encode("utf-8", "replace")


def _needs(kind: str | None) -> list[Need]:
    """Those of an investigation, or of every one there is; general ones where one states none."""
    stated = needs()
    rest = {other: general for other, general in GENERAL.items() if other not in stated}
    return [need for name, group in {**stated, **rest}.items() if kind in (None, name) for need in group]


def _carry(needed: list[Need], words: Wording) -> list[str]:
    always = [
        words.say(f"plan.carry.{id}")
        for id in ("camera", "foil", "tape", "clock", "torch", "paper", "protection", "letter")
    ]
    special = [words.text(item) for need in needed for item in need.carry]
    return list(dict.fromkeys(always + special))


def _weather(
    needed: list[Need], site: Planned, forecast: LoggerSeries | None, clock: str, words: Wording
) -> list[tuple[Need, list[list[str]]]]:
    """For each need that depends on weather, one row a day."""
    if forecast is None:
        return []
    return [
        (need, [_day_row(day, words) for day in usable_days(forecast, need.weather, site.indoor_degc, clock)])
        for need in needed
        if need.weather is not None
    ]


def _day_row(day: Day, words: Wording) -> list[str]:
    spans = ", ".join(f"{first:02}:00–{last:02}:00" for first, last in day.spans)
    against = sorted(day.against.items(), key=lambda item: -item[1])
    reasons = [words.say(f"plan.against.{name}", hours=Number(count, "h", 0)) for name, count in against]
    return [words.day(day.day), spans or words.say("plan.no-hours"), "; ".join(reasons) or "–"]


def _wet_bulb(air_degc: float, words: Wording) -> list[list[str]]:
    """How far the wet bulb lies below the air, for some humidities."""
    rows = []
    for percent in (30, 40, 50, 60, 70, 80):
        below: FloatArray = air_degc - wet_bulb_degc(air_degc, percent / 100.0)
        rows.append([words.number(percent, 0, "%"), words.number(float(below), 1, "K")])
    return rows


class _Form:
    """One table of the form: lines to write on, or a sheet with a row for each entry."""

    def __init__(self, table: AskedTable, words: Wording) -> None:
        self.title, self.repeated, self._words = table.title, table.repeated, words
        first = [asked for asked in table.fields if asked.first]
        self.first = (first or list(table.fields))[:_MOST_COLUMNS]
        self.rest = [asked for asked in table.fields if asked not in self.first]
        self.named = table.named
        self.rows = range(_ROWS.get(table.table, _OTHER_ROWS))

    def label(self, asked: Asked) -> str:
        """The field and its unit."""
        return f"{asked.label} ({asked.unit})" if asked.unit else asked.label

    def choices(self, asked: Asked) -> list[str]:
        """What may be ticked."""
        if asked.form == "yes-no":
            return [self._words.say("choice.yes"), self._words.say("choice.no")]
        if asked.form != "choice":
            return []
        known = catalogue(self._words.language)
        return [known.get(f"choice.{word.replace(' ', '-')}", word) for word in asked.options]
