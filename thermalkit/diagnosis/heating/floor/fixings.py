"""Planned holes: is a pipe near, as far as the picture can tell. No answer is the usual answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, Limit, NextStep, Quantity, quantity
from thermalkit.diagnosis.heating.floor.looked import Floor, fixings, floors, kept_lines, place_on
from thermalkit.diagnosis.heating.floor.steps import PASSING, WARM, answer
from thermalkit.diagnosis.judging import verdict
from thermalkit.glossary import TERMS
from thermalkit.imaging.clearance import ONE_SIDED, Clearance, Surroundings, clearance
from thermalkit.imaging.mark import Mark
from thermalkit.imaging.plan import Plan, position_mm
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import Measured
from thermalkit.site.sections.floors import FixingKeys

RESTS_ON = ("frames", "covered", "pipe", "manifold", "fixing")
USUAL_DIAMETER_MM = 10.0
COVER_SPREAD_MM = 10.0  # own choice: pipes float while screed is poured
LIKELY_MM = 40.0  # own choice: so near that a pipe is named rather than no answer given
_AT_ITS_ENTRY_PX = 1.5
CAUTIONS = ("second-method", "shut-down", "pressure-test", "electric", "no-guarantee")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A planned hole; `click_mm` is the standard deviation of a place that was only clicked."""

    mark: Mark
    place_mm: tuple[float, float]
    diameter_mm: float
    depth_mm: float | None
    click_mm: float
    purpose: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What is said of a hole: `word` is likely, not-seen or none; `why` says why there is none."""

    word: str
    why: str
    clear: Clearance | None
    bound_mm: float | None


def holes(case: Case, floor: Floor) -> Iterator[Hole]:
    """Holes on a floor's picture, those of the site file with their own numbers."""
    plan = floor.plan
    if plan is None:
        return
    written = {keys.id: keys for keys in fixings(case) if keys.frame in floor.series}
    for mark in case.decided.get("fixing", ()):
        if mark.frame == floor.frame and mark.shape == "pin":
            yield _hole(plan, mark, written.get(mark.id))


def answered(case: Case, floor: Floor, hole: Hole) -> Answer:
    """Whether a pipe is likely at a hole, none was seen, or nothing can be said, and why."""
    around = kept_lines(case, floor)
    if floor.keys.heated_by != "water":
        return Answer(word="none", why="not-water", clear=None, bound_mm=None)
    if around is None:
        return Answer(word="none", why="no-plan", clear=None, bound_mm=None)
    passing = answer(case, floor, PASSING)
    near = clearance(replace(around, may_be_double=passing != "none"), hole.place_mm)
    bound = _bound_mm(floor, hole, near)
    why = _why_not(case, floor, near)
    if near.distance_mm is not None and near.distance_mm < _reach_mm(floor, hole) + LIKELY_MM:
        return Answer(word="likely", why="", clear=near, bound_mm=bound)
    if not why and (bound is None or bound <= 0.0):
        why = "too-near"
    return Answer(word="none" if why else "not-seen", why=why, clear=near, bound_mm=bound)


def fixing_findings(case: Case) -> Iterator[Finding]:
    """One finding for each planned hole."""
    for floor in floors(case):
        for hole in holes(case, floor):
            yield _finding(floor, hole, answered(case, floor, hole), kept_lines(case, floor))
        for keys in fixings(case):
            if keys.frame in floor.series and place_on(case, floor, keys) is None:
                yield _not_on_picture(floor, keys)


def _hole(plan: Plan, mark: Mark, keys: FixingKeys | None) -> Hole:
    if keys is not None:
        entered = plan.onto_frame.mapped(np.array([[keys.x_mm, keys.y_mm]]))[0]
        if np.linalg.norm(entered - mark.points[0]) <= _AT_ITS_ENTRY_PX:
            return Hole(
                mark=mark,
                place_mm=(keys.x_mm, keys.y_mm),
                diameter_mm=keys.diameter_mm,
                depth_mm=keys.depth_mm,
                click_mm=0.0,
                purpose=keys.purpose or "",
            )
    place, spread = position_mm(plan, [mark.points[0]])
    moves = plan.onto_mm.mapped(np.add(mark.points[0], ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))))
    pixel_mm = float(np.max(np.linalg.norm(moves[1:] - moves[0], axis=1)))
    return Hole(
        mark=mark,
        place_mm=(float(place[0, 0]), float(place[0, 1])),
        diameter_mm=keys.diameter_mm if keys is not None else USUAL_DIAMETER_MM,
        depth_mm=keys.depth_mm if keys is not None else None,
        click_mm=float(np.sqrt(pixel_mm**2 + np.linalg.eigvalsh(spread[0])[-1])),
        purpose=(keys.purpose or "") if keys is not None else "",
    )


def _reach_mm(floor: Floor, hole: Hole) -> float:
    """From the axis of the hole to that of a pipe where both touch."""
    return (floor.keys.diameter_mm + hole.diameter_mm) / 2.0


def _bound_mm(floor: Floor, hole: Hole, near: Clearance) -> float | None:
    """Free space between hole and pipe that is kept in 999 of 1000 cases."""
    if near.low_mm is None:
        return None
    return near.low_mm - ONE_SIDED * hole.click_mm - _reach_mm(floor, hole)


def _why_not(case: Case, floor: Floor, near: Clearance) -> str:
    """Why there is no answer, the first reason of them; empty where there is one."""
    if near.why_not is not None:
        return near.why_not
    if answer(case, floor, WARM) != "all-warm":
        return "not-every-loop"
    if answer(case, floor, PASSING) not in ("none", "all-warm"):
        return "passing"
    return ""


def _finding(floor: Floor, hole: Hole, found: Answer, around: Surroundings | None) -> Finding:
    x, y = hole.place_mm
    values: dict[str, str | Number] = {
        "place": f"{floor.place} / {hole.mark.id}",
        "x": Number(x, "mm", 0),
        "y": Number(y, "mm", 0),
        "diameter": Number(hole.diameter_mm, "mm", 0),
    }
    id = f"heating.fixing.{found.word}" + (f".{found.why}" if found.word == "none" else "")
    quantities = tuple(_quantities(found))
    if found.word != "none" and found.clear is not None:
        values |= {"distance": Number(found.clear.distance_mm or 0.0, "mm", 0)}
        values |= {"bound": Number(max(found.bound_mm or 0.0, 0.0), "mm", 0)}
    limit = _limit(floor, hole) if found.word == "likely" and quantities else None
    return Finding(
        code="heating.fixing",
        place=f"{floor.place} / {hole.mark.id}",
        frame=floor.frame,
        mark=hole.mark.id,
        statement=say(id, **values),
        verdict=verdict(quantities[0], limit) if limit else None,
        quantities=quantities,
        limit=limit,
        reasons=(*_depth(floor, hole), *(around.plan.why if around is not None else ())),
        evidence=(Evidence(kind="picture", reference=floor.frame, mark=hole.mark.id),),
        sources=(say("heating.source.bound"),),
        cautions=tuple(say(f"heating.caution.{id}") for id in CAUTIONS),
        next_steps=tuple(_next_steps(found)),
        rests_on=RESTS_ON,
    )


def _limit(floor: Floor, hole: Hole) -> Limit:
    """How far off a pipe has to be; only a hole that is too near is held against it, none is ever passed."""
    least = round(_reach_mm(floor, hole) + LIKELY_MM)
    return Limit(
        term=TERMS["pipe-distance"], sense="at_least", value=least, source=say("heating.source.near")
    )


def _not_on_picture(floor: Floor, keys: FixingKeys) -> Finding:
    """A hole that cannot be laid on its picture gets no answer, and that is said."""
    place = f"{floor.place} / {keys.id}"
    why = "no-plan" if floor.plan is None else "outside"
    found = Answer(word="none", why=why, clear=None, bound_mm=None)
    return Finding(
        code="heating.fixing",
        place=place,
        frame=floor.frame,
        statement=say(f"heating.fixing.none.{why}", place=place),
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        cautions=tuple(say(f"heating.caution.{id}") for id in CAUTIONS),
        next_steps=tuple(_next_steps(found)),
        rests_on=RESTS_ON,
    )


def _quantities(found: Answer) -> Iterator[Quantity]:
    near = found.clear
    if near is None or near.distance_mm is None or near.deviation_mm is None or found.word == "none":
        return
    half = 1.96 * near.deviation_mm
    yield quantity(
        "pipe-distance",
        Measured(
            value=near.distance_mm,
            low=max(near.distance_mm - half, 0.0),
            high=near.distance_mm + half,
            unit="mm",
        ),
    )
    if found.word == "not-seen" and found.bound_mm is not None:
        free = max(found.bound_mm, 0.0)
        yield quantity("free-bound", Measured(value=free, low=free, high=free, unit="mm", coverage=0.999))


def _depth(floor: Floor, hole: Hole) -> Iterator[Sentence]:
    """The hole's depth against the cover, where both are known."""
    if hole.depth_mm is None:
        return
    depth = Number(hole.depth_mm, "mm", 0)
    cover = floor.keys.cover_mm
    if cover is None:
        yield say("heating.fixing.depth-unknown", depth=depth)
    elif hole.depth_mm < cover - COVER_SPREAD_MM:
        yield say("heating.fixing.depth-above", depth=depth, cover=Number(cover, "mm", 0))
    else:
        yield say("heating.fixing.depth-reaches", depth=depth, cover=Number(cover, "mm", 0))


def _next_steps(found: Answer) -> Iterator[NextStep]:
    if found.word == "likely":
        yield NextStep(step=say("heating.next.move"), by=say("by.surveyor"), at_once=True)
    if found.why in ("unchecked", "no-plan"):
        yield NextStep(step=say("heating.next.plan"), by=say("by.surveyor"))
    if found.why in ("not-every-loop", "passing"):
        yield NextStep(step=say("heating.next.manifold"), by=say("by.heating"))
    if found.why in ("weak", "no-lines", "unseen"):
        yield NextStep(step=say("heating.next.warm-up"), by=say("by.surveyor"))
    yield NextStep(step=say("heating.next.second-method"), by=say("by.heating"))
