"""Which column of a logger's table holds what, told by its heading in several languages."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from thermalkit.errors import Problem, ReadingError
from thermalkit.language import say
from thermalkit.site.loggers.text import refusal
from thermalkit.site.model import LoggerColumns
from thermalkit.site.problems import listed, nearest, shown

# Words of a heading without accents, in the order in which they are tried: the first that fits counts.
_WORDS = {
    "dew_point": "dew dewpoint taupunkt taupunkttemperatur rosee rocio rugiada orvalho dauwpunt daggpunkt "
    "dugpunkt kastepiste td",
    "carbon_dioxide": "co2 dioxide dioxid kohlendioxid kohlenstoffdioxid",
    "wind_direction": "wd windrichtung winddirection winddir vindretning vindriktning",
    "wind_speed": "ws wind windspeed windgeschwindigkeit vent viento vento vind vindhastighet",
    "rain": "rain rainfall precip precipitation niederschlag regen pluie precipitations lluvia pioggia "
    "chuva neerslag nedbor nederbord sade",
    "relative_humidity": "rh rhe rhi humidity rf rlf feuchte feuchtigkeit luftfeuchte luftfeuchtigkeit "
    "humidite hr humedad umidita ur umidade luchtvochtigheid vochtigheid luftfuktighet fugtighed kosteus",
    "temperature": "t te ti ta temp temperature temperatur temperatura temperatuur lufttemperatur "
    "raumtemperatur innentemperatur aussentemperatur oberflachentemperatur lampotila tair",
    "cloud_cover": "cloud clouds cloudcover bewolkung bewolkungsgrad wolken bedeckung",
    "heat_flux": "flux heatflux fluxo flusso flujo warmestrom warmestromdichte warmefluss warmeflussdichte "
    "warmtestroom varmeflode varmestrom varmestrøm lampovirta",
    "radiation": "radiation irradiance ghi solarradiation globalstrahlung strahlung einstrahlung",
    "date": "date datum data fecha dato day tag pvm paivamaara",
    "time": "time zeit uhrzeit heure hora ora tijd tid tidspunkt klokkeslaet aika kello timestamp datetime "
    "zeitstempel zeitpunkt horodatage utc gmt",
}
# Columns of derived or other quantities, whose headings hold one of the words above as well.
_OTHER_WORDS = (
    "min max minimum maximum mini maxi stdev std alarm limit setpoint sollwert absolute abs absolut wet "
    "feucht nass setup battery batterie elapsed offset gust boe boen mixing specific"
)
_DIRECTION_WORDS = "direction dir richtung direccion direzione retning from"
_SETS = {role: frozenset(words.split()) for role, words in _WORDS.items()}
_OTHER = frozenset(_OTHER_WORDS.split())
_DIRECTION = frozenset(_DIRECTION_WORDS.split())
TIME_ROLES = ("date", "time")
# What a unit written into the heading says; tried in this order.
_UNITS = {
    "degF": r"[°º�]\s*f\b|deg(rees?)?[ _.]*f\b|fahrenheit|℉|[\[(/,]\s*f\b|_f$",
    "degC": r"[°º�]\s*c\b|deg(rees?)?[ _.]*c\b|celsius|℃|[\[(/,]\s*c\b|_c$",
    "g/m3": r"g\s*/\s*(m|kg)",
    "mm/h": r"(mm|in)\s*(/|per)\s*h",
    "in": r"[\[(/,]\s*in(ch(es)?)?\b",
    "mm": r"\bmm\b|_mm$",
    "km/h": r"km\s*/\s*h|kmh|kph",
    "mph": r"mph",
    "kn": r"\bkn(ots?)?\b|\bkts?\b",
    "m/s": r"m\s*/\s*s|m_s$",
    "%": r"%|percent|prozent",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column that is read: where it stands, its heading, and that with what stands below it."""

    index: int
    heading: str
    said: str


def roles_of(headings: Sequence[str], wanted: LoggerColumns | None) -> dict[str, list[int]]:
    """Columns by what they hold; more than one where the headings do not decide."""
    stated = {role: text for role, text in (wanted or LoggerColumns()) if text}
    roles: dict[str, list[int]] = {}
    for role, text in stated.items():
        roles[role] = _named(headings, text)
    taken = {i for places in roles.values() for i in places}
    for i, heading in enumerate(headings):
        found = None if i in taken else _role(heading)
        if found and found not in stated and not (found in TIME_ROLES and "time" in stated):
            roles.setdefault(found, []).append(i)
    return {role: places for role, places in roles.items() if places}


def _named(headings: Sequence[str], text: str) -> list[int]:
    """Columns of that heading; capitals count only where they decide."""
    text = text.strip()
    exact = [i for i, heading in enumerate(headings) if heading == text]
    return exact or [i for i, heading in enumerate(headings) if heading.casefold() == text.casefold()]


def _role(heading: str) -> str | None:
    words = _words(heading)
    if not words or words & _OTHER or "g/m3" in _units(heading) or "mm/h" in _units(heading):
        return None
    if words & {"utc", "gmt"}:
        return "time"
    for role, known in _SETS.items():
        if words & known:
            return "wind_direction" if role == "wind_speed" and words & _DIRECTION else role
    return None


def _words(heading: str) -> set[str]:
    """Words of a heading, without accents and without what stands in brackets."""
    plain = unicodedata.normalize("NFKD", heading.casefold())
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    outside = re.sub(r"\([^)]*\)|\[[^\]]*\]", " ", plain)
    return set(re.findall(r"[^\W_]+", outside)) or set(re.findall(r"[^\W_]+", plain))


def _units(heading: str) -> list[str]:
    return [unit for unit, pattern in _UNITS.items() if re.search(pattern, heading.casefold())]


def unit_of(heading: str, known: Mapping[str, object]) -> str:
    """The first unit of `known` that a heading names, or nothing.

    Examples
    --------
    >>> unit_of("Temperatur [°F]", {"degC": 0, "degF": 0}), unit_of("T", {"degC": 0})
    ('degF', '')
    """
    return next((unit for unit in _units(heading) if unit in known), "")


def one_each(
    file: str, row: int, headings: Sequence[str], roles: Mapping[str, list[int]], wanted: LoggerColumns | None
) -> dict[str, int]:
    """One column for each quantity.

    Raises
    ------
    ReadingError
        Two columns hold the same, or a heading that was stated is not there.
    """
    problems: list[Problem] = []
    for role, text in wanted or LoggerColumns():
        if text and role not in roles:
            fix = say("logger.fix.stated", nearest=nearest(text, headings))
            problems += refusal(
                file,
                say("logger.read.no-heading", heading=shown(text)),
                fix=fix,
                place=say("logger.place.row", row=row),
            ).problems
    for role, found in roles.items():
        if len(found) > 1 and role not in TIME_ROLES:
            names = listed([headings[i] for i in found])
            fix = say("logger.fix.which", role=role)
            read = say("logger.read.columns", count=len(found), role=role.replace("_", " "), names=names)
            problems += refusal(
                file, read, say("logger.allowed.one"), fix, place=say("logger.place.row", row=row)
            ).problems
    if problems:
        raise ReadingError(file, problems)
    return {role: found[0] for role, found in roles.items() if role not in TIME_ROLES}
