"""[[junctions]]: what is known of the construction at a marked place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from thermalkit.physics.buildup_families import families
from thermalkit.physics.details import details
from thermalkit.site.fields import Between, FrameId, Id, Keys, Text

_DIMENSION = re.compile(r"\s*([a-z_]{1,40})\s*=\s*([0-9]{1,6}(?:\.[0-9]{1,6})?)\s*")


def dimensions(text: str) -> Mapping[str, float]:
    """Dimensions by name out of a line such as "masonry_mm = 300, insulation_mm = 60".

    Raises
    ------
    ValueError
        A part has another form.

    Examples
    --------
    >>> dimensions("masonry_mm = 300, insulation_w_mk = 0.04")
    {'masonry_mm': 300.0, 'insulation_w_mk': 0.04}
    """
    found = [_DIMENSION.fullmatch(part) for part in text.split(",")]
    if not all(found):
        raise ValueError(text)
    return {part[1]: float(part[2]) for part in found if part}


def _known(text: str) -> str:
    try:
        dimensions(text)
    except ValueError:
        expected = "name = number, name = number; such as masonry_mm = 300, insulation_mm = 60"
        raise PydanticCustomError("dimensions_wanted", expected) from None
    return text


def _one_of(names: Iterable[str], text: str) -> str:
    if text not in names:
        raise PydanticCustomError("literal_error", "one of", {"expected": ", ".join(sorted(names))})
    return text


DetailName = Annotated[str, AfterValidator(lambda text: _one_of(details(), text))]
FamilyName = Annotated[str, AfterValidator(lambda text: _one_of(families(), text))]
Known = Annotated[Text, AfterValidator(_known)]


class JunctionKeys(Keys):
    """[[junctions]]: the construction at one marked place, as far as known."""

    frame: FrameId = Field(description="The frame's id.")
    mark: Id = Field(description="The mark's name on that frame.")
    detail: DetailName | None = Field(None, description="Kind of junction, such as shutter-box.")
    family: FamilyName | None = Field(
        None, description="Make and age of the wall, which fills what is not known with intervals."
    )
    known: Known | None = Field(
        None, description="Dimensions that were measured: masonry_mm = 300, insulation_mm = 60."
    )
    unknown: Id | None = Field(
        None, description="The one dimension to be found from the picture, such as insulation_mm."
    )
    length_m: Annotated[float, Between(0.01, 1000.0)] | None = Field(
        None, description="Length of the junction in the building, in m."
    )
    remarks: Text | None = Field(None, description="How it is known: opened, drawing, asked.")


TABLES = {"junctions": JunctionKeys}
READ_BY = "envelope"
REPEATED = ("junctions",)
