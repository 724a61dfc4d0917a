"""Pages after marking: for each learner the truth beside the own answer, for the teacher the class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from markupsafe import Markup

from thermalkit.annex.html import environment, policy
from thermalkit.annex.packing import numbered, packed_frame, page_script, page_style
from thermalkit.annex.pictures import labels, script_json
from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.choices import words as in_words
from thermalkit.diagnosis.class_.questions import in_own_words
from thermalkit.exercise.forms import colour_limits
from thermalkit.exercise.key import Key, LearnerKeys
from thermalkit.exercise.marking import MARKED, Row, commonest, to_discuss
from thermalkit.exercise.misconceptions import all_misconceptions
from thermalkit.exercise.rubric import Rubric
from thermalkit.exercise.telling import given_text, true_text
from thermalkit.measured import FloatArray

HERE = Path(__file__).parent
_STYLE = HERE.parent / "annex" / "style.css"
_BINS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the answer as the page shows it."""

    title: str
    points: str
    given: str
    true: str
    is_full: bool


def learner_page(row: Row, key: Key, rubric: Rubric, hand_out: Path | None) -> bytes:
    """What one learner reads: points, own answer and truth part by part, the picture with both."""
    words = Wording(key.plan.language)
    pictures = _pictures(row, hand_out, words) if row.given is not None else []
    return _page(
        "feedback.html",
        words,
        with_pictures=True,
        row=row,
        plan=key.plan,
        is_marked=row.state == MARKED,
        points=words.plain(row.points),
        out_of=words.plain(rubric.out_of),
        parts=_parts(row, rubric, words),
        hints=_hints(row, rubric, words),
        pictures=pictures,
        justify=row.given.answers.get("justify", "") if row.given else "",
    )


def class_page(rows: Sequence[Row], key: Key, rubric: Rubric) -> bytes:
    """What the teacher reads: everybody in a table, how points are spread, what to talk about."""
    words = Wording(key.plan.language)
    done = [row for row in rows if row.state == MARKED]
    chosen = to_discuss(rows)
    return _page(
        "class.html",
        words,
        plan=key.plan,
        rows=rows,
        marked=MARKED,
        parts=list(rubric.points.model_dump()),
        full=rubric.points.model_dump(),
        out_of=rubric.out_of,
        spread=_spread(done, rubric),
        most=max((count for _, _, count in _spread(done, rubric)), default=1) or 1,
        mean=sum(row.points for row in done) / len(done) if done else 0.0,
        means=_means(done, key, words),
        commonest=commonest(rows),
        kinds=all_misconceptions(),
        discuss=chosen,
        unmarked=[row for row in rows if row.state != MARKED],
    )


def _page(name: str, words: Wording, *, with_pictures: bool = False, **shown: Any) -> bytes:
    own = [_STYLE, HERE / "pages.css"]
    style = "\n".join(
        [*(path.read_text("utf-8") for path in own), *([page_style()] if with_pictures else [])]
    )
    script = page_script() if with_pictures else ""
    html = (
        environment(words, HERE)
        .get_template(name)
        .render(
            style=Markup(style),
            script=Markup(script),
            policy=policy(style, [script] if script else []),
            own=lambda kind, rest: words.text(in_own_words("exercise", kind, rest)),
            cause=lambda truth: words.text(in_words(truth.kind, "cause", truth.cause)),
            **shown,
        )
    )
    return html.encode("utf-8", "replace")


def _parts(row: Row, rubric: Rubric, words: Wording) -> list[Part]:
    if row.given is None:
        return []
    full = rubric.points.model_dump()
    return [
        Part(
            title=words.text(in_own_words("exercise", row.learner.truth.kind, f"part.{name}")),
            points=words.say(
                "exercise.of", reached=words.plain(round(full[name] * share, 1)), full=words.plain(full[name])
            ),
            given=given_text(name, row.given, row.learner.truth, share, words),
            true=true_text(name, row.learner.truth, words),
            is_full=share >= 1.0,
        )
        for name, share in row.shares.items()
    ]


def _hints(row: Row, rubric: Rubric, words: Wording) -> str:
    count = len(row.given.hints) if row.given else 0
    if not count:
        return ""
    return words.say("exercise.hints-taken", count=count, points=words.plain(count * rubric.hints.each))


def _pictures(row: Row, hand_out: Path | None, words: Wording) -> list[dict[str, str]]:
    """Frames with the learner's marks and, as context, the true place; the case's own frame first."""
    truth = row.learner.truth
    own = row.given.answers if row.given else {}
    marks = [*own.get("suspect", ()), *own.get("sound", ())]
    used = [truth.frame, *sorted({mark.frame for mark in marks} - {truth.frame})]
    shown = []
    for frame in used:
        surface = _surface(row.learner, hand_out, frame)
        here = [
            {**mark.as_json(), "id": f"{mark.role}/{mark.id}", "name": mark.id}
            for mark in marks
            if mark.frame == frame
        ]
        data: dict[str, Any] = {
            "frame": packed_frame(surface),
            "bar": colour_limits(surface),
            "marks": numbered(here, surface.shape[0]),
            "context": _true_marks(row.learner, words) if frame == truth.frame else [],
            "label": words.say("exercise.picture", frame=frame),
            "labels": labels(words.language),
            "locale": words.language,
            "read_only": True,
        }
        caption = "exercise.picture" if hand_out is not None else "exercise.picture-bare"
        shown.append({"data": script_json(data), "caption": words.say(caption, frame=frame)})
    return shown


def _true_marks(learner: LearnerKeys, words: Wording) -> list[dict[str, Any]]:
    name = words.say("exercise.true-place")
    return [
        {"id": f"true-{n}", "name": name, "shape": "patch", "points": points, "role": "truth", "note": name}
        for n, points in enumerate(learner.truth.area, start=1)
    ]


def _surface(learner: LearnerKeys, hand_out: Path | None, frame: str) -> FloatArray:
    """The frame as it was handed out; where it cannot be read, an even ground for the outlines."""
    import numpy as np

    from thermalkit.diagnosis.decisions import Case
    from thermalkit.diagnosis.surface import nominal_surface_degc
    from thermalkit.errors import ThermalkitError
    from thermalkit.site.folder import read_site

    blank = np.zeros(learner.truth.shape)
    if hand_out is None:
        return blank
    try:
        site = read_site(hand_out / learner.name)
        if any(site.files.get(path) not in (None, digest) for path, digest in learner.files.items()):
            return blank
        return nominal_surface_degc(Case(site=site), frame) if frame in site.frames else blank
    except ThermalkitError:
        return blank


def _spread(rows: Sequence[Row], rubric: Rubric) -> list[tuple[int, int, int]]:
    """How many learners reached each tenth of the points, in percent from and to."""
    top = rubric.out_of or 1.0
    tenths = [min(_BINS - 1, int(_BINS * row.points / top)) for row in rows]
    width = 100 // _BINS
    return [(width * n, width * (n + 1), tenths.count(n)) for n in range(_BINS)]


def _means(rows: Sequence[Row], key: Key, words: Wording) -> list[tuple[str, int, float]]:
    """Mean points of the cases in which each thing was true, kind by kind."""
    found: list[tuple[str, int, float]] = []
    for kind in dict.fromkeys(key.plan.kinds):
        for cause in key.plan.truths_in(kind):
            here = [row for row in rows if (row.learner.truth.kind, row.learner.truth.cause) == (kind, cause)]
            if here:
                told = words.text(in_words(kind, "cause", cause))
                if len(key.plan.kinds) > 1:  # two kinds may know one thing
                    told = f"{words.say(f'annex.kind.{kind}')}: {told}"
                found.append((told, len(here), sum(row.points for row in here) / len(here)))
    return found
