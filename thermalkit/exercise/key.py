"""The teacher's key: what is true of every case, sealed with the secret seed of the class."""

from __future__ import annotations

import hashlib
import hmac
import json
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ValidationError, field_validator, model_validator

from thermalkit.diagnosis.class_.choices import ids
from thermalkit.diagnosis.class_.questions import kinds, questions
from thermalkit.errors import Problem, ReadingError
from thermalkit.exercise.plan import MOST_LEARNERS, ClassKeys, name_form
from thermalkit.language import say
from thermalkit.site.fields import Id, Keys
from thermalkit.site.fields import Path as InnerPath
from thermalkit.site.files import file_bytes

KEY_FILE = "key.json"
LARGEST_KEY = 20_000_000
_SHA256 = "^[0-9a-f]{64}$"
_MOST_PARTS = 200

Points = Annotated[tuple[tuple[float, float], ...], Field(min_length=3, max_length=2000)]
Polygons = Annotated[tuple[Points, ...], Field(max_length=_MOST_PARTS)]
Side = Annotated[int, Field(ge=1, le=5000)]
Words = Annotated[tuple[str, ...], Field(max_length=50)]


class NumberKeys(Keys):
    """What a number truly is, and how far off a learner's instruments allow it to be."""

    accepted: Annotated[tuple[float, ...], Field(min_length=1, max_length=5)]
    within: Annotated[float, Field(ge=0.0)]


class TruthKeys(Keys):
    """What is true of one case, by the ids of the questions of its kind."""

    kind: str = "damp"
    frame: str
    frame_of_another_room: str
    same_view: Words = ()
    shape: tuple[Side, Side]
    area: Polygons
    unfit: Polygons
    comparable: Polygons = ()
    """Where alone a sound stretch may be taken; none where any of the picture will do."""
    brightest: tuple[int, int, int, int]
    look: Words
    survey: Words
    trust: str
    predict: Words
    emissivity: str
    numbers: dict[str, NumberKeys]
    verdict: str
    cause: str
    order: Words
    traps: Words
    neutral_traps: Words

    @model_validator(mode="after")
    def _can_be_answered(self) -> TruthKeys:
        """Everything true is one of the answers: a key of a later program may know others."""
        if self.kind not in kinds():
            raise ValueError(f"kind = {self.kind!r:.40} is none of {', '.join(kinds())}")
        shared = ("cause", "look", "survey", "trust", "predict", "emissivity", "verdict", "traps")
        options = {step: ids(self.kind, step) for step in shared}
        options |= {"neutral_traps": options["traps"], "order": ids(self.kind, "job")}
        options["numbers"] = tuple(questions(self.kind).numbers)
        for name, known in options.items():
            true = getattr(self, name)
            strange = [id for id in ((true,) if isinstance(true, str) else true) if id not in known]
            if strange:
                raise ValueError(f"{name} = {strange[0]!r:.40} is none of {', '.join(known)}")
        return self

    def shows_place(self, frame: str) -> bool:
        """Whether a frame shows the view that the case is about."""
        return frame == self.frame or frame in self.same_view


class LearnerKeys(Keys):
    """One learner: the files that were handed out, what marks on them rest on, and the truth of the case."""

    name: Id
    files: Annotated[dict[InnerPath, Annotated[str, Field(pattern=_SHA256)]], Field(max_length=100)]
    inputs: dict[str, Any]
    attempts: int
    truth: TruthKeys


class Key(Keys):
    """The key of a class."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)

    schema_: Literal[1] = Field(1, alias="schema")
    thermalkit: str
    seed: str
    plan: ClassKeys
    plan_digest: str
    learners: Annotated[tuple[LearnerKeys, ...], Field(max_length=MOST_LEARNERS)]
    seal: str

    @field_validator("learners")
    @classmethod
    def _each_once(cls, learners: tuple[LearnerKeys, ...]) -> tuple[LearnerKeys, ...]:
        if len({name_form(learner.name) for learner in learners}) < len(learners):
            raise ValueError("a name is there twice")
        return learners

    def of(self, name: str) -> LearnerKeys:
        """One learner."""
        return next(learner for learner in self.learners if learner.name == name)


def sealed(content: dict[str, Any]) -> bytes:
    """A key as it stands in its file, with its seal; the same for the same content."""
    whole = {**content, "seal": seal_of(content)}
    return (json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def seal_of(content: dict[str, Any]) -> str:
    """Keyed digest of everything else in a key: who does not know the seed cannot make it."""
    bare = {name: value for name, value in content.items() if name != "seal"}
    text = json.dumps(bare, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hmac.new(str(content.get("seed", "")).encode(), text.encode(), hashlib.sha256).hexdigest()


def read_key(path: Path) -> Key:
    """The key of a class.

    The seal shows slips of the hand and half-written files; whoever has the whole key also has the seed and
    could seal it again.

    Raises
    ------
    ReadingError
        It is no key, or was changed since it was sealed.
    """
    try:
        content = json.loads(file_bytes(path.parent, path.name, LARGEST_KEY), parse_constant=_refuse)
        key = Key.model_validate(content)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise _unreadable(path, f"{place}: {first['msg']}"[:300]) from error
    except (ValueError, RecursionError) as error:
        raise _unreadable(path, f"JSON: {type(error).__name__}") from error
    if not hmac.compare_digest(key.seal, seal_of(content)):
        problem = Problem(
            file=path.name, place="seal", read=say("exercise.key.changed"), fix=say("exercise.key.again")
        )
        raise ReadingError(str(path), [problem])
    return key


def _refuse(name: str) -> None:
    raise ValueError(name)


def _unreadable(path: Path, read: str) -> ReadingError:
    return ReadingError(str(path), [Problem(file=path.name, read=read, allowed=say("exercise.key.allowed"))])
