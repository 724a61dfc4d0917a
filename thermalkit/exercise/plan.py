"""The plan of a class: a small TOML file that a teacher writes."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from dataclasses import replace
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, ValidationError, create_model, model_validator

from thermalkit.diagnosis.class_.questions import questions
from thermalkit.errors import Problem, ReadingError
from thermalkit.exercise.cases import kinds
from thermalkit.language import say
from thermalkit.site.fields import Between, Id, Keys, Text
from thermalkit.site.files import file_bytes
from thermalkit.site.problems import problems_of
from thermalkit.site.toml_text import tables_in

LARGEST_PLAN = 100_000
MOST_LEARNERS = 300


def truths_of(kind: str) -> tuple[str, ...]:
    """What may be true of a case of a kind: what learners choose from."""
    return questions(kind).ids("cause")


if TYPE_CHECKING:
    Kind = str
    Truth = str
else:
    Kind = Literal[kinds()]
    Truth = Literal[tuple(dict.fromkeys(chain.from_iterable(map(truths_of, kinds()))))]


class ClassKeys(Keys):
    """[class]: what the exercise is made of."""

    name: Text = Field(description="Shown on every page.")
    language: Literal["en", "de"] = Field("en", description="Of everything that learners read.")
    number: Annotated[int, Between(1, MOST_LEARNERS)] = Field(
        30, description="How many learners, one case each."
    )
    names: Annotated[tuple[Id, ...], Field(max_length=MOST_LEARNERS)] = Field(
        (), description="One for each learner, such as initials; 01, 02, ... otherwise."
    )
    difficulty: Literal["easy", "medium", "hard"] = Field("medium", description="The same for every case.")
    kinds: Annotated[tuple[Kind, ...], Field(min_length=1)] = Field(
        ("damp",), description="Which questions are asked; they are dealt out evenly."
    )
    truths: Annotated[tuple[Truth, ...], Field(min_length=1)] = Field(
        (),
        description="What may be true of a case, dealt out evenly; all of the kinds, if left out.",
    )

    @model_validator(mode="before")
    @classmethod
    def _every_truth(cls, values: Any) -> Any:
        if not isinstance(values, dict) or "truths" in values:
            return values
        named = values.get("kinds", ("damp",))
        if not isinstance(named, (list, tuple)):
            return values
        found = [truth for kind in named if kind in kinds() for truth in truths_of(kind)]
        return {**values, "truths": tuple(dict.fromkeys(found))} if found else values

    @property
    def learners(self) -> tuple[str, ...]:
        """A name for every learner, which is the name of the folder, too."""
        width = max(2, len(str(self.number)))
        return self.names or tuple(f"{number:0{width}d}" for number in range(1, self.number + 1))

    @property
    def cases(self) -> tuple[tuple[str, str], ...]:
        """Kind and truth of each learner's case, before they are dealt: kinds in turn, then their truths."""
        found = []
        for number in range(len(self.learners)):
            round_, at = divmod(number, len(self.kinds))
            truths = self.truths_in(self.kinds[at])
            found.append((self.kinds[at], truths[round_ % len(truths)]))
        return tuple(found)

    def truths_in(self, kind: str) -> tuple[str, ...]:
        """What may be true of cases of one kind."""
        return tuple(truth for truth in self.truths if truth in truths_of(kind))

    @property
    def digest(self) -> str:
        """SHA-256 of what was planned, however the file is laid out."""
        text = json.dumps(self.model_dump(mode="json"), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()


_PlanFile = create_model(
    "_PlanFile",
    __base__=Keys,
    **{"class": (ClassKeys, Field(description="What the exercise is made of."))},  # type: ignore[call-overload]
)


def read_plan(path: Path) -> ClassKeys:
    """The plan of a class.

    Raises
    ------
    ReadingError
        It cannot be read or says what is not allowed; all problems at once.
    """
    try:
        raw = tables_in(file_bytes(path.parent, path.name, LARGEST_PLAN))
        plan: ClassKeys = getattr(_PlanFile.model_validate(raw), "class")
    except ReadingError as error:
        raise ReadingError(
            str(path), [replace(problem, file=path.name) for problem in error.problems]
        ) from None
    except ValidationError as error:
        raise ReadingError(str(path), problems_of(error, _PlanFile, path.name, raw)) from error
    problems = [*_name_problems(plan, path.name), *_truth_problems(plan, path.name)]
    if problems:
        raise ReadingError(str(path), problems)
    return plan


def name_form(name: str) -> str:
    """What of a name counts: some systems change its capitals, others take its accents apart.

    Examples
    --------
    >>> name_form("Ju\u0308RGEN") == name_form("j\u00fcrgen")
    True
    """
    return unicodedata.normalize("NFC", name).casefold()


def _name_problems(plan: ClassKeys, file: str) -> list[Problem]:
    names = [name_form(name) for name in plan.names]
    place, found = "class.names", []
    if names and len(names) != plan.number:
        read = say("exercise.plan.count", names=len(names), number=plan.number)
        found.append(Problem(file=file, place=place, read=read, allowed=str(plan.number)))
    if len(set(names)) < len(names):
        found.append(Problem(file=file, place=place, read=say("exercise.plan.twice")))
    if any(name.startswith(".") or set(name) & set('<>:"|?*') for name in names):
        found.append(Problem(file=file, place=place, read=say("exercise.plan.no-folder")))
    return found


def _truth_problems(plan: ClassKeys, file: str) -> list[Problem]:
    """A truth that no kind of the plan has, and a kind that has none of the truths."""
    known = {truth for kind in plan.kinds for truth in truths_of(kind)}
    allowed = ", ".join(sorted(known))
    strange = [truth for truth in plan.truths if truth not in known]
    bare = [kind for kind in plan.kinds if not plan.truths_in(kind)]
    return [
        *(
            Problem(
                file=file,
                place="class.truths",
                read=say("exercise.plan.truth", truth=truth),
                allowed=allowed,
            )
            for truth in strange
        ),
        *(
            Problem(
                file=file,
                place="class.kinds",
                read=say("exercise.plan.kind", kind=kind),
                allowed=", ".join(truths_of(kind)),
            )
            for kind in bare
        ),
    ]
