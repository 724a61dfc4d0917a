"""Every marked place with all that was worked out about it."""

from __future__ import annotations

from dataclasses import dataclass

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.loss import Loss, loss
from thermalkit.diagnosis.judging import LimitSet, limit_sets
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import Place, place
from thermalkit.imaging.mark import Mark
from thermalkit.physics.details import details


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Examined:
    """A marked place: temperatures and factors, extra heat flow, and what it is called."""

    place: Place
    loss: Loss
    label: str
    is_cooled: bool
    sound: Mark | None

    @property
    def mark(self) -> Mark:
        """Where it is."""
        return self.place.mark

    @property
    def is_suspect(self) -> bool:
        """Whether it is looked at for itself, not for comparison."""
        return self.mark.role == "suspect"


def place_id(mark: Mark) -> str:
    """Names a place in a form: marks of different frames may share a name."""
    return f"{mark.frame}/{mark.id}"


def limits_of(case: Case) -> LimitSet:
    """The limit set decided on."""
    return limit_sets()[case.decided["limit"]]


def sound_on(case: Case, frame: str) -> Mark | None:
    """The first sound place of a frame."""
    return next((mark for mark in case.decided["sound"] if mark.frame == frame), None)


def built_at(case: Case, mark: Mark) -> str | None:
    """What is built at a place, as decided: a detail, "plain", "unknown"; None where nobody looked."""
    answer: str | None = case.decided.get("junction", {}).get(f"{place_id(mark)}: junction")
    return answer


def junction_at(case: Case, mark: Mark) -> str | None:
    """The construction detail at a place; None where it is unknown or plain wall."""
    built = built_at(case, mark)
    return built if built in details() else None


def examined(case: Case, mark: Mark) -> Examined:
    """One place."""
    sound = sound_on(case, mark.frame)
    built = built_at(case, mark)
    return Examined(
        place=place(case, mark, limits_of(case)),
        loss=loss(case, mark, sound, built) if mark.role == "suspect" else Loss(),
        label=place_label(case, mark),
        is_cooled=case.site.is_cooled(case.site.frames[mark.frame].room),
        sound=sound,
    )


def all_examined(case: Case) -> list[Examined]:
    """Suspect places, then sound ones."""
    return [examined(case, mark) for mark in case.decided["suspect"] + case.decided["sound"]]
