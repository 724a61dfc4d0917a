"""A class exercise: what a learner saw, marked, worked out and decided.

Findings only repeat the learner's answers with the numbers at their marks, by the same physics as elsewhere;
whether they are right is for the teacher's key.
"""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.class_.choices import words
from thermalkit.diagnosis.class_.questions import in_own_words, kind_of, questions
from thermalkit.diagnosis.class_.steps import STEPS as STEPS
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, Picture, Quantity, Remark, Survey, quantity
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.labels import house_label, place_label
from thermalkit.diagnosis.places import Place, place
from thermalkit.diagnosis.surface import View, view
from thermalkit.imaging.mark import Mark
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray, measured

_LIMITS = "general"


def survey(case: Case) -> Survey:
    """The reservations that the learner has."""
    seen = case.decided.get("survey", ())
    remarks = tuple(Remark(statement=_words(case, "survey", id), effect="none") for id in seen)
    return Survey(usable=case.decided.get("trust") != "no", remarks=remarks)


def findings(case: Case) -> Iterator[Finding]:
    """What was answered, then the numbers at each mark."""
    yield _answer(case)
    suspects, sounds = (case.decided[step] for step in ("suspect", "sound"))
    limits = limit_sets()[_LIMITS]
    compared = {mark.frame: place(case, mark, limits) for mark in reversed(sounds)}
    for mark in suspects + sounds:
        yield _at_mark(case, place(case, mark, limits), compared.get(mark.frame))


def pictures(case: Case) -> Iterator[Picture]:
    """Every frame with the learner's marks."""
    for name in case.site.frames:
        marks = case.decided["suspect"] + case.decided["sound"]
        yield Picture(frame=name, marks=tuple(mark for mark in marks if mark.frame == name))


def quantities_at(case: Case, seen: View, mark: Mark, surface_degc: FloatArray) -> Iterator[Quantity]:
    """What the kind reads beside the temperature of a place that is being drawn."""
    yield from questions(kind_of(case.site)).beside.draws(case, seen, surface_degc)


def _answer(case: Case) -> Finding:
    chosen = {step: _words(case, step, case.decided[step]) for step in ("look", "verdict", "cause")}
    return Finding(
        code="class.answer",
        place=house_label(case),
        statement=in_own_words("class", kind_of(case.site), "answer", **chosen),
        reasons=tuple(_words(case, "traps", id) for id in case.decided["traps"]),
        evidence=(Evidence(kind="answer", reference="cause"),),
        rests_on=("look", "verdict", "cause", "traps"),
    )


def _words(case: Case, step: str, id: str) -> Sentence:
    return words(kind_of(case.site), step, id)


def _at_mark(case: Case, here: Place, sound: Place | None) -> Finding:
    return Finding(
        code="class.at-mark",
        place=place_label(case, here.mark),
        frame=here.mark.frame,
        mark=here.mark.id,
        statement=say(f"class.at-mark.{here.mark.role}", place=place_label(case, here.mark)),
        quantities=tuple(_quantities(case, here, sound)),
        evidence=(Evidence(kind="picture", reference=here.mark.frame, mark=here.mark.id),),
        sources=(say("source.radiation"), say(questions(kind_of(case.site)).beside.source)),
        rests_on=("emissivity", _step_of(here.mark)),
    )


def _step_of(mark: Mark) -> str:
    return "sound" if mark.role == "sound" else "suspect"


def _quantities(case: Case, here: Place, sound: Place | None) -> Iterator[Quantity]:
    yield quantity("surface-temperature", measured(here.surface_degc, "degC"))
    yield from quantities_at(case, view(case, here.mark.frame), here.mark, here.surface_degc)
    if sound is not None and here.mark.role != "sound":
        yield quantity("temperature-difference", measured(sound.surface_degc - here.surface_degc, "K"))
