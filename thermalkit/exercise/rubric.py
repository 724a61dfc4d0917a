"""What each part of an answer is worth; a file that a teacher can change."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from thermalkit.errors import ReadingError
from thermalkit.site.fields import Between, Keys
from thermalkit.site.files import file_bytes
from thermalkit.site.problems import problems_of
from thermalkit.site.toml_text import tables_in

LARGEST_RUBRIC = 100_000
OWN = Path(__file__).with_name("rubric.toml")

Points = Annotated[float, Between(0.0, 1000.0)]
Share = Annotated[float, Between(0.0, 1.0)]


class PointKeys(Keys):
    """[points]: full points of each part."""

    look: Points = Field(description="What stands out.")
    survey: Points = Field(description="Reservations on the visit.")
    prediction: Points = Field(description="The difference foretold.")
    place: Points = Field(description="The place marked.")
    sound: Points = Field(description="The stretch it is compared with.")
    emissivity: Points = Field(description="The emissivity chosen.")
    numbers: Points = Field(description="Numbers within what the instruments allow.")
    verdict: Points = Field(description="The verdict.")
    cause: Points = Field(description="What it is consistent with.")
    order: Points = Field(description="The order of work.")
    traps: Points = Field(description="What misleads in the picture.")


class HintKeys(Keys):
    """[hints]: what a hint costs."""

    each: Points = Field(description="Points taken off for each.")


class PlaceKeys(Keys):
    """[places]: how marks are compared with the truth."""

    full_overlap: Share = Field(description="Full points from this overlap on.")
    no_overlap: Share = Field(description="No points up to this overlap.")
    times_as_large: Annotated[float, Between(1.0, 1000.0)] = Field(description="How large a mark may be.")
    unfit_share: Share = Field(description="How much of a sound stretch may lie on something else.")


class NumberKeys(Keys):
    """[numbers]: how numbers are compared with the truth."""

    half_within: Annotated[float, Between(1.0, 100.0)] = Field(
        description="Half points within so many times."
    )


class Rubric(Keys):
    """Points and how they are reached."""

    points: PointKeys = Field(description="Full points of each part.")
    hints: HintKeys = Field(description="What a hint costs.")
    places: PlaceKeys = Field(description="How marks are compared.")
    numbers: NumberKeys = Field(description="How numbers are compared.")

    @property
    def out_of(self) -> float:
        """All points there are."""
        return float(sum(self.points.model_dump().values()))


def read_rubric(path: Path | None = None) -> Rubric:
    """A teacher's rubric, or the one that comes along.

    Raises
    ------
    ReadingError
        It cannot be read or says what is not allowed; all problems at once.
    """
    if path is None:
        return Rubric.model_validate(tomllib.loads(OWN.read_text(encoding="utf-8")))
    try:
        raw = tables_in(file_bytes(path.parent, path.name, LARGEST_RUBRIC))
        return Rubric.model_validate(raw)
    except ReadingError as error:
        raise ReadingError(str(path), [replace(item, file=path.name) for item in error.problems]) from None
    except ValidationError as error:
        raise ReadingError(str(path), problems_of(error, Rubric, path.name, raw)) from error
