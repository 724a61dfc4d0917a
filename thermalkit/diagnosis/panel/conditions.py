"""Can these pictures answer this question? Who may use them, what load hides, what was not seen."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Remark, Survey
from thermalkit.diagnosis.panel.advice import STEADY_MINUTES
from thermalkit.diagnosis.panel.evidence import LOW_LOAD
from thermalkit.diagnosis.panel.reading import LOWEST_EMISSIVITY
from thermalkit.diagnosis.panel.ways import load_share
from thermalkit.diagnosis.panel.ways import ways as all_ways
from thermalkit.imaging.statistics import spot_size_m
from thermalkit.language import Number, Sentence, say
from thermalkit.site.sections.cabinets import CabinetKeys
from thermalkit.site.survey import SurveyFrame

SUBJECT = "cabinet"
MOST_NAMES = 20
LONG_OPEN_MINUTES = 15.0  # own choice: an open door has cooled what is inside by then


def survey(case: Case) -> Survey:
    """Every remark on the visit, first of all for whom it is."""
    frames = tuple(remark for frame in case.site.frames.values() for remark in frame_remarks(frame))
    return Survey(
        usable=bool(case.decided.get("frames", ())),
        remarks=(*permit_remarks(case), *load_remarks(case), *cabinet_remarks(case), *frames),
    )


def usable_frames(case: Case) -> list[str]:
    """Frames of cabinets that no remark excludes."""
    return [
        name
        for name, frame in case.site.frames.items()
        if frame.keys.subject == SUBJECT
        and not any(remark.effect == "excludes" for remark in frame_remarks(frame))
    ]


def permit_remarks(case: Case) -> Iterator[Remark]:
    """For qualified persons only, and under which permit."""
    yield _remark("qualified")
    reference = str(case.decided.get("permit", "")).strip()
    if reference:
        yield Remark(statement=say("panel.conditions.permit", reference=reference), effect="none")
    else:
        yield _remark("no-permit")


def load_remarks(case: Case) -> Iterator[Remark]:
    """What a load that is low, changing or not known hides."""
    found = [way for way in all_ways(case) if way.marks]
    low = [way.id for way in found if (share := load_share(way)) is not None and share < LOW_LOAD]
    unknown = [way.id for way in found if load_share(way) is None]
    changed = [
        way.id
        for way in found
        if (minutes := way.circuit.minutes_since_load_changed) is not None and minutes < STEADY_MINUTES
    ]
    untold = [way.id for way in found if way.circuit.minutes_since_load_changed is None]
    for id, names in (
        ("low-load", low),
        ("no-load", unknown),
        ("changed", changed),
        ("steady-unknown", untold),
    ):
        if names:
            yield _remark(id, "widens" if id in ("low-load", "changed") else "none", names=_listed(names))
    wrong = [way.id for way in found if way.circuit.true_rms == "no"]
    if wrong:
        yield _remark("not-true-rms", "widens", names=_listed(wrong))


def cabinet_remarks(case: Case) -> Iterator[Remark]:
    """How each cabinet was looked into."""
    for cabinet in case.site.sections(CabinetKeys):
        name = cabinet.label
        if cabinet.seen == "opaque cover":
            yield _remark("cover", "none", cabinet=name)
        if cabinet.seen == "infrared window" and cabinet.window_transmission is None:
            yield _remark("window", "none", cabinet=name)
        if cabinet.air_temperature_degc is None:
            yield _remark("no-air", "widens", cabinet=name)
        opened = cabinet.minutes_since_opened
        if opened is not None and opened > LONG_OPEN_MINUTES:
            yield _remark("long-open", "none", cabinet=name, minutes=Number(opened, "min", 0))


def frame_remarks(frame: SurveyFrame) -> Iterator[Remark]:
    """What concerns one frame."""
    name = frame.keys.id
    if frame.keys.subject != SUBJECT:
        yield _remark("other-subject", "excludes", frame=name)
        return
    emissivity = frame.emissivity
    if emissivity is not None and emissivity < LOWEST_EMISSIVITY:
        yield _remark("low-emissivity", "none", frame=name, emissivity=Number(emissivity, "", 2))
    camera, distance = frame.camera, frame.keys.distance_m
    if camera is None or camera.field_of_view_deg is None or distance is None:
        yield _remark("no-scale", "none", frame=name)
        return
    columns = round(frame.apparent_degc.shape[1] / frame.pixel_scale)
    spot_m = float(spot_size_m(camera.field_of_view_deg[0], columns, distance))
    yield _remark("spot-size", "none", frame=name, spot=Number(1000.0 * spot_m, "mm", 0))


def _listed(names: list[str]) -> str:
    return ", ".join(names[:MOST_NAMES]) + (" …" if len(names) > MOST_NAMES else "")


def _remark(id: str, effect: str = "none", *, frame: str | None = None, **values: Number | str) -> Remark:
    named = {"frame": frame} if frame is not None else {}
    statement: Sentence = say(f"panel.conditions.{id}", **values, **named)
    return Remark(statement=statement, effect=effect, frame=frame)  # type: ignore[arg-type]
