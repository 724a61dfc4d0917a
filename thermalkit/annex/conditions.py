"""What was written down about the visit, and what was not: the rows that a report of a survey owes."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.annex.wording import Pairs, Rows, Wording
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Findings
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.surface import view
from thermalkit.measured import FloatArray, measured
from thermalkit.site import Site, SurveyFrame
from thermalkit.site.sections.elements import ElementKeys

MOST_READINGS = 60

_WEATHER = (
    *(("air_temperature_degc", "degC"), ("mean_24h_air_temperature_degc", "degC")),
    *(("relative_humidity_percent", "%"), ("wind_speed_m_s", "m/s"), ("sky", ""), ("hours_since_sun", "h")),
    *(("hours_since_rain", "h"), ("hours_steady", "h")),
)
FEW_ABSENT = 3


def outdoors(site: Site, words: Wording) -> Pairs:
    """Weather and building, each with what was written down or that nothing was."""
    weather = site.keys.weather
    rows = [
        (words.say(f"annex.weather.{key}"), _value(getattr(weather, key), unit, words))
        for key, unit in _WEATHER
    ]
    rows.append((words.say("annex.weather.instrument"), weather.instrument or words.say("annex.absent")))
    if not any(reading.quantity == "pressure difference" for reading in site.readings):
        rows.append((words.say("annex.reading.pressure-difference"), words.say("annex.absent")))
    if not site.sections(ElementKeys):
        rows.append((words.say("annex.construction"), words.say("annex.absent")))
    return _gathered(rows, words)


def _gathered(rows: Pairs, words: Wording) -> Pairs:
    """What was written down, then in one line all that was not, where that is more than a few."""
    absent = words.say("annex.absent")
    missing = [name for name, value in rows if value == absent]
    if len(missing) <= FEW_ABSENT:
        return rows
    return [*((name, value) for name, value in rows if value != absent), (absent, ", ".join(missing))]


def rooms(site: Site, words: Wording) -> Rows:
    """The air of each room, and how much warmer it was than outdoors."""
    outdoor = site.keys.weather.air_temperature_degc
    return [
        [
            room.label,
            _value(room.air_temperature_degc, "degC", words),
            _value(room.relative_humidity_percent, "%", words),
            _value(
                None
                if room.air_temperature_degc is None or outdoor is None
                else room.air_temperature_degc - outdoor,
                "K",
                words,
            ),
            words.say(f"answer.{room.open_flued_appliance}"),
            room.instrument or words.say("annex.absent"),
        ]
        for room in site.keys.rooms
    ]


def elements(site: Site, words: Wording) -> Rows:
    """Parts of the building as built, as far as known."""
    names = {room.id: room.label for room in site.keys.rooms}
    return [
        [
            f"{words.say(f'annex.element.{item.kind}')} ({item.id})",
            names.get(item.room or "", "–"),
            item.construction or _layers(item, words),
            words.say("annex.absent") if item.built_in is None else str(item.built_in),
            _facing(item.orientation, words),
        ]
        for item in site.sections(ElementKeys)
    ]


def readings(site: Site, words: Wording) -> Rows:
    """Single readings, the first ones where there are many."""
    names = {room.id: room.label for room in site.keys.rooms}
    return [
        [
            names.get(row.place, row.place),
            words.say(f"annex.reading.{row.quantity.replace(' ', '-')}"),
            words.plain(row.value, row.unit),
            words.say("annex.absent") if row.taken_at is None else words.moment(row.taken_at),
            row.instrument or words.say("annex.absent"),
        ]
        for row in site.readings[:MOST_READINGS]
    ]


def frame_facts(frame: SurveyFrame, case: Case, words: Wording) -> Pairs:
    """File, moment, place and settings of a frame, as written down and as used."""
    keys = frame.keys
    seen = view(case, keys.id)
    foils = any(r.frame == keys.id and r.kind == "foil" for r in case.site.keys.references)
    absent = words.say("annex.absent")
    return [
        (words.say("annex.file"), keys.file),
        (words.say("annex.photo-file"), keys.photo or absent),
        (words.say("annex.taken"), absent if keys.taken_at is None else words.moment(keys.taken_at)),
        (words.say("annex.facing"), _facing(keys.orientation, words)),
        (words.say("annex.distance"), _value(keys.distance_m, "m", words)),
        (
            words.say("annex.emissivity"),
            words.say("annex.none-applied")
            if keys.values == "surface"
            else _used(seen.emissivity, 2, "", keys.emissivity is not None, words),
        ),
        (
            words.say("annex.reflected"),
            words.say("annex.none-applied")
            if keys.values == "surface"
            else _used(
                seen.reflected_degc, 1, "degC", keys.reflected_temperature_degc is not None or foils, words
            ),
        ),
        (words.say("annex.instrument"), keys.instrument or absent),
    ]


def unused_frames(findings: Findings, site: Site, words: Wording) -> Rows:
    """Frames that no picture of the annex shows."""
    shown = {picture.frame for picture in findings.pictures}
    return [
        [
            name,
            frame.keys.file,
            words.say("annex.absent") if frame.keys.taken_at is None else words.moment(frame.keys.taken_at),
        ]
        for name, frame in site.frames.items()
        if name not in shown
    ]


def limits(findings: Findings, words: Wording) -> Rows:
    """Every limit that a quantity was held against, and what it is stated for."""
    held = {
        (f.limit.term.id, f.limit.sense, f.limit.value): f.limit
        for f in findings.findings
        if f.limit is not None
    }
    return [
        [words.text(limit.term.name), words.limit(limit), words.text(limit.source)] for limit in held.values()
    ]


def limit_facts(findings: Findings, words: Wording) -> Pairs:
    """The row of the table of limits that was chosen: conditions, surface resistance, how sure it is."""
    chosen = limit_sets().get(str(findings.decisions.get("limit")))
    if chosen is None:
        return []
    conditions = words.say(
        "annex.limit-at",
        indoor=words.plain(chosen.indoor_degc, "degC"),
        humidity=words.plain(100 * chosen.indoor_humidity, "%"),
        outdoor=words.plain(chosen.outdoor_degc, "degC"),
    )
    return [
        (words.say("annex.limit-set"), chosen.id),
        (words.say("annex.limit-conditions"), conditions),
        (words.say("annex.limit-film"), words.plain(chosen.film_m2k_w, "m2K/W")),
        (words.say("annex.source"), chosen.source),
        (
            words.say("annex.limit-confidence"),
            words.say(f"annex.confidence.{chosen.confidence.replace(' ', '-')}"),
        ),
    ]


def again(findings: Findings, words: Wording) -> list[str]:
    """What a further visit should do differently, from what widened or excluded at this one."""
    ids = (
        f"annex.again.{remark.statement.id.rpartition('.')[2]}"
        for remark in findings.survey.remarks
        if remark.effect != "none" or not findings.survey.usable
    )
    texts = (words.either(id, "") for id in dict.fromkeys(ids))
    return [text for text in texts if text]


def sources(findings: Findings, words: Wording) -> Rows:
    """Every source with the findings that use it."""
    used: dict[str, list[str]] = {}
    for finding in findings.findings:
        for source in finding.sources:
            codes = used.setdefault(words.text(source), [])
            if finding.code not in codes:
                codes.append(finding.code)
    return [[source, " ".join(codes)] for source, codes in used.items()]


def provenance(findings: Findings, site: Site, words: Wording) -> Rows:
    """Every file read: when it was taken, where that was written down, and its sum."""
    taken = {frame.path: frame.keys.taken_at for frame in site.frames.values()}
    return [
        [path, "–" if (when := taken.get(path)) is None else words.moment(when), digest]
        for path, digest in findings.inputs
    ]


def _value(value: float | str | None, unit: str, words: Wording) -> str:
    if value is None:
        return words.say("annex.absent")
    return words.say(f"annex.sky.{value}") if isinstance(value, str) else words.plain(value, unit)


def _facing(orientation: str | None, words: Wording) -> str:
    return words.say("annex.absent") if orientation is None else words.say(f"annex.facing.{orientation}")


def _layers(item: ElementKeys, words: Wording) -> str:
    layers: Iterator[str] = (
        f"{layer.material} {words.plain(layer.thickness_mm, 'mm')}" for layer in item.layers
    )
    return ", ".join(layers) or words.say("annex.absent")


def _used(draws: FloatArray, digits: int, unit: str, is_written: bool, words: Wording) -> str:
    """A setting as it entered the result, and where it came from."""
    m = measured(draws, unit)
    value = f"{words.number(m.value, digits, unit)} ({words.span(m.low, m.high, digits, '')})"
    return words.say("annex.used-written" if is_written else "annex.used-assumed", value=value)
